"""Which beads can be seen at all from outside, and which ones stand for all of them while the part is turned."""

# mypy: allow-untyped-calls
from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from viewer.arrays import I32, U8, freeze
from viewer.layers.layers import Layers
from viewer.part.kernels import air
from viewer.part.order import Grouped, grouped
from viewer.part.solid import Part

MOST_CELLS: Final = 24_000_000
"""One byte each; larger parts get larger cells."""
SIDE_SHARE: Final = 0.45
"""Side of a cell for a bead's median width: two cells across, so that beads side by side leave none free."""
RIM: Final = 2
QUICK_BEADS: Final = 250_000
"""So many beads are drawn within a frame while the part is turned."""


def visible_rows(part: Part) -> I32:
    """Return the rows, ascending, of the beads that the air about the part comes to; no other can be seen from outside.

    Where the whole part is shown, that is: a cut opens it.
    """
    if not len(part):
        return part.rows
    cells = _cells(part)
    marks: U8 = np.zeros(cells.columns * cells.rows * cells.levels, np.uint8)
    columns = part.columns
    air.mark_solid(columns, cells, marks)
    air.let_air_in(cells, marks)
    seen: U8 = np.empty(len(part), np.uint8)
    air.touched_by_air(columns, cells, marks, seen)
    rows = np.flatnonzero(seen).astype(np.int32)
    freeze(rows)
    return rows


def _cells(part: Part) -> air.Cells:
    """Return cells about all beads, small enough for a bead and not too many."""
    sides = [high - low for low, high in zip(part.lowest, part.highest, strict=True)]
    side = max(SIDE_SHARE * float(np.median(part.width_mm)), 0.02)
    height = max(float(np.median(part.thickness_mm)), 0.02)
    growth = 1.0
    while True:
        counts = [
            int(one / (size * growth)) + 1 + 2 * RIM
            for one, size in zip(sides, (side, side, height), strict=True)
        ]
        if counts[0] * counts[1] * counts[2] <= MOST_CELLS:
            break
        growth *= 1.1
    side, height = side * growth, height * growth
    left, front, bottom = part.lowest
    return air.Cells(
        left - RIM * side,
        front - RIM * side,
        bottom - RIM * height,
        side,
        height,
        counts[0],
        counts[1],
        counts[2],
    )


@dataclass(frozen=True, slots=True, eq=False)
class Quick:
    """What is drawn while the part is turned."""

    part: Part
    """The same beads; thicker ones where each stands for several layers."""
    rows: Grouped
    every: int
    """One of so many layers is drawn."""


def quick_of(part: Part, layers: Layers, rows: I32, most: int = QUICK_BEADS) -> Quick:
    """Return at most about ``most`` of some beads: every second, third ... layer, as thick as those it stands for."""
    every = -(-len(rows) // most) if len(rows) else 1
    if every <= 1:
        return Quick(part, grouped(part, rows), 1)
    numbers = layers.of_moves(part.end[rows])
    chosen = np.ascontiguousarray(rows[(len(layers) - numbers) % every == 0])
    above = part.z_mm[part.end] - np.float32(
        part.lowest[2]
    )  # what lies on the plate must not reach through it
    thickness = np.minimum(part.thickness_mm * np.float32(every), np.maximum(above, part.thickness_mm))
    freeze(chosen, thickness)
    return Quick(replace(part, thickness_mm=thickness), grouped(part, chosen), every)
