"""Parts printed together, told apart: bodies whose shadows on the plate do not touch.

::

      ___                 seen from above, all layers together:
     |   |
     |   |    _______         [ ]    [       ]      two shadows, two bodies
     |___|___|_______|
      plate                   an arch joins both: one shadow, one body

Each topples for itself. Parts that come nearer than some 2 mm to one another count as one.
"""

# mypy: allow-untyped-calls
from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np

from viewer.arrays import F64, I32, U8, columns_of, read_only
from viewer.beads.draw import Grid
from viewer.beads.regions import dilated, label_cells
from viewer.figures.kernels import bodies as k
from viewer.figures.kernels import columns as c
from viewer.layers.layers import Layers
from viewer.read.moves import Moves

CELL_MM: Final = 0.5
MAX_CELLS: Final = 4_000_000
"""A larger plate is drawn coarser."""
MARGIN_CELLS: Final = 3


@dataclass(frozen=True, slots=True, eq=False)
class Bodies:
    """The bodies of one object."""

    grid: Grid
    labels: I32  # (h, w) number of the body whose shadow lies there, from 1
    moments: F64  # (bodies + 1, 4) of m, m x, m y, m z as `viewer.beads.section.add_moments` gives them
    top_mm: F64  # (bodies + 1,) height of the highest bead

    def at(self, x_mm: float, y_mm: float) -> int:
        """Return the body at a place; 0 where there is none."""
        row = int((y_mm - self.grid.front_mm) / self.grid.cell_mm)
        column = int((x_mm - self.grid.left_mm) / self.grid.cell_mm)
        rows, columns = self.labels.shape
        return int(self.labels[row, column]) if 0 <= row < rows and 0 <= column < columns else 0


def bodies_of(moves: Moves, layers: Layers, roles: U8, number: int) -> Bodies:
    """Separate the bodies of one object, and sum the filament and its moments for each.

    Parameters
    ----------
    moves, layers
        The program's columns.
    roles
        (moves,) the role of each move; hold-down and purge belong to no body.
    number
        Of the object, from 0.
    """
    rows = np.flatnonzero(layers.object == number)
    first, last = int(rows[0]), int(rows[-1]) + 1
    role, columns = read_only(roles), columns_of(c.Moves, moves)
    span = int(layers.first_move[first]), int(layers.first_move[last])
    box = np.array([np.inf, -np.inf, np.inf, -np.inf])
    k.stretch_box(columns, role, *span, box)
    grid, shape = _fitted(box)
    raster = k.Raster(grid.left_mm, grid.front_mm, grid.cell_mm)
    path = np.zeros(shape, np.uint8)
    k.mark_path(columns, role, *span, raster, path)
    labels, count = label_cells(dilated(path))
    sums = k.Sums(np.zeros((count + 1, 4)), np.zeros(count + 1))
    k.add_bodies(columns, role, columns_of(c.Layers, layers), first, last, raster, labels, sums)
    return Bodies(grid, labels, sums.moments, sums.top_mm)


def _fitted(box: F64) -> tuple[Grid, tuple[int, int]]:
    """Return a grid about all the part's beads."""
    if not np.all(np.isfinite(box)):
        return Grid(0.0, 0.0, CELL_MM), (1, 1)
    wide, deep = float(box[1] - box[0]), float(box[3] - box[2])
    cell = max(CELL_MM, (wide * deep / MAX_CELLS) ** 0.5, max(wide, deep) / MAX_CELLS)
    margin = MARGIN_CELLS * cell
    shape = int(deep / cell) + 2 * MARGIN_CELLS + 1, int(wide / cell) + 2 * MARGIN_CELLS + 1
    return Grid(float(box[0]) - margin, float(box[2]) - margin, cell), shape
