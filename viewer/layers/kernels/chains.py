r"""Beads cut into pieces: chains of beads without travel between, and the loops in them.

::

     start  o---------.         lead    o
        gap :         |              ___|____
     end    o         |             |        |      a bead may lead to a loop without travel: the chain comes
            `---------'             |________|      back to its second point
"""

# mypy: allow-untyped-defs, allow-untyped-calls
from __future__ import annotations

from typing import Any, Final, NamedTuple

import numpy as np

from viewer.jit import inner_kernel, kernel
from viewer.layers.kernels.columns import BEAD, PLACE, Way
from viewer.layers.kernels.pieces import APART_MM

CLOSED: Final = 0.3
"""A loop's ends are no farther apart than this many widths ..."""
OPEN_END: Final = 2.5
"""... or, where its chain ends there, no farther than this many, see `_loop_area`."""
MIN_PATH: Final = 4.0
"""Widths: nothing shorter is a loop."""


class Cut(NamedTuple):
    """What was cut: points and pieces in use, and the first move that was not looked at."""

    points: int
    pieces: int
    next_move: int


@inner_kernel
def _loop_area(points, begin, end, swept, path, width):
    """Return the signed area that the points ``begin`` to ``end`` enclose, 0.0 where they are no loop.

    ``swept`` is twice the area swept about point ``begin`` or the one before it. Two lines of a zigzag enclose an area,
    too, but no wider than the gap at their end: a loop's gap is at most 0.3 widths, or 0.7 of the mean width
    (2 area / path) enclosed, or its start lies ahead of the last bead.
    """
    area = 0.5 * swept
    gap_x = points[begin].x - points[end].x
    gap_y = points[begin].y - points[end].y
    gap = np.sqrt(gap_x * gap_x + gap_y * gap_y)
    mean = 2.0 * abs(area) / path
    if gap > OPEN_END * width or abs(area) < width * width or not mean > 0.4 * width:
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


@kernel
def split_chains(moves: Way, begin: int, end: int, width: float, points: Any, pieces: Any) -> Cut:
    """Cut the beads of moves ``begin`` to ``end`` (exclusive) into pieces.

    A chain is parted where it comes back to its first or second point. Only where the next bead is away may a loop close
    with a gap. Stops where ``points`` (POINT) is full; ``pieces`` (PIECE) has as much room.
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
        near = OPEN_END * width if _next_is_away(moves, i, end) else CLOSED * width
        px, py = points[start + 1].x, points[start + 1].y
        at, whole, turn = start, path, swept
        if abs(x1 - ox) > near or abs(y1 - oy) > near:
            if abs(x1 - px) > near or abs(y1 - py) > near:
                continue
            at, whole = start + 1, path - lead  # the first bead only led to the loop
            turn += (x1 - ox) * (py - oy) - (y1 - oy) * (px - ox)
        found = _loop_area(points, at, n - 1, turn, whole, width)
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
