"""Parts printed together, told apart: bodies whose shadows on the plate do not touch.

::

      ___                 seen from above, all layers together:
     |   |
     |   |    _______         [ ]    [       ]      two shadows, two bodies
     |___|___|_______|
      plate                   an arch joins both: one shadow, one body

Each topples for itself. Parts that come nearer than some 1.5 mm to one another count as one.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

import numpy as np
import numpy.typing as npt

from viewer.beads.draw import Grid, draw_mask
from viewer.beads.section import Beads, range_beads
from viewer.layers.layers import HOLD, PURGE, Layers
from viewer.read.moves import BEAD, F64, I32, U8, Moves

CELL_MM: Final = 0.5
MOST_CELLS: Final = 4_000_000
"""A larger plate is drawn coarser."""
MORE_MM: Final = 1.0
"""Beads are drawn so much wider that a single line makes one shadow on cells of `CELL_MM`."""
CHUNK: Final = 500_000
"""Moves that are looked at together: their beads take some 15 MB."""


@dataclass(frozen=True, slots=True, eq=False)
class Bodies:
    """The bodies of one object."""

    grid: Grid
    labels: I32  # (h, w) number of the body whose shadow lies there, from 1
    moments: F64  # (bodies + 1, 4) of m, m x, m y, m z as `viewer.beads.section.add_moments` gives them
    top_mm: F64  # (bodies + 1,) height of the highest bead

    def at(self, x_mm: npt.ArrayLike, y_mm: npt.ArrayLike) -> I32:
        """Give the body at places within the grid; 0 where there is none."""
        rows, columns = self.labels.shape
        row = ((np.asarray(y_mm) - self.grid.front_mm) / self.grid.cell_mm).astype(np.intp).clip(0, rows - 1)
        column = (
            ((np.asarray(x_mm) - self.grid.left_mm) / self.grid.cell_mm).astype(np.intp).clip(0, columns - 1)
        )
        return np.asarray(self.labels[row, column])


def bodies_of(moves: Moves, layers: Layers, roles: U8, number: int, filament_diameter_mm: float) -> Bodies:
    """Tell the bodies of one object apart, and add up the filament and its moments of each.

    Parameters
    ----------
    moves, layers
        The program's columns.
    roles
        (moves,) the role of each move; hold-down and purge belong to no body.
    number
        Of the object, from 0.
    filament_diameter_mm
        Of the filament as fed, for the beads' widths.
    """
    import scipy.ndimage

    rows = np.flatnonzero(layers.object == number)
    span = int(layers.first_move[rows[0]]), int(layers.first_move[rows[-1] + 1])
    grid, shape = _fitted(moves, roles, span)
    mask = np.zeros(shape, np.uint8)
    for beads in _part_beads(moves, layers, roles, span, filament_diameter_mm):
        wide = beads.width_mm + np.float32(MORE_MM)
        draw_mask(
            mask,
            Beads(beads.x0_mm, beads.y0_mm, beads.x1_mm, beads.y1_mm, wide, beads.thickness_mm, beads.move),
            grid,
        )
    labels = np.empty(shape, np.int32)
    count = scipy.ndimage.label(mask, structure=np.ones((3, 3)), output=labels)
    found = Bodies(grid, labels, np.zeros((count + 1, 4)), np.zeros(count + 1))
    for beads in _part_beads(moves, layers, roles, span, filament_diameter_mm):
        _add(found, moves, beads)
    return found


def _part_beads(
    moves: Moves, layers: Layers, roles: U8, span: tuple[int, int], diameter_mm: float
) -> Iterator[Beads]:
    for first in range(span[0], span[1], CHUNK):
        beads = range_beads(moves, layers, first, min(first + CHUNK, span[1]), diameter_mm)
        role = roles[beads.move]
        yield beads.where((role != HOLD) & (role != PURGE))


def _fitted(moves: Moves, roles: U8, span: tuple[int, int]) -> tuple[Grid, tuple[int, int]]:
    """Give a grid about all the part's beads."""
    own = slice(*span)
    rows = span[0] + np.flatnonzero((moves.kind[own] == BEAD) & (roles[own] != HOLD) & (roles[own] != PURGE))
    ends = np.concatenate([np.maximum(rows - 1, 0), rows])
    if not len(ends):
        return Grid(0.0, 0.0, CELL_MM), (1, 1)
    x, y = moves.x_mm[ends], moves.y_mm[ends]
    margin = 4.0 * MORE_MM
    wide, deep = (float(column.max() - column.min()) + 2.0 * margin for column in (x, y))
    cell = max(CELL_MM, (wide * deep / MOST_CELLS) ** 0.5)
    return Grid(float(x.min()) - margin, float(y.min()) - margin, cell), (
        int(deep / cell) + 2,
        int(wide / cell) + 2,
    )


def _add(to: Bodies, moves: Moves, beads: Beads) -> None:
    """Add up beads: each bead's mass sits at its mid-point, half a thickness below the nozzle's path."""
    x, y = (
        0.5 * (a.astype(np.float64) + b) for a, b in ((beads.x0_mm, beads.x1_mm), (beads.y0_mm, beads.y1_mm))
    )
    before = moves.z_mm[np.maximum(beads.move - 1, 0)].astype(np.float64)
    end = moves.z_mm[beads.move].astype(np.float64)
    fed = moves.filament_mm[beads.move].astype(np.float64)
    body = to.at(x, y)
    middle = 0.5 * (before + end) - 0.5 * beads.thickness_mm
    for column, of in enumerate((np.ones(len(x)), x, y, middle)):
        to.moments[:, column] += np.bincount(body, fed * of, len(to.moments))
    np.maximum.at(to.top_mm, body, end)
