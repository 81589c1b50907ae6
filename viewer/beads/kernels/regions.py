"""Kernels that find the regions of a mask: cells that touch.

They are found by runs: a run is a row's stretch of like cells, and runs that touch are joined::

    row 1   . # # # . . # # .          runs 0 and 1
    row 2   . . . # # # # . .          run 2 joins both: one region
"""

# mypy: allow-untyped-defs, allow-untyped-calls
from __future__ import annotations

import numpy as np

from viewer.jit import inner_kernel, kernel


@kernel
def count_runs(grid, wanted):
    """Count the runs of cells that are set (``wanted`` 1) or not set (0)."""
    rows, columns = grid.shape
    total = 0
    for i in range(rows):
        count = np.uint32((grid[i, 0] != 0) == wanted)
        for j in range(1, columns):
            count += np.uint32((grid[i, j] != 0) == wanted) & np.uint32((grid[i, j - 1] != 0) != wanted)
        total += count
    return total


@inner_kernel
def _root(parent, k):
    while parent[k] != k:
        parent[k] = parent[parent[k]]
        k = np.int64(parent[k])
    return k


@kernel
def label_runs(grid, wanted, reach, first, begin, end, label):
    """Find the runs and the regions they make; return the number of regions.

    ``first`` (rows + 1,) is each row's first run; ``begin``, ``end`` (exclusive) and ``label`` (runs,) are the runs'
    columns and the number of their region, from 0. ``reach`` 1 joins cells that touch at a corner, 0 does not.
    """
    rows, columns = grid.shape
    n = 0
    for i in range(rows):
        first[i] = n
        inside = False
        for j in range(columns):
            if ((grid[i, j] != 0) == wanted) != inside:
                inside = not inside
                if inside:
                    begin[n] = j
                    label[n] = n
                else:
                    end[n] = j
                    n += 1
        if inside:
            end[n] = columns
            n += 1
        p = first[i - 1] if i > 0 else n
        q = first[i]
        while p < first[i] and q < n:
            if begin[p] < end[q] + reach and begin[q] < end[p] + reach:
                a = _root(label, np.int64(p))
                b = _root(label, np.int64(q))
                label[max(a, b)] = min(a, b)
            if end[p] < end[q]:
                p += 1
            else:
                q += 1
    first[rows] = n
    # a parent has a smaller number than its children, so that it carries its region's number (from -1 down) by then
    count = 0
    for k in range(n):
        if label[k] == k:
            count += 1
            label[k] = -count
        else:
            label[k] = label[label[k]]
    for k in range(n):
        label[k] = -label[k] - 1
    return count


@kernel
def number_cells(first, begin, end, label, labels):
    """Write the number of each region, from 1, into its cells of ``labels`` (rows, columns)."""
    for i in range(len(labels)):
        for run in range(first[i], first[i + 1]):
            number = label[run] + 1
            for j in range(begin[run], end[run]):
                labels[i, j] = number
