"""Seconds per mm2 over the plate: where on it the time of moves is spent."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np

from viewer.arrays import F64, columns_of, read_only
from viewer.program import Program
from viewer.why.kernels.spread import Ways, spread_time

CELL_MM: Final = 2.0
MAX_CELLS: Final = 4_000_000


@dataclass(frozen=True, slots=True, eq=False)
class PlateMap:
    """Time of moves over the plate; waits are left out."""

    seconds: F64  # (rows, columns) row 0 lies at `front_mm`
    left_mm: float
    front_mm: float
    cell_mm: float
    beside_s: float
    """Time of moves outside of the map; with `seconds` it adds up to the time of all moves."""

    @property
    def seconds_per_mm2(self) -> F64:
        """Time over the area of a cell: (rows, columns)."""
        return np.asarray(self.seconds / self.cell_mm**2)


def plate_map(program: Program, layer: int | None = None, cell_mm: float = CELL_MM) -> PlateMap:
    """Return where the time of moves is spent.

    Parameters
    ----------
    program
        As it was opened.
    layer
        Number of a layer; None: all moves. The map has the same size for all: the beads' extent.
    cell_mm
        Width of a cell; it is doubled until there are `MAX_CELLS` at most.
    """
    extent = program.totals.extent_all
    if extent is None:
        return PlateMap(np.zeros((0, 0)), 0.0, 0.0, cell_mm, program.timing.moving_s)
    (left, right), (front, back) = extent.x, extent.y
    while (right - left) / cell_mm * (back - front) / cell_mm > MAX_CELLS:
        cell_mm *= 2.0
    left, front = np.floor(left / cell_mm) * cell_mm, np.floor(front / cell_mm) * cell_mm
    grid = np.zeros((int((back - front) / cell_mm) + 1, int((right - left) / cell_mm) + 1))
    whole = slice(0, len(program.moves)) if layer is None else program.layers.moves_of(layer)
    beside = spread_time(
        columns_of(Ways, program.moves), read_only(program.timing.time_s), whole.start, whole.stop,
        float(left), float(front), float(cell_mm), grid,
    )  # fmt: skip
    return PlateMap(read_only(grid), float(left), float(front), cell_mm, float(beside))
