"""Slow twins of the kernels that read roles from shape: plain Python over lists, none of their code."""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from itertools import pairwise

from viewer.read.moves import BEAD, PLACE, TRAVEL, Moves

Spot = tuple[float, float]


@dataclass
class Chain:
    """Beads without travel between, and the travel behind them at the last bead's speed, up to 10 mm."""

    spots: list[Spot]
    coast: list[Spot] = field(default_factory=list)


def chains(moves: Moves) -> list[Chain]:
    """Return the points of each run of beads, parted where the nozzle goes more than 0.05 mm without filament."""
    found: list[Chain] = []
    here, away, speed, coasts, way = (0.0, 0.0), math.inf, 0.0, False, 0.0
    columns = (moves.x_mm, moves.y_mm, moves.kind, moves.speed_mm_s)
    for x, y, kind, fast in zip(*(column.tolist() for column in columns), strict=True):
        there = (x, y)
        step = math.dist(here, there)
        if kind == BEAD and step > 0.0:
            if away > 0.05:
                found.append(Chain([here]))
            found[-1].spots.append(there)
            found[-1].coast = []
            away, speed, coasts, way = 0.0, fast, True, 0.0
        elif kind == PLACE:
            away, coasts = math.inf, False
        elif kind != BEAD:
            away += step
            way += step
            coasts = coasts and kind == TRAVEL and fast == speed and way <= 10.0
            if coasts:
                found[-1].coast.append(there)
        else:
            coasts = False
        here = there
    return found


def turns_once(spots: list[Spot]) -> bool:
    """Say whether a closed polygon's direction turns once in all: the sum of the angles at its corners is 360 degrees."""
    turned = 0.0
    for a, b, c in zip(spots, spots[1:] + spots[:1], spots[2:] + spots[:2], strict=True):
        turn = math.atan2(c[1] - b[1], c[0] - b[0]) - math.atan2(b[1] - a[1], b[0] - a[0])
        turned += (turn + math.pi) % (2.0 * math.pi) - math.pi
    return abs(abs(turned) - 2.0 * math.pi) < 0.1 * math.pi


def off(a: Spot, b: Spot) -> float:
    """Return the greater of two points' distances along the axes."""
    return max(abs(a[0] - b[0]), abs(a[1] - b[1]))


def shoelace(spots: list[Spot]) -> float:
    """Return the signed area of a polygon, counter-clockwise positive."""
    return 0.5 * sum(a[0] * b[1] - b[0] * a[1] for a, b in zip(spots, spots[1:] + spots[:1], strict=True))


def closing(spots: list[Spot], following: list[Spot], coast: list[Spot], width: float) -> str:
    """Say how a run of points comes back to its first one; `following`: the chain's next points, none at its end."""
    start, end = spots[0], spots[-1]
    if off(start, end) <= 0.3 * width:
        return "closed"
    if not following and any(off(spot, start) <= 0.3 * width for spot in coast):
        return "coasts"
    if not following and off(start, end) <= 2.5 * width:
        return "closed"
    if following and off(start, end) <= 1.5 * width:
        away = (end[0] - start[0], end[1] - start[1])
        on = (following[0][0] - end[0], following[0][1] - end[1])
        if away[0] * on[0] + away[1] * on[1] >= 0.0:
            return "runs on"
    return ""


def is_closed(spots: list[Spot], how: str, width: float) -> bool:
    """Say whether a run of points is a loop."""
    path = sum(math.dist(a, b) for a, b in pairwise(spots))
    if len(spots) < 4 or not path > 0.0 or not how:
        return False
    (x0, y0), (x1, y1), (xb, yb) = spots[0], spots[-1], spots[-2]
    area, gap = abs(shoelace(spots)), math.dist(spots[0], spots[-1])
    if area < width**2 or 2 * area / path <= 0.4 * width:
        return False
    if how == "coasts":
        return True
    if how == "runs on":
        return gap <= 0.5 * area / path and turns_once(spots)
    if gap > 2.5 * width:
        return False
    if gap <= max(0.3 * width, 1.4 * area / path):
        return True
    turn = math.atan2(y1 - yb, x1 - xb)
    ahead = (x0 - x1) * math.cos(turn) + (y0 - y1) * math.sin(turn)
    aside = (y0 - y1) * math.cos(turn) - (x0 - x1) * math.sin(turn)
    return ahead > 0.0 and abs(aside) <= 0.4 * width


def pieces(moves: Moves, width: float) -> list[tuple[bool, list[Spot]]]:
    """Cut chains where they come back to their first point, or to their second: (loop, points)."""
    found = []
    for chain in chains(moves):
        begin = 0
        for end in range(1, len(chain.spots)):
            run, following = chain.spots[begin : end + 1], chain.spots[end + 1 :]
            path = sum(math.dist(a, b) for a, b in pairwise(run))
            if len(run) < 4 or path <= 4 * width:
                continue
            how = closing(run, following, chain.coast, width)
            second = closing(run[1:], following, chain.coast, width)
            if how and not (how == "runs on" and second == "closed"):
                if is_closed(run, how, width):
                    found.append((True, run))
                    begin = end
            elif is_closed(run[1:], second, width):
                found.extend([(False, run[:2]), (True, run[1:])])
                begin = end
        if begin < len(chain.spots) - 1:
            found.append((False, chain.spots[begin:]))
    return found


def holds(loop: list[Spot], spot: Spot) -> bool:
    """Say whether a polygon holds a point: by the sum of the angles its edges are seen under."""
    seen = 0.0
    for a, b in zip(loop, loop[1:] + loop[:1], strict=True):
        before = math.atan2(a[1] - spot[1], a[0] - spot[0])
        after = math.atan2(b[1] - spot[1], b[0] - spot[0])
        seen += (after - before + math.pi) % (2.0 * math.pi) - math.pi
    return abs(seen) > math.pi


def parents(found: list[tuple[bool, list[Spot]]]) -> list[int]:
    """Return for each loop the smallest of the loops that hold its leftmost point, -1 where none; -2 of open pieces."""
    result = []
    for number, (loop, spots) in enumerate(found):
        around = [
            (abs(shoelace(other)), k)
            for k, (closed, other) in enumerate(found)
            if loop and closed and k != number and holds(other, min(spots))
        ]
        result.append(min(around)[1] if around else (-1 if loop else -2))
    return result
