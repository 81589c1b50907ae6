"""Slow twins of the kernels, written from the formulas in `3-figures.md` with none of their code; float64."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from viewer.cards.printer import PrinterCard
from viewer.read.moves import PLACE, PRIME, RETRACT, TRAVEL, WIPE, Moves

AXES = ("x", "y", "z", "e")


@dataclass
class Motion:
    """One move as the twins see it."""

    distance: float
    direction: np.ndarray  # x y z e
    alone: bool
    limit: float
    acceleration: float


def motions(moves: Moves, card: PrinterCard, factor: float = 1.0) -> list[Motion]:
    """Return every move's distance, direction, speed limit and acceleration."""
    found = []
    before = np.zeros(3)
    for i in range(len(moves)):
        here = np.array([moves.x_mm[i], moves.y_mm[i], moves.z_mm[i]], float)
        kind, filament = moves.kind[i], float(moves.fed_mm[i])
        step, before = here - before, here
        if kind in (RETRACT, PRIME):
            distance, alone = abs(filament), True
            direction = np.array([0, 0, 0, math.copysign(1.0, filament)])
            acceleration = card.retract_acceleration_mm_s2
        else:
            distance, alone = (0.0 if kind == PLACE else float(np.linalg.norm(step))), False
            direction = np.array([*step, filament]) / distance if distance else np.zeros(4)
            acceleration = card.travel_acceleration_mm_s2 if kind == TRAVEL else card.print_acceleration_mm_s2
        speed = float(moves.speed_mm_s[i]) * factor
        limit = speed if speed > 0 else math.inf
        for axis, part in zip(AXES, np.abs(direction), strict=True):
            if part > 0:
                limit = min(limit, getattr(card.max_speed_mm_s, axis) / part)
                acceleration = min(acceleration, getattr(card.max_acceleration_mm_s2, axis) / part)
        if card.min_segment_time_s:
            limit = min(limit, distance / card.min_segment_time_s)
        found.append(Motion(distance, direction, alone, limit, acceleration))
    return found


def corner_speed(a: Motion, b: Motion, card: PrinterCard) -> float:
    """Return the highest speed at the corner from a to b by the card's rule, not yet cut to the two limits."""
    corner = card.corner
    if corner.rule == "jerk":
        assert corner.jerk_mm_s is not None
        return min(
            getattr(corner.jerk_mm_s, axis) / change if change > 0 else math.inf
            for axis, change in zip(AXES, np.abs(b.direction - a.direction), strict=True)
        )
    if a.alone or b.alone:
        return math.inf if a.alone and b.alone and a.direction[3] == b.direction[3] else 0.0
    cosine = float(np.dot(-a.direction[:3], b.direction[:3]))
    inside = math.acos(max(-1.0, min(1.0, cosine)))  # pi: straight on
    s = math.sin(inside / 2)
    if s >= 1.0:
        return math.inf
    slower = min(a.acceleration, b.acceleration)
    if corner.rule == "junction-deviation":
        assert corner.junction_deviation_mm is not None
        delta = corner.junction_deviation_mm
    else:
        assert corner.right_angle_mm_s is not None
        delta = corner.right_angle_mm_s**2 * (math.sqrt(2) - 1) / slower
    return math.sqrt(slower * delta * s / (1 - s))


def rest_speed(a: Motion, card: PrinterCard) -> float:
    """Return the speed at which a move may start from or end in a full stop."""
    if card.corner.rule != "jerk":
        return 0.0
    still = Motion(0.0, np.zeros(4), a.alone, 0.0, 0.0)
    return min(a.limit, corner_speed(still, a, card))


def node_speeds(way: list[Motion], card: PrinterCard, stops: set[int]) -> list[tuple[float, float]]:
    """Give, for every move, the highest speeds at its start and at its end that its neighbours allow."""
    starts, ends = [], []
    for i, b in enumerate(way):
        if i == 0 or i in stops:
            starts.append(rest_speed(b, card))
        else:
            a = way[i - 1]
            starts.append(min(a.limit, b.limit, corner_speed(a, b, card)))
        last = i + 1 == len(way) or i + 1 in stops
        ends.append(rest_speed(b, card) if last else math.nan)
    for i in range(len(way) - 1):
        if math.isnan(ends[i]):
            ends[i] = starts[i + 1]
    return list(zip(starts, ends, strict=True))


def grid_times(moves: Moves, card: PrinterCard, stops: set[int], cells: int = 2000) -> np.ndarray:
    """Return the time of every move from a fine grid along the path.

    The highest speed at every grid point is the move's limit, at corners the corner's; then
    v dv/ds <= a is integrated forwards and -v dv/ds <= a backwards, and ds / v is summed.
    """
    way = motions(moves, card)
    ceiling, steepness, width = [], [], []
    for motion, (start, end) in zip(way, node_speeds(way, card, stops), strict=True):
        line = np.full(cells + 1, motion.limit)
        line[0], line[-1] = min(line[0], start), min(line[-1], end)
        ceiling.append(line**2)
        steepness.append(2 * motion.acceleration)
        width.append(motion.distance / cells)
    squares = np.concatenate(ceiling)
    change = np.concatenate([[a * w] * cells + [0.0] for a, w in zip(steepness, width, strict=True)])
    still = {i * (cells + 1) for i in stops}
    for k in range(
        1, len(squares)
    ):  # the end of a move and the start of the next are two points with no way between
        if k not in still:
            squares[k] = min(squares[k], squares[k - 1] + change[k - 1])
    for k in range(len(squares) - 2, -1, -1):
        if k + 1 not in still:
            squares[k] = min(squares[k], squares[k + 1] + change[k])
    speeds = np.sqrt(squares).reshape(len(way), cells + 1)
    return np.array([(2 * w / (v[1:] + v[:-1])).sum() for v, w in zip(speeds, width, strict=True)])


def look_ahead_entries(gain: np.ndarray, corner: np.ndarray, end: float, depth: int) -> np.ndarray:
    """Return the square of each entry speed in one run: every corner of the window tried, O(n depth)."""
    n = len(gain)
    way = np.concatenate([[0.0], np.cumsum(gain, dtype=np.float64)])
    result = np.empty(n)
    for i in range(n):
        best = float(corner[i])
        window_end = min(i + depth, n) if depth else n
        for j in range(i + 1, window_end + 1):
            allowed = end if j == n else float(corner[j])
            best = min(best, allowed + way[j] - way[i])
        if window_end < n:
            best = min(best, way[window_end] - way[i])
        result[i] = best
    return result


def trapezoid(distance: float, start: float, end: float, limit: float, acceleration: float) -> float:
    """Return the time of one move by its three phases."""
    peak = math.sqrt((start**2 + end**2) / 2 + acceleration * distance)
    if peak <= limit:
        return (peak - start) / acceleration + (peak - end) / acceleration
    up = (limit**2 - start**2) / (2 * acceleration)
    down = (limit**2 - end**2) / (2 * acceleration)
    return (limit - start) / acceleration + (limit - end) / acceleration + (distance - up - down) / limit


def cause_of(moves: Moves, i: int) -> str:
    """Return the cause to which a move's time is booked; "bead" where it is split."""
    kind = moves.kind[i]
    if kind in (RETRACT, PRIME):
        return "retract and prime"
    x, y, z = moves.start_xyz(i)
    if moves.x_mm[i] == x and moves.y_mm[i] == y and moves.z_mm[i] != z:
        return "height changes"
    return "travel" if kind in (TRAVEL, WIPE) else "bead"
