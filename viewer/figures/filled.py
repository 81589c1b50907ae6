"""How much of the room inside the walls infill covers, in one layer.

::

    ############################      # walls and solid areas, drawn as wide as they lie
    #   /     /     /     /    #      / infill
    #  /     /     /     /     #        room: what # encloses
    ############################      share = covered by infill / room
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np

from viewer.arrays import I32, U8
from viewer.beads.draw import ASLANT_RAD, Grid, draw_mask
from viewer.beads.regions import label_cells
from viewer.beads.section import Beads, layer_beads
from viewer.layers.layers import INFILL, Layers
from viewer.read.moves import Moves

FINE_MM: Final = 0.05
USUAL_CELLS: Final = 4_000_000
"""A layer that would need more cells than this at `FINE_MM` is drawn on coarser ones."""
_CLOSED: Final = 1
_INFILL: Final = 2
_MARGIN_CELLS: Final = 3


@dataclass(frozen=True, slots=True)
class LayerFill:
    """The infill of one layer, seen from above."""

    room_mm2: float  # enclosed by walls and solid areas, where infill lies
    covered_mm2: float  # of the room, by infill

    @property
    def share(self) -> float:
        """Covered over room."""
        return self.covered_mm2 / self.room_mm2


def layer_fill(
    moves: Moves, layers: Layers, roles: U8, number: int, filament_diameter_mm: float
) -> LayerFill | None:
    """Measure how much of the room inside a layer its infill covers.

    Parameters
    ----------
    moves, layers
        The program's columns.
    roles
        (moves,) the role of each move.
    number
        Of the layer, from 1.
    filament_diameter_mm
        Of the filament as fed, for the beads' widths.

    Returns
    -------
    LayerFill or None
        None where it is not known: no infill lies there, or nothing encloses it.
    """
    beads = layer_beads(moves, layers, number, filament_diameter_mm).turned(ASLANT_RAD)
    is_infill = roles[beads.move] == INFILL
    if not is_infill.any() or is_infill.all():
        return None
    grid, shape = _fitted(beads)
    mask = np.zeros(shape, np.uint8)
    draw_mask(mask, beads, grid, np.where(is_infill, np.uint8(_INFILL), np.uint8(_CLOSED)))
    labels, count = label_cells(((mask & _CLOSED) == 0).astype(np.uint8))
    with_infill = np.zeros(count + 1, np.bool_)
    with_infill[_labels_under(labels, beads.where(is_infill), grid)] = True
    with_infill[0] = False
    if with_infill[labels[0, 0]] or not with_infill.any():  # the corner lies outside of everything
        return None
    room = with_infill[labels]
    cell_mm2 = grid.cell_mm**2
    covered = np.count_nonzero(room & ((mask & _INFILL) != 0))
    return LayerFill(float(np.count_nonzero(room)) * cell_mm2, float(covered) * cell_mm2)


def _labels_under(labels: I32, beads: Beads, grid: Grid) -> I32:
    """Return the labels under the middles of beads."""
    row = (0.5 * (beads.y0_mm + beads.y1_mm) - grid.front_mm) / grid.cell_mm
    column = (0.5 * (beads.x0_mm + beads.x1_mm) - grid.left_mm) / grid.cell_mm
    return np.asarray(labels[row.astype(np.intp), column.astype(np.intp)])


def _fitted(beads: Beads) -> tuple[Grid, tuple[int, int]]:
    """Return a grid about all footprints with a margin, and its rows and columns."""
    r = 0.5 * float(beads.width_mm.max())
    x, y = np.concatenate([beads.x0_mm, beads.x1_mm]), np.concatenate([beads.y0_mm, beads.y1_mm])
    low_x, high_x = float(x.min()) - r, float(x.max()) + r
    low_y, high_y = float(y.min()) - r, float(y.max()) + r
    cell = max(FINE_MM, ((high_x - low_x) * (high_y - low_y) / USUAL_CELLS) ** 0.5)
    margin = _MARGIN_CELLS * cell
    shape = int((high_y - low_y + 2.0 * margin) / cell) + 1, int((high_x - low_x + 2.0 * margin) / cell) + 1
    return Grid(low_x - margin, low_y - margin, cell), shape
