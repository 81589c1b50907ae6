"""Regions of a mask: cells that touch one another."""

# mypy: allow-untyped-calls
from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from viewer.arrays import I32, U8
from viewer.beads.kernels import regions as k


@dataclass(frozen=True, slots=True, eq=False)
class Regions:
    """Cells that touch, as runs in rows."""

    first: I32  # (rows + 1,)
    begin: I32  # (runs,)
    end: I32  # (runs,)
    label: I32  # (runs,) number of the region, from 0 in the order of rows
    count: int


def find_regions(grid: U8, wanted: int, reach: int) -> Regions:
    """Return the regions of cells that are set (``wanted`` 1) or not (0); ``reach`` 1 joins at corners too."""
    room = int(k.count_runs(grid, wanted))
    first = np.empty(grid.shape[0] + 1, np.int32)
    begin, end, label = (np.empty(room, np.int32) for _ in range(3))
    count = int(k.label_runs(grid, wanted, reach, first, begin, end, label))
    return Regions(first, begin, end, label, count)


def label_cells(mask: U8) -> tuple[I32, int]:
    """Return the regions of the cells set in a mask (h, w), joined at corners too, as a number in each cell.

    Returns
    -------
    labels, count
        (h, w) the number of each cell's region, from 1 in the order of rows, 0 where nothing is set; how many.
    """
    regions = find_regions(mask, 1, 1)
    labels: I32 = np.zeros(mask.shape, np.int32)
    k.number_cells(regions.first, regions.begin, regions.end, regions.label, labels)
    return labels, regions.count


def dilated(mask: U8) -> U8:
    """Return a mask (h, w) with the cells beside those that are set, at corners too, set as well."""
    across = mask.copy()
    across[:, 1:] |= mask[:, :-1]
    across[:, :-1] |= mask[:, 1:]
    wide = across.copy()
    wide[1:] |= across[:-1]
    wide[:-1] |= across[1:]
    return wide
