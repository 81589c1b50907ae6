"""The layers drawn as masks, two at a time, and what each reaches over the one below.

The footprints of the layer below are drawn wider by t tan(angle): what of a layer's part lies beyond has too little
below it. Widened beads are exact (a bead widened is a bead), so that no rounding to cells makes an overhang where
there is none; the cells only count its area::

    layer   ______________________________
                            |<- counted ->|        45 degrees: the widening is one thickness
    below   ________________|
             part        |<>| t tan(angle)

All material carries, whatever its role: part, infill, support, hold-down. Infill is looked at by
nobody: it is drawn as material, but what of it crosses air does not count, nor what lies over the hollows
it divides. Purge is left out.
"""

# mypy: allow-untyped-calls
from __future__ import annotations

from dataclasses import dataclass, field
from typing import Final

import numpy as np
import numpy.typing as npt

from viewer.arrays import F64, U8
from viewer.beads.draw import Grid, draw_mask
from viewer.beads.regions import find_regions
from viewer.beads.section import Beads, layer_beads
from viewer.checks.kernels import shape as k
from viewer.checks.spots import Box
from viewer.checks.subject import Subject
from viewer.layers.layers import HOLD, INFILL, INNER, OUTLINE, PURGE, SUPPORT, UNLABELLED
from viewer.read.moves import BEAD

SHELL_BIT: Final = k.SHELL
INFILL_BIT: Final = k.INFILL
PROP_BIT: Final = 4
HOLD_BIT: Final = 8
ANY_BIT: Final = 255

FINE_MM: Final = 0.1
COARSE_MM: Final = 0.2
USUAL_CELLS: Final = 700_000
"""84 mm square at `FINE_MM`; a larger part is drawn coarser, up to `COARSE_MM`."""
MAX_CELLS: Final = 2_000_000
"""283 mm square at `COARSE_MM`; a larger one is drawn coarser still, so that memory is bounded."""
MIN_WIDTH: Final = 0.8
MAX_WIDTH: Final = 2.0
"""Nozzle diameters: widths of beads beyond these are doubtful."""
SMALL_MM2: Final = 40.0
"""Cells of infill are smaller than this, rooms with a ceiling larger (common practice, no source)."""


@dataclass(frozen=True, slots=True)
class Sheet:
    """The grid on which one object's layers are drawn."""

    grid: Grid
    shape: tuple[int, int]

    @property
    def numbers(self) -> F64:
        """Left, front and cell, mm, as the kernels take them."""
        return np.array([self.grid.left_mm, self.grid.front_mm, self.grid.cell_mm])


class Desk:
    """Room for one thread: the masks of two layers and what is measured between them."""

    def __init__(self, sheet: Sheet) -> None:
        self.sheet = sheet
        self.masks = [np.zeros(sheet.shape, np.uint8) for _ in range(2)]
        self.inners = [np.zeros(sheet.shape, np.uint8) for _ in range(2)]
        self.wide, self.air, self.nothing = (np.zeros(sheet.shape, np.uint8) for _ in range(3))
        self.labels = np.empty(sheet.shape, np.int32)


@dataclass(slots=True, eq=False)
class Drawn:
    """One layer on a desk; its mask lasts until the next but one is drawn there."""

    number: int
    thickness_mm: float
    height_mm: float
    beads: Beads
    bits: U8  # (n,)
    loops: npt.NDArray[np.bool_]  # (n,) outline and inner loop, and part without a label
    mask: U8
    small_mm2: float  # hollows below this are taken as infill's
    is_doubtful: bool  # beads that the printer's nozzle would not lay: thickness or filament is not as taken
    table: F64 = field(init=False)  # (n, 5) as the kernels take beads
    _inner: U8 | None = None

    def __post_init__(self) -> None:
        """Lay the beads' columns side by side."""
        self.table = table_of(self.beads)

    def inner(self, desk: Desk) -> U8:
        """Return the hollows that infill divides (drawn when first asked for)."""
        if self._inner is None:
            self._inner = desk.inners[self.number % 2]
            self._inner.fill(0)
            least = int(self.small_mm2 / desk.sheet.grid.cell_mm**2)
            if least > 0 or np.any(self.bits == INFILL_BIT):
                runs = find_regions(self.mask, 0, 0)
                facts = np.zeros((runs.count, 3), np.int64)
                k.find_inner(
                    runs.first, runs.begin, runs.end, runs.label, self.mask, least, facts, self._inner
                )
        return self._inner


def table_of(beads: Beads) -> F64:
    """Return beads as (n, 5): x0, y0, x1, y1, width, mm."""
    columns = (beads.x0_mm, beads.y0_mm, beads.x1_mm, beads.y1_mm, beads.width_mm)
    return np.ascontiguousarray(np.stack(columns, axis=1), dtype=np.float64)


@dataclass(frozen=True, slots=True, eq=False)
class Reading:
    """How roles are taken."""

    bits: U8  # (roles,)
    loops: npt.NDArray[np.bool_]  # (roles,) may be a thin wall
    small_mm2: float  # hollows below this are taken as infill's


def read_roles(subject: Subject) -> Reading:
    """Return what each role is taken for.

    Where roles come from shape, what is unlabelled lies outside of every loop: most of it is support. Infill made
    of closed cells looks like loops there, so that small hollows are taken as infill's.
    """
    bits = np.full(9, SHELL_BIT, np.uint8)
    bits[[INFILL, SUPPORT, HOLD, PURGE]] = (INFILL_BIT, PROP_BIT, HOLD_BIT, 0)
    loops = np.isin(np.arange(9), (OUTLINE, INNER))
    if subject.roles_from == "comments":
        loops[UNLABELLED] = True
        return Reading(bits, loops, 0.0)
    bits[UNLABELLED] = PROP_BIT
    return Reading(bits, loops, SMALL_MM2)


def sheets(subject: Subject) -> dict[int, Sheet]:
    """Return each object's grid: it holds the part and its support; hold-down beyond is cut off."""
    layers, moves = subject.layers, subject.moves
    bits = read_roles(subject).bits
    counts = (moves.kind == BEAD) & ((bits[subject.roles] & (SHELL_BIT | INFILL_BIT | PROP_BIT)) != 0)
    found = {}
    for number in range(layers.objects):
        rows = np.flatnonzero(layers.object == number)
        first, last = int(layers.first_move[rows[0]]), int(layers.first_move[rows[-1] + 1])
        own = np.flatnonzero(counts[first:last]) + first
        if len(own):
            ends = np.concatenate([own, np.maximum(own - 1, 0)])
            x, y = moves.x_mm[ends], moves.y_mm[ends]
            found[number] = fitted((float(x.min()), float(y.min()), float(x.max()), float(y.max())))
    return found


def fitted(box: Box, margin_mm: float = 2.0) -> Sheet:
    """Return a grid that holds a box of centre lines and a margin; its cells grow with it."""
    wide, deep = box[2] - box[0] + 2.0 * margin_mm, box[3] - box[1] + 2.0 * margin_mm
    area = wide * deep
    cell = max(FINE_MM, min(COARSE_MM, (area / USUAL_CELLS) ** 0.5), (area / MAX_CELLS) ** 0.5)
    grid = Grid(box[0] - margin_mm, box[1] - margin_mm, cell)
    return Sheet(grid, (int(deep / cell) + 1, int(wide / cell) + 1))


def draw_layer(subject: Subject, desk: Desk, number: int, reading: Reading) -> Drawn:
    """Draw layer ``number`` (from 1) on the desk."""
    beads = layer_beads(subject.moves, subject.layers, number, subject.filament_diameter_mm)
    role = subject.roles[beads.move]
    own = reading.bits[role]
    if np.any(own == 0):
        beads, role, own = beads.where(own != 0), role[own != 0], own[own != 0]
    mask = desk.masks[number % 2]
    mask.fill(0)
    draw_mask(mask, beads, desk.sheet.grid, own)
    thickness = float(subject.layers.thickness_mm[number - 1])
    height = float(subject.layers.height_mm[number - 1])
    return Drawn(
        number, thickness, height, beads, own, reading.loops[role], mask, reading.small_mm2,
        is_doubtful(beads, subject.printer.nozzle_mm) and not _is_ramp(subject, number),
    )  # fmt: skip


def _is_ramp(subject: Subject, number: int) -> bool:
    """Whether beads thin out by design: a spiral's turn, or the level one behind it that closes it."""
    spiral = subject.layers.spiral
    return bool(spiral[number - 1] or (number > 1 and spiral[number - 2]))


def is_doubtful(beads: Beads, nozzle_mm: float) -> bool:
    """Whether the beads' mean width is none that a nozzle lays: below 0.8 or above 2 diameters, or below the thickness.

    Then the filament is not as thick as the card says, or the layer's thickness is not its beads' (parts on
    one plate with layers of their own), and no footprint is right. Common practice, no source.
    """
    length = np.hypot(beads.x1_mm - beads.x0_mm, beads.y1_mm - beads.y0_mm)
    total = float(length.sum(dtype=np.float64))
    if total <= 0.0:
        return False
    mean = float(np.dot(length, beads.width_mm)) / total
    thickness = float(np.dot(length, beads.thickness_mm)) / total
    return mean < thickness or not MIN_WIDTH * nozzle_mm <= mean <= MAX_WIDTH * nozzle_mm
