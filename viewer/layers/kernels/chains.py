r"""Beads cut into pieces: chains of beads without travel between, and the loops in them.

::

     start  o---------.         lead    o
        gap :         |              ___|____
     end    o         |             |        |      a bead may lead to a loop without travel: the chain comes
            `---------'             |________|      back to its second point

     start  o---------.             o--------.
      coast :         |      end  o---->     |      several loops in one run: beside its start, the chain goes on
     end    o---------'             `--------'      into the next loop
"""

# mypy: allow-untyped-defs, allow-untyped-calls
from __future__ import annotations

import math
from typing import Any, Final, NamedTuple

import numpy as np

from viewer.jit import inner_kernel, kernel
from viewer.layers.kernels.columns import BEAD, PLACE, TRAVEL, Way
from viewer.layers.kernels.pieces import APART_MM

CLOSED: Final = 0.3
"""A loop's ends are no farther apart than this many widths ..."""
OPEN_END: Final = 2.5
"""... or, where its chain ends there, no farther than this many, see `_loop_area`."""
RUN_ON: Final = 1.5
"""... or, where it runs on into the next loop, than this many, and than ..."""
RUN_ON_SHARE: Final = 0.25
"""... this share of the mean width enclosed."""
APART: Final = 0
CLOSED_HERE: Final = 1
COASTING: Final = 2
RUNNING_ON: Final = 3
COAST_MM: Final = 10.0
"""The last part of a loop may be travel at the bead's speed, no longer than this."""
MIN_PATH: Final = 4.0
"""Widths: nothing shorter is a loop."""


class Cut(NamedTuple):
    """What was cut: points and pieces in use, and the first move that was not looked at."""

    points: int
    pieces: int
    next_move: int


@inner_kernel
def _turns_once(points, begin, end):
    """Whether the direction along the points ``begin`` to ``end`` and back turns once in all, as no zigzag does."""
    last = points[end]
    ux, uy = points[begin].x - last.x, points[begin].y - last.y
    turned = 0.0
    for s in range(begin, end + 1):
        to = points[s + 1] if s < end else points[begin]
        vx, vy = to.x - points[s].x, to.y - points[s].y
        turned += math.atan2(ux * vy - uy * vx, ux * vx + uy * vy)
        ux, uy = vx, vy
    return 1.9 * math.pi < abs(turned) < 2.1 * math.pi


@inner_kernel
def _loop_area(points, begin, end, swept, path, closing, width):
    """Return the signed area that the points ``begin`` to ``end`` enclose, 0.0 where they are no loop.

    ``swept`` is twice the area swept about point ``begin`` or the one before it. Two lines of a zigzag enclose an area,
    too, but no wider than the gap at their end: a loop's gap is at most 0.3 widths, or 0.7 of the mean width
    (2 area / path) enclosed, or its start lies ahead of the last bead. ``closing``: see `_closing`.
    """
    area = 0.5 * swept
    gap_x = points[begin].x - points[end].x
    gap_y = points[begin].y - points[end].y
    gap = np.sqrt(gap_x * gap_x + gap_y * gap_y)
    mean = 2.0 * abs(area) / path
    if abs(area) < width * width or not mean > 0.4 * width:
        return 0.0
    if closing == COASTING:
        return area
    if closing == RUNNING_ON:
        return area if gap <= RUN_ON_SHARE * mean and _turns_once(points, begin, end) else 0.0
    if gap > OPEN_END * width:
        return 0.0
    if gap <= CLOSED * width or gap <= 0.7 * mean:
        return area
    step_x = points[end].x - points[end - 1].x
    step_y = points[end].y - points[end - 1].y
    step = np.sqrt(step_x * step_x + step_y * step_y)
    ahead = gap_x * step_x + gap_y * step_y > 0.0
    if ahead and abs(gap_x * step_y - gap_y * step_x) <= 0.4 * width * step:
        return area
    return 0.0


@inner_kernel
def _next_is_away(moves, i, end):
    """Tell whether the next bead from move i on begins elsewhere, or there is none."""
    away = 0.0
    while i < end and moves.kind[i] != BEAD:
        dx = float(moves.x_mm[i]) - float(moves.x_mm[i - 1])
        dy = float(moves.y_mm[i]) - float(moves.y_mm[i - 1])
        away += np.sqrt(dx * dx + dy * dy)
        if not away <= APART_MM or moves.kind[i] == PLACE:
            return True
        i += 1
    return i >= end


@inner_kernel
def _coasts_to(moves, i, end, x, y, near):
    """Whether travel from move i on, at the speed of the bead before it, comes to (x, y).

    Pressure in the nozzle lays the last of a loop's bead: the filament stops some millimetres before the loop closes.
    """
    way, speed = 0.0, moves.speed_mm_s[i - 1]
    while i < end and moves.kind[i] == TRAVEL and moves.speed_mm_s[i] == speed:
        dx = float(moves.x_mm[i]) - float(moves.x_mm[i - 1])
        dy = float(moves.y_mm[i]) - float(moves.y_mm[i - 1])
        way += np.sqrt(dx * dx + dy * dy)
        if not way <= COAST_MM:
            return False
        if abs(moves.x_mm[i] - x) <= near and abs(moves.y_mm[i] - y) <= near:
            return True
        i += 1
    return False


@inner_kernel
def _runs_on(moves, i, end, x, y):
    """Whether bead i leads on from beside (x, y), into the next loop: it comes no nearer than its start is."""
    if i >= end or moves.kind[i] != BEAD:
        return False
    ax, ay = float(moves.x_mm[i - 1]) - x, float(moves.y_mm[i - 1]) - y
    dx, dy = float(moves.x_mm[i]) - float(moves.x_mm[i - 1]), float(moves.y_mm[i]) - float(moves.y_mm[i - 1])
    return ax * dx + ay * dy >= 0.0


@inner_kernel
def _closing(moves, i, end, x, y, width):
    """Return how the chain whose last bead is move i - 1 comes back to (x, y), `APART` where it does not."""
    off = max(abs(moves.x_mm[i - 1] - x), abs(moves.y_mm[i - 1] - y))
    if off <= CLOSED * width:
        return CLOSED_HERE
    if i < end and moves.kind[i] == TRAVEL and off <= COAST_MM:
        if _coasts_to(moves, i, end, x, y, CLOSED * width):
            return COASTING
    if off > OPEN_END * width:
        return APART
    if _next_is_away(moves, i, end):
        return CLOSED_HERE
    return RUNNING_ON if off <= RUN_ON * width and _runs_on(moves, i, end, x, y) else APART


@kernel
def split_chains(moves: Way, begin: int, end: int, width: float, points: Any, pieces: Any) -> Cut:
    """Cut the beads of moves ``begin`` to ``end`` (exclusive) into pieces.

    A chain is parted where it comes back to its first or second point, or runs on beside it. Only where the next bead is
    away may a loop close with a wide gap. Stops where ``points`` (POINT) is full; ``pieces`` (PIECE) has as much room.
    """
    kind, x, y = moves.kind, moves.x_mm, moves.y_mm
    n, number, chains = 0, -1, -1
    # way since the last bead; path, length of its first bead and twice the area swept about its start, of the piece
    away, path, lead, swept = np.inf, 0.0, 0.0, 0.0
    going = False  # whether the next bead may belong to the piece
    i = begin
    while i < end and n + 2 < len(points):
        x0, y0 = 0.0, 0.0
        if i > 0:
            x0, y0 = float(x[i - 1]), float(y[i - 1])
        x1, y1 = float(x[i]), float(y[i])
        step = np.sqrt((x1 - x0) * (x1 - x0) + (y1 - y0) * (y1 - y0))
        i += 1
        if kind[i - 1] != BEAD or not step < np.inf:
            away += step if kind[i - 1] != PLACE and step < np.inf else np.inf
            continue
        if step == 0.0:
            continue
        if away > APART_MM or not going:  # a new piece, of a new chain or of the same
            chains += 1 if away > APART_MM else 0
            number += 1
            points[n].x, points[n].y, points[n].row, points[n].piece = x0, y0, -1, number
            pieces[number].first, pieces[number].chain, pieces[number].area = n, chains, 0.0
            n += 1
            path, lead, swept = 0.0, step, 0.0
            going = True
        away = 0.0
        points[n].x, points[n].y, points[n].row, points[n].piece = x1, y1, i - 1, number
        start = np.int64(pieces[number].first)
        ox, oy = points[start].x, points[start].y
        swept += (points[n - 1].x - ox) * (y1 - oy) - (points[n - 1].y - oy) * (x1 - ox)
        path += step
        pieces[number].last, pieces[number].path = n, path
        n += 1
        if n - start <= 3 or path <= MIN_PATH * width:
            continue
        px, py = points[start + 1].x, points[start + 1].y
        at, whole, turn = start, path, swept
        closing = _closing(moves, i, end, ox, oy, width)
        second = (
            _closing(moves, i, end, px, py, width) if closing == APART or closing == RUNNING_ON else APART
        )
        if closing == APART and second == APART:
            continue
        if closing == APART or second == CLOSED_HERE:
            closing = second
            at, whole = start + 1, path - lead  # the first bead only led to the loop
            turn += (x1 - ox) * (py - oy) - (y1 - oy) * (px - ox)
        found = _loop_area(points, at, n - 1, turn, whole, closing, width)
        if found == 0.0:
            continue
        if at > start:  # the lead becomes a piece of its own
            pieces[number].last, pieces[number].path = at, lead
            number += 1
            pieces[number].first, pieces[number].chain = at, chains
            for s in range(at, n):
                points[s].piece = number
        pieces[number].area, pieces[number].last, pieces[number].path = found, n - 1, whole
        going = False
    return Cut(n, number + 1, i)
