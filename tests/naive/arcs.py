"""Arcs: centre, turn, true length, extent (RS-274, NISTIR 6556, section 3.5.3).

An arc whose radii at start and end disagree is drawn as the spiral whose radius goes evenly with the angle
from the first to the second, so that it begins and ends where the program says. A radius word too small to
reach the end gives the half circle over the chord. P counts turns: P1 is the plain arc, each further one
adds a full turn, 10,000 at most; a full circle is meant when start and end lie within 1e-6 mm.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

Point = tuple[float, float, float]
PLANES = {17: (0, 1, 2), 18: (2, 0, 1), 19: (1, 2, 0)}  # G17 X Y, G18 Z X, G19 Y Z; third: along the axis
SAME_MM = 1e-6
DISAGREE_MM = 0.05


@dataclass(frozen=True, slots=True)
class Arc:
    length_mm: float
    low: Point
    high: Point
    sweep_rad: float  # signed, counter-clockwise forward
    disagree: bool  # the two radii differ by more than 0.05 mm


def centre_from_radius(
    start: tuple[float, float], end: tuple[float, float], radius: float, clockwise: bool
) -> tuple[float, float] | None:
    """Centre of the short arc (R > 0) or the long one (R < 0); None where start and end are the same."""
    da, db = end[0] - start[0], end[1] - start[1]
    chord = math.hypot(da, db)
    if chord < SAME_MM or radius == 0:
        return None
    height = math.sqrt(max(0.0, radius * radius - chord * chord / 4))
    side = 1.0 if (radius > 0) != clockwise else -1.0  # left of the chord: short and counter-clockwise
    return (
        (start[0] + end[0]) / 2 - side * height * db / chord,
        (start[1] + end[1]) / 2 + side * height * da / chord,
    )


def sweep_of(begin_rad: float, end_rad: float, clockwise: bool, whole: bool) -> float:
    turn = 2 * math.pi
    sweep = turn if whole else (end_rad - begin_rad) * (-1 if clockwise else 1) % turn
    if sweep < 1e-9:
        sweep = turn
    return -sweep if clockwise else sweep


def spiral_length(r0: float, r1: float, sweep: float, climb: float) -> float:
    """Integrate sqrt(r^2 + r'^2 + z'^2) over the angle by Simpson's rule; exact for a true helix."""
    angle = abs(sweep)
    if r0 == r1:
        return math.hypot(r0 * angle, climb)
    steps = 400
    drift = math.hypot((r1 - r0) / angle, climb / angle)
    total = 0.0
    for i in range(steps + 1):
        weight = 1 if i in (0, steps) else 4 if i % 2 else 2
        total += weight * math.hypot(r0 + (r1 - r0) * i / steps, drift)
    return total * angle / steps / 3


def quarter_angles(begin: float, sweep: float) -> list[float]:
    """Angles between the ends at which a circle reaches furthest along an axis."""
    low, high = sorted((begin, begin + sweep))
    quarter = math.pi / 2
    return [k * quarter for k in range(math.ceil(low / quarter), math.floor(high / quarter) + 1)]


def draw(
    start: Point, end: Point, centre: tuple[float, float], plane: int, clockwise: bool, turns: int
) -> Arc | None:
    """Return the arc's length and extent, None where the centre is the start itself."""
    a, b, c = PLANES[plane]
    r0 = math.hypot(start[a] - centre[0], start[b] - centre[1])
    r1 = math.hypot(end[a] - centre[0], end[b] - centre[1])
    if r0 < SAME_MM:
        return None
    begin = math.atan2(start[b] - centre[1], start[a] - centre[0])
    finish = math.atan2(end[b] - centre[1], end[a] - centre[0])
    whole = math.hypot(end[a] - start[a], end[b] - start[b]) < SAME_MM
    sweep = sweep_of(begin, finish, clockwise, whole)
    sweep += math.copysign(2 * math.pi * max(0, turns - 1), sweep)
    if abs(r1 - r0) < SAME_MM:
        r1 = r0
    points = [start, end]
    for angle in quarter_angles(begin, max(-4 * math.pi, min(4 * math.pi, sweep))):
        radius = r0 + (r1 - r0) * (angle - begin) / sweep
        point = [start[0], start[1], start[2]]
        point[a] = centre[0] + radius * math.cos(angle)
        point[b] = centre[1] + radius * math.sin(angle)
        points.append((point[0], point[1], point[2]))
    return Arc(
        spiral_length(r0, r1, sweep, end[c] - start[c]),
        (min(p[0] for p in points), min(p[1] for p in points), min(p[2] for p in points)),
        (max(p[0] for p in points), max(p[1] for p in points), max(p[2] for p in points)),
        sweep,
        abs(r1 - r0) > DISAGREE_MM,
    )
