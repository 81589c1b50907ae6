"""The grid over a layer's segments, by which the searches find what lies near a place.

::

     rows  |   |   |___|___      a segment is listed in every cell that it crosses: row by row, from the column where it
           |   |__/|   |         comes into the row to the one where it leaves it
           |__/|   |   |  columns
"""

# mypy: allow-untyped-defs, allow-untyped-calls
from __future__ import annotations

import numpy as np

from viewer.jit import inner_kernel
from viewer.layers.kernels.pieces import DENSE, end_of


@inner_kernel
def _lay_out(n, width, points, pieces, frame):
    """Choose the cells: no smaller than a third of a mean segment, and no more than three times the points."""
    x_lo, x_hi, y_lo, y_hi, total = points[0].x, points[0].x, points[0].y, points[0].y, 0.0
    for s in range(n):
        a = points[s]
        x_lo, x_hi, y_lo, y_hi = min(x_lo, a.x), max(x_hi, a.x), min(y_lo, a.y), max(y_hi, a.y)
        e = end_of(np.int64(s), points, pieces)
        if e >= 0 and a.spacing == np.inf:
            total += abs(points[e].x - a.x) + abs(points[e].y - a.y)
    wide, high = x_hi - x_lo, y_hi - y_lo
    cell = max(DENSE * width, total / (3.0 * n), np.sqrt(wide * high / n), (wide + high) / n)
    frame.left, frame.front, frame.cell = x_lo, y_lo, cell
    frame.columns, frame.rows = int(wide / cell) + 2, int(high / cell) + 2


@inner_kernel
def _enter(s, a, b, frame, ends, listed, lists):
    """Count segment s, from point a to b, in every cell that it crosses; with ``lists`` write it there, too."""
    columns, scale = frame.columns, 1.0 / frame.cell
    xa, ya = (a.x - frame.left) * scale, (a.y - frame.front) * scale
    xb, yb = (b.x - frame.left) * scale, (b.y - frame.front) * scale
    if ya > yb:
        xa, ya, xb, yb = xb, yb, xa, ya
    low, high = int(ya), int(yb)
    slope = (xb - xa) / (yb - ya) if high > low else 0.0
    for r in range(low, high + 1):
        xr = xa + slope * (r - ya) if r > low else xa
        xs = xa + slope * (r + 1 - ya) if r < high else xb
        lo, hi = int(max(min(xr, xs), 0.0)), int(max(xr, xs))
        for c in range(r * columns + lo, r * columns + min(hi, columns - 1) + 1):
            if lists:
                listed[ends[c]] = s
            ends[c] += 1


@inner_kernel
def build_grid(n, width, points, pieces, grid):
    """List the segments of n points by the cells that they cross; time and memory go with n: 13 n entries at most.

    Lines whose spacing is measured are left out: nobody looks for them.
    """
    frame, ends, listed = grid.frame[0], grid.ends, grid.listed
    _lay_out(n, width, points, pieces, frame)
    cells = frame.columns * frame.rows
    for c in range(cells):
        ends[c] = 0
    for stage in range(2):  # count the entries of each cell, then write them
        for s in range(n):
            e = end_of(np.int64(s), points, pieces)
            if e < 0 or points[s].spacing < np.inf:
                continue
            _enter(s, points[s], points[e], frame, ends, listed, stage == 1)
        if stage == 0:  # where each cell's entries begin; writing them moves that to where they end
            before = 0
            for c in range(cells):
                before, ends[c] = before + ends[c], before
