"""Slow twins of the kernels that read roles from shape: plain Python over lists, none of their code."""

from __future__ import annotations

import math
from itertools import pairwise

from viewer.read.moves import BEAD, PLACE, Moves

Spot = tuple[float, float]


def chains(moves: Moves) -> list[list[Spot]]:
    """Return the points of each run of beads, parted where the nozzle goes more than 0.05 mm without filament."""
    found: list[list[Spot]] = []
    here, away = (0.0, 0.0), math.inf
    for x, y, kind in zip(moves.x_mm.tolist(), moves.y_mm.tolist(), moves.kind.tolist(), strict=True):
        there = (x, y)
        step = math.dist(here, there)
        if kind == BEAD and step > 0.0:
            if away > 0.05:
                found.append([here])
            found[-1].append(there)
            away = 0.0
        elif kind == PLACE:
            away = math.inf
        elif kind != BEAD:
            away += step
        here = there
    return found


def shoelace(spots: list[Spot]) -> float:
    """Return the signed area of a polygon, counter-clockwise positive."""
    return 0.5 * sum(a[0] * b[1] - b[0] * a[1] for a, b in zip(spots, spots[1:] + spots[:1], strict=True))


def is_closed(spots: list[Spot], width: float, ends: bool) -> bool:
    """Say whether a run of points is a loop; with `ends` its chain ends here, and it may leave a gap."""
    path = sum(math.dist(a, b) for a, b in pairwise(spots))
    if len(spots) < 4 or not path > 0.0:
        return False
    (x0, y0), (x1, y1), (xb, yb) = spots[0], spots[-1], spots[-2]
    near = (2.5 if ends else 0.3) * width
    area, gap = abs(shoelace(spots)), math.dist(spots[0], spots[-1])
    if max(abs(x0 - x1), abs(y0 - y1)) > near or gap > 2.5 * width:
        return False
    if area < width**2 or 2 * area / path <= 0.4 * width:
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
        for end in range(1, len(chain)):
            run = chain[begin : end + 1]
            path = sum(math.dist(a, b) for a, b in pairwise(run))
            if len(run) < 4 or path <= 4 * width:
                continue
            ends = end == len(chain) - 1
            reach = (2.5 if ends else 0.3) * width
            off = max(abs(run[0][0] - run[-1][0]), abs(run[0][1] - run[-1][1]))
            if off <= reach:
                if is_closed(run, width, ends):
                    found.append((True, run))
                    begin = end
            elif is_closed(run[1:], width, ends):
                found.extend([(False, run[:2]), (True, run[1:])])
                begin = end
        if begin < len(chain) - 1:
            found.append((False, chain[begin:]))
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
