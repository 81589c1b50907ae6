"""Searches in the grid: which loop holds a place, and what lies near it.

Each takes the segments that it looks at off the ``budget``, which its callers ask before.
"""

# mypy: allow-untyped-defs, allow-untyped-calls
from __future__ import annotations

from typing import Final, NamedTuple

import numpy as np

from viewer.jit import inner_kernel
from viewer.layers.kernels.pieces import end_of

ANY: Final = np.int64(-1)
"""Every used piece is looked for."""
NO_PIECE: Final = np.int64(-1)
LEFT: Final = 1
RIGHT: Final = 2
BOTH: Final = LEFT | RIGHT


class Cells(NamedTuple):
    """A rectangle of cells, both ends inclusive."""

    c_lo: int
    c_hi: int
    r_lo: int
    r_hi: int


class Offset(NamedTuple):
    """From a place to the nearest point of a segment, mm."""

    x: float
    y: float


@inner_kernel
def first_hit(x, y, own, layer, budget):
    """Look from (x, y) to the left: return 2 p + 1 where loop p is met first and holds it, 2 p if not, -1 for none.

    Only used pieces count, and not ``own``. Which side is inside follows from the segment's direction::

            loop p, counter-clockwise
           |                               down: the place right of it is inside; up: outside
           v   <------------- o (x, y)
    """
    points, pieces, grid = layer
    frame, ends, listed = grid.frame[0], grid.ends, grid.listed
    columns, r = frame.columns, int(np.floor((y - frame.front) / frame.cell))
    if r < 0 or r >= frame.rows or x < frame.left:
        return np.int64(-1)
    best, found = -np.inf, np.int64(-1)
    c = min(int((x - frame.left) / frame.cell), columns - 1)
    while c >= 0 and best < frame.left + (c + 1) * frame.cell:
        k = r * columns + c
        for place in range(ends[k - 1] if k > 0 else 0, ends[k]):
            s = np.int64(listed[place])
            p = np.int64(points[s].piece)
            budget[0] -= 1
            if p == own or not pieces[p].used:
                continue
            a, b = points[s], points[end_of(s, points, pieces)]
            if (a.y <= y) == (b.y <= y):
                continue
            share = (y - a.y) / (b.y - a.y)
            at = max(a.x + share * (b.x - a.x), min(a.x, b.x))  # never left of the segment by rounding
            if at < x and at > best:
                best = at
                found = 2 * p + (1 if (b.y < a.y) == (pieces[p].area > 0.0) else 0)
        budget[0] -= 1
        c -= 1
    return found


@inner_kernel
def _cells_about(x, y, radius, frame):
    """Return the cells that a square about (x, y) meets; none (c_hi < c_lo) where it lies outside of all."""
    columns, rows = frame.columns, frame.rows
    return Cells(
        int(min(max((x - radius - frame.left) / frame.cell, 0.0), columns)),
        int(min(max((x + radius - frame.left) / frame.cell, -1.0), columns - 1.0)),
        int(min(max((y - radius - frame.front) / frame.cell, 0.0), rows)),
        int(min(max((y + radius - frame.front) / frame.cell, -1.0), rows - 1.0)),
    )


@inner_kernel
def _offset_to(x, y, ax, ay, dx, dy):
    """Return the way from (x, y) to the nearest point of the segment from (ax, ay) on by (dx, dy)."""
    long = dx * dx + dy * dy
    share = ((x - ax) * dx + (y - ay) * dy) / long if long > 0.0 else 0.0
    share = min(max(share, 0.0), 1.0)
    return Offset(ax + share * dx - x, ay + share * dy - y)


@inner_kernel
def is_near(x, y, radius, wanted, layer, budget):
    """Whether a segment of the wanted piece (`ANY`: of any used one) lies within ``radius`` of (x, y)."""
    points, pieces, grid = layer
    frame, ends, listed = grid.frame[0], grid.ends, grid.listed
    cells = _cells_about(x, y, radius, frame)
    for r in range(cells.r_lo, cells.r_hi + 1):
        for k in range(r * frame.columns + cells.c_lo, r * frame.columns + cells.c_hi + 1):
            for place in range(ends[k - 1] if k > 0 else 0, ends[k]):
                s = np.int64(listed[place])
                budget[0] -= 1
                a, b = points[s], points[end_of(s, points, pieces)]
                ax, ay = a.x, a.y
                dx, dy = b.x - ax, b.y - ay
                if min(ax, ax + dx) > x + radius or max(ax, ax + dx) < x - radius:
                    continue
                p = np.int64(a.piece)
                if (wanted >= 0 and p != wanted) or (wanted < 0 and not pieces[p].used):
                    continue
                q = _offset_to(x, y, ax, ay, dx, dy)
                if not q.x * q.x + q.y * q.y > radius * radius:
                    return True
    return False


@inner_kernel
def sides_beside(x, y, segment, radius, layer, budget):
    """Return which sides of a segment hold another one within ``radius`` of its place (x, y): `LEFT`, `RIGHT` or both.

    Only those that run along it count (to 45 degrees), and lie abeam of it: not the next of a curve.
    """
    points, pieces, grid = layer
    frame, ends, listed = grid.frame[0], grid.ends, grid.listed
    own, to = points[segment], points[segment + 1]
    ux, uy = to.x - own.x, to.y - own.y
    cells = _cells_about(x, y, radius, frame)
    sides = 0
    for r in range(cells.r_lo, cells.r_hi + 1):
        for k in range(r * frame.columns + cells.c_lo, r * frame.columns + cells.c_hi + 1):
            for place in range(ends[k - 1] if k > 0 else 0, ends[k]):
                s = np.int64(listed[place])
                budget[0] -= 1
                a, b = points[s], points[end_of(s, points, pieces)]
                ax, ay = a.x, a.y
                dx, dy = b.x - ax, b.y - ay
                if min(ax, ax + dx) > x + radius or max(ax, ax + dx) < x - radius:
                    continue
                if 2.0 * (dx * ux + dy * uy) ** 2 < (dx * dx + dy * dy) * (ux * ux + uy * uy):
                    continue  # cos^2 < 1/2
                q = _offset_to(x, y, ax, ay, dx, dy)
                if q.x * q.x + q.y * q.y > radius * radius:
                    continue
                side = ux * q.y - uy * q.x
                if 2.0 * side * side > (ux * ux + uy * uy) * (q.x * q.x + q.y * q.y):  # sin^2 > 1/2
                    sides |= LEFT if side > 0.0 else RIGHT
    return np.int64(sides)
