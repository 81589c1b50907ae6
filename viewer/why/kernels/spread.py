"""The kernel that spreads the time of moves over the cells of a grid."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from viewer.jit import kernel

if TYPE_CHECKING:
    from viewer.arrays import F32, F64


class Ways(NamedTuple):
    """Columns of the moves, read-only: (n,) each."""

    x_mm: F32
    y_mm: F32


@kernel
def spread_time(
    ways: Ways, time: F32, begin: int, end: int, left: float, front: float, cell: float, grid: F64
) -> float:
    """Spread the time of moves ``begin`` to ``end`` evenly along their paths; return what falls beside the grid, s.

    Each path is cut into equal pieces no longer than half a cell; the time of a piece belongs to the cell of its middle.

    Parameters
    ----------
    ways, time
        Ends of the moves, mm, and their durations, s.
    begin, end
        Which moves.
    left, front, cell
        X and Y of the grid's corner, and the width of a cell, mm.
    grid
        (rows, columns) rows go along Y; seconds are added.
    """
    beside = 0.0
    x0 = y0 = 0.0
    if begin > 0:
        x0, y0 = float(ways.x_mm[begin - 1]), float(ways.y_mm[begin - 1])
    for i in range(begin, end):
        x, y = float(ways.x_mm[i]), float(ways.y_mm[i])
        seconds = float(time[i])
        if seconds > 0.0:
            pieces = max(int(np.ceil(2.0 * np.hypot(x - x0, y - y0) / cell)), 1)
            each = seconds / pieces
            for k in range(pieces):
                along = (k + 0.5) / pieces
                column = int(np.floor((x0 + along * (x - x0) - left) / cell))
                row = int(np.floor((y0 + along * (y - y0) - front) / cell))
                if 0 <= row < grid.shape[0] and 0 <= column < grid.shape[1]:
                    grid[row, column] += each
                else:
                    beside += each
        x0, y0 = x, y
    return beside
