"""Kernels on the masks of two layers: the cells that lie over air, their regions, and how far each region reaches.

A cell (i, j) covers x from left + j cell and y from front + i cell, as in `viewer.beads.draw`. Regions come as the
runs of `viewer.beads.regions`.
"""

# mypy: allow-untyped-defs, allow-untyped-calls
from __future__ import annotations

import numpy as np

from viewer.jit import kernel
from viewer.shape.kernels.bits import DIVIDED, INFILL, INNER, OUTLINE, SHELL

TINY = 1e-12
RIM_CELLS = 3
"""Cells of infill at a hollow's rim that make it infill's: fewer may be a bead's end that pokes through the outline."""
OUTLINE_SHARE = 0.05
"""A hollow with more outline than this at its rim is not enclosed by inner loops."""
EDGE_OF_GRID, INFILL_RIM, CELLS, OUTLINE_RIM, RIM = 0, 1, 2, 3, 4
"""Columns of ``facts``: whether a hollow touches the grid's edge; rim cells of infill alone; its cells; rim cells of
outline; all rim cells that are set."""
AREA, SUM_X, SUM_Y, LOW_X, HIGH_X, LOW_Y, HIGH_Y, HELD = 0, 1, 2, 3, 4, 5, 6, 7
"""Columns of ``sums``."""


@kernel
def count_bare(mask, bit, below):
    """Return the number of cells with ``bit`` in ``mask`` where ``below`` is not set."""
    rows, columns = mask.shape
    total = 0
    for i in range(rows):
        count = np.uint32(0)
        for j in range(columns):
            count += np.uint32((mask[i, j] & bit) != 0) & np.uint32(below[i, j] == 0)
        total += count
    return total


@kernel
def mark_bare(mask, bit, below, hollows, air):
    """Set ``air`` to where ``mask`` has ``bit`` over neither ``below`` nor a divided hollow; return the count."""
    rows, columns = mask.shape
    total = 0
    for i in range(rows):
        count = np.uint32(0)
        for j in range(columns):
            bare = np.uint8((mask[i, j] & bit) != 0) & np.uint8(
                (below[i, j] | (hollows[i, j] & DIVIDED)) == 0
            )
            air[i, j] = bare
            count += np.uint32(bare)
        total += count
    return total


@kernel
def sum_runs(first, begin, end, label, mask, below, labels, sums):
    """Measure regions and write their numbers into ``labels`` (rows, columns), only where they lie.

    ``sums`` (regions, 8), 0 at the beginning: cells, sums of columns and rows, box (first and last column,
    row), and how many cells that are set in ``mask`` and in ``below`` touch the region, corners included.
    """
    rows, columns = mask.shape
    for k in range(len(sums)):
        sums[k, LOW_X] = columns
        sums[k, LOW_Y] = rows
    for i in range(rows):
        for run in range(first[i], first[i + 1]):
            b, e, k = begin[run], end[run], label[run]
            sums[k, AREA] += e - b
            sums[k, SUM_X] += 0.5 * (b + e - 1) * (e - b)
            sums[k, SUM_Y] += i * (e - b)
            sums[k, LOW_X] = min(sums[k, LOW_X], b)
            sums[k, HIGH_X] = max(sums[k, HIGH_X], e - 1)
            sums[k, LOW_Y] = min(sums[k, LOW_Y], i)
            sums[k, HIGH_Y] = max(sums[k, HIGH_Y], i)
            for j in range(b, e):
                labels[i, j] = k
            for near in range(max(i - 1, 0), min(i + 2, rows)):
                for j in range(max(b - 1, 0), min(e + 1, columns)):
                    if mask[near, j] != 0 and below[near, j] != 0:
                        sums[k, HELD] += 1.0


@kernel
def _note_rim(cell, facts, region):
    """Count one cell at a hollow's rim."""
    facts[region, INFILL_RIM] += (cell & (SHELL | INFILL)) == INFILL
    facts[region, OUTLINE_RIM] += (cell & OUTLINE) != 0
    facts[region, RIM] += cell != 0


@kernel
def find_hollows(first, begin, end, label, mask, least, facts, hollows):
    """Write the kind of the closed regions of empty cells of ``mask`` into ``hollows``, which is 0 at the beginning.

    The runs are those of the empty cells. A region that does not touch the grid's edge is `DIVIDED` by infill where
    it has infill at its rim, or fewer than ``least`` cells; else it is `INNER` where hardly any outline is at its rim:
    a hole of the part has outline there. ``facts`` (regions, 5), 0 at the beginning, is work space.
    """
    rows, columns = mask.shape
    for i in range(rows):
        for run in range(first[i], first[i + 1]):
            b, e, k = begin[run], end[run], label[run]
            facts[k, CELLS] += e - b
            if i == 0 or i == rows - 1 or b == 0 or e == columns:
                facts[k, EDGE_OF_GRID] = 1
                continue
            _note_rim(mask[i, b - 1], facts, k)
            _note_rim(mask[i, e], facts, k)
            for j in range(b, e):
                _note_rim(mask[i - 1, j], facts, k)
                _note_rim(mask[i + 1, j], facts, k)
    for i in range(rows):
        for run in range(first[i], first[i + 1]):
            k = label[run]
            if facts[k, EDGE_OF_GRID] != 0:
                continue
            kind = 0
            if facts[k, INFILL_RIM] >= RIM_CELLS or facts[k, CELLS] < least:
                kind = DIVIDED
            elif facts[k, OUTLINE_RIM] <= OUTLINE_SHARE * facts[k, RIM]:
                kind = INNER
            if kind != 0:
                for j in range(begin[run], end[run]):
                    hollows[i, j] = kind


@kernel
def nearest_cells(first, begin, end, label, sums, best, place):
    """Write to ``place`` (regions, 2) the column and row of each region's point on a row nearest to its centroid.

    ``best`` (regions,) is work space, infinite at the beginning.
    """
    for i in range(len(first) - 1):
        for run in range(first[i], first[i + 1]):
            k = label[run]
            x = sums[k, SUM_X] / sums[k, AREA]
            y = sums[k, SUM_Y] / sums[k, AREA]
            j = min(max(x, float(begin[run])), end[run] - 1.0)
            away = (j - x) ** 2 + (i - y) ** 2
            if away < best[k]:
                best[k] = away
                place[k, 0] = j
                place[k, 1] = i


@kernel
def _to_edge(px, py, beads):
    """Return the distance, mm, of a point from the nearest footprint of ``beads`` (n, 5); negative inside."""
    nearest = np.inf
    for k in range(len(beads)):
        dx = beads[k, 2] - beads[k, 0]
        dy = beads[k, 3] - beads[k, 1]
        qx = px - beads[k, 0]
        qy = py - beads[k, 1]
        at = min(max((qx * dx + qy * dy) / max(dx * dx + dy * dy, TINY), 0.0), 1.0)
        away = np.sqrt((qx - at * dx) ** 2 + (qy - at * dy) ** 2)
        nearest = min(nearest, away - 0.5 * beads[k, 4])
    return nearest


@kernel
def find_reach(first, begin, end, label, stride, grid, lower, upper, reach):
    """Write to ``reach`` (regions,) the largest distance, mm, by which each region reaches beyond the beads below.

    Only every ``stride[k]``-th cell of region k is measured, beginning with its first; 0: none. ``grid`` is left,
    front and cell, mm. The distance is measured to the exact footprints of ``lower`` and
    ``upper``, (n, 5) beads: x0, y0, x1, y1, width, mm.
    """
    seen = np.zeros(len(stride), np.int64)
    for i in range(len(first) - 1):
        for run in range(first[i], first[i + 1]):
            k = label[run]
            if stride[k] == 0:
                continue
            for j in range(begin[run], end[run]):
                if seen[k] % stride[k] == 0:
                    x = grid[0] + (j + 0.5) * grid[2]
                    y = grid[1] + (i + 0.5) * grid[2]
                    reach[k] = max(reach[k], _to_edge(x, y, lower) - min(_to_edge(x, y, upper), 0.0))
                seen[k] += 1
