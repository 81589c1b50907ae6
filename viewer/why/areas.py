"""Where two programs lay filament at one height: in both, or in one of them alone."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np

from viewer.arrays import F32, U8, read_only
from viewer.beads.draw import Grid, draw_mask
from viewer.beads.section import Beads
from viewer.program import Program
from viewer.why.compare import height_steps

CELL_MM: Final = 0.1
MAX_CELLS: Final = 6_000_000
IN_A: Final = 1
IN_B: Final = 2


@dataclass(frozen=True, slots=True, eq=False)
class Areas:
    """The plate at one height, in cells."""

    layer: int
    """Of program A, from 1."""
    layers_b: tuple[int, ...]
    """Layers of B of the same height; (): it has none."""
    cells: U8  # (rows, columns) `IN_A`, `IN_B`, both or 0; row 0 lies at `front_mm`
    left_mm: float
    front_mm: float
    cell_mm: float

    def mm2(self, bits: int) -> float:
        """Return the area of all cells that are just so: `IN_A`, `IN_B` or both."""
        return float(np.count_nonzero(self.cells == bits)) * self.cell_mm**2

    @property
    def alike(self) -> bool:
        """Whether both lay filament at the same places."""
        return not bool(np.isin(self.cells, (IN_A, IN_B)).any())


def areas_at(a: Program, b: Program, layer: int, cell_mm: float = CELL_MM) -> Areas:
    """Return where two programs lay filament at the height of a layer.

    Parameters
    ----------
    a, b
        As they were opened.
    layer
        Of A, from 1; of objects printed one after another all layers of its height count.
    cell_mm
        Width of a cell; it is doubled until there are `MAX_CELLS` at most.
    """
    step = height_steps(a)[layer - 1]
    numbers = [tuple((np.flatnonzero(height_steps(program) == step) + 1).tolist()) for program in (a, b)]
    sides = [
        Beads.joined([program.beads_of(number) for number in own])
        for program, own in zip((a, b), numbers, strict=True)
    ]
    return _drawn(layer, numbers[1], sides, cell_mm)


def _drawn(layer: int, layers_b: tuple[int, ...], sides: list[Beads], cell_mm: float) -> Areas:
    both = Beads.joined(sides)
    if not len(both):
        return Areas(layer, layers_b, read_only(np.zeros((0, 0), np.uint8)), 0.0, 0.0, cell_mm)
    half = 0.5 * both.width_mm
    left, right = _reach(both.x0_mm, both.x1_mm, half)
    front, back = _reach(both.y0_mm, both.y1_mm, half)
    while (right - left) / cell_mm * (back - front) / cell_mm > MAX_CELLS:
        cell_mm *= 2.0
    cells = np.zeros((int((back - front) / cell_mm) + 1, int((right - left) / cell_mm) + 1), np.uint8)
    for beads, bit in zip(sides, (IN_A, IN_B), strict=True):
        if len(beads):
            draw_mask(cells, beads, Grid(left, front, cell_mm), bit)
    return Areas(layer, layers_b, read_only(cells), left, front, cell_mm)


def _reach(begins: F32, ends: F32, half: F32) -> tuple[float, float]:
    """Return the lowest and the highest place of beads along one axis."""
    return float((np.minimum(begins, ends) - half).min()), float((np.maximum(begins, ends) + half).max())
