"""Kernels on regions over air: whether they are held on both sides, and how far they reach from where they are held."""

# mypy: allow-untyped-defs, allow-untyped-calls
from __future__ import annotations

import numpy as np

from viewer.jit import kernel

DEPTH, LOW_X, HIGH_X, LOW_Y, HIGH_Y = 0, 1, 2, 3, 4
"""Columns of ``facts``."""


@kernel
def _steps_to_hold(i, j, di, dj, most, labels, air, carried):
    """Return after how many steps a way through a region meets what carries; 0 where it ends elsewhere or later."""
    rows, columns = air.shape
    region = labels[i, j]
    for s in range(1, most + 1):
        a, b = i + s * di, j + s * dj
        if not (0 <= a < rows and 0 <= b < columns):
            return 0
        if air[a, b] == 0 or labels[a, b] != region:
            return s if carried[a, b] != 0 else 0
    return 0


@kernel
def find_channels(first, begin, end, label, stride, widest, labels, air, carried, across):
    """Measure how many cells of each region lie between two held sides that are at most ``widest`` cells apart.

    Only every ``stride[k]``-th cell of region k is measured, beginning with its first; 0: none. The sides are looked for
    along the rows, the columns and both diagonals. ``across`` (regions, 3), 0 at the beginning: cells
    measured; those between two sides; the sum of their distances between the sides, cells.
    """
    seen = np.zeros(len(stride), np.int64)
    for i in range(len(first) - 1):
        for run in range(first[i], first[i + 1]):
            k = label[run]
            if stride[k] == 0:
                continue
            for j in range(begin[run], end[run]):
                seen[k] += 1
                if (seen[k] - 1) % stride[k] != 0:
                    continue
                across[k, 0] += 1.0
                narrowest = np.inf
                for way in range(4):
                    di, dj = (0, 1, 1, 1)[way], (1, 0, 1, -1)[way]
                    scale = 1.0 if way < 2 else np.sqrt(2.0)
                    most = int(widest / scale)
                    one = _steps_to_hold(i, j, di, dj, most, labels, air, carried)
                    other = _steps_to_hold(i, j, -di, -dj, most, labels, air, carried) if one > 0 else 0
                    if other > 0 and one + other - 1 <= most:
                        narrowest = min(narrowest, scale * (one + other - 1))
                if narrowest < np.inf:
                    across[k, 1] += 1.0
                    across[k, 2] += narrowest


@kernel
def _is_rim(i, j, mask, carried):
    """Return whether a cell touches one that is set in ``mask`` and carried, corners included."""
    rows, columns = mask.shape
    for a in range(max(i - 1, 0), min(i + 2, rows)):
        for b in range(max(j - 1, 0), min(j + 2, columns)):
            if mask[a, b] != 0 and carried[a, b] != 0:
                return True
    return False


@kernel
def find_depth(region, box, labels, air, mask, carried, facts):
    """Measure how far a region reaches from where it is held, within the region.

    ``box``: the region's first and last row, first and last column. ``facts`` (5,): the number of steps from cell to
    cell, corners included, from the held cells to the farthest (0 where nothing is held), and the first and last column
    and row of the held cells.
    """
    top, bottom, left, right = box[0], box[1], box[2], box[3]
    wide = right - left + 1
    steps = np.full((bottom - top + 1, wide), -1, np.int32)
    queue = np.empty(steps.size, np.int64)
    filled = 0
    for i in range(top, bottom + 1):
        for j in range(left, right + 1):
            if air[i, j] != 0 and labels[i, j] == region and _is_rim(i, j, mask, carried):
                steps[i - top, j - left] = 0
                queue[filled] = (i - top) * wide + j - left
                facts[LOW_X] = min(facts[LOW_X], j) if filled else j
                facts[HIGH_X] = max(facts[HIGH_X], j) if filled else j
                facts[LOW_Y] = min(facts[LOW_Y], i) if filled else i
                facts[HIGH_Y] = max(facts[HIGH_Y], i) if filled else i
                filled += 1
    taken = 0
    while taken < filled:
        i, j = queue[taken] // wide + top, queue[taken] % wide + left
        near = steps[i - top, j - left]
        facts[DEPTH] = near
        taken += 1
        for a in range(max(i - 1, top), min(i + 2, bottom + 1)):
            for b in range(max(j - 1, left), min(j + 2, right + 1)):
                if air[a, b] != 0 and labels[a, b] == region and steps[a - top, b - left] < 0:
                    steps[a - top, b - left] = near + 1
                    queue[filled] = (a - top) * wide + b - left
                    filled += 1
