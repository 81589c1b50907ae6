"""Values in the cells of a plate, found at the pixels of a picture; no Qt."""

from __future__ import annotations

import numpy as np

from viewer.arrays import U8
from viewer.beads.draw import Grid, View


def cells_at_pixels(cells: U8, grid: Grid, view: View, size: tuple[int, int], beside: int) -> U8:
    """Return what the cell at the middle of each pixel holds: ``size`` (rows, columns).

    Parameters
    ----------
    cells
        (rows, columns), row 0 in front.
    beside
        Stands where a pixel lies beside all cells.
    """
    if not cells.size:
        return np.full(size, beside, np.uint8)
    x = view.left_mm + (np.arange(size[1]) + 0.5) / view.px_per_mm
    y = view.top_mm - (np.arange(size[0]) + 0.5) / view.px_per_mm
    column = np.floor((x - grid.left_mm) / grid.cell_mm).astype(np.int64)
    row = np.floor((y - grid.front_mm) / grid.cell_mm).astype(np.int64)
    rows, columns = cells.shape
    there = ((row >= 0) & (row < rows))[:, None] & ((column >= 0) & (column < columns))[None, :]
    found = cells[np.clip(row, 0, rows - 1)[:, None], np.clip(column, 0, columns - 1)[None, :]]
    return np.where(there, found, np.uint8(beside))
