"""Layers drawn as masks, two at a time, and which roles count as what.

The footprints of the layer below are drawn wider by t tan(angle): what of a layer's part lies beyond has too little
below it. Widened beads are exact (a bead widened is a bead), so that no rounding to cells makes an overhang where
there is none; the cells only count its area::

    layer   ______________________________
                            |<- counted ->|        45 degrees: the widening is one thickness
    below   ________________|
             part        |<>| t tan(angle)

All material carries, whatever its role: part, infill, support, hold-down. How infill looks does not matter to anybody:
it is drawn as material, but what of it crosses air does not count, nor what lies over the hollows that it encloses.
Closing coasts (`viewer.shape.coasts`) are drawn as beads. Purge is left out.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from typing import Final

import numpy as np
import numpy.typing as npt

from viewer.arrays import F64, U8, read_only
from viewer.beads.draw import Grid, draw_mask
from viewer.beads.regions import find_regions
from viewer.beads.section import Beads, layer_beads
from viewer.layers.layers import HOLD, INFILL, INNER, OUTLINE, PURGE, SOLID, SUPPORT, UNLABELLED, Layers
from viewer.read.moves import BEAD
from viewer.shape.coasts import closing_coasts
from viewer.shape.columns import ShapeColumns
from viewer.shape.kernels import bits as mask_bits
from viewer.shape.kernels import over_air as k
from viewer.shape.spots import Box
from viewer.shape.widths import BeadWidths

SHELL_BIT: Final = mask_bits.SHELL
INFILL_BIT: Final = mask_bits.INFILL
SUPPORT_BIT: Final = mask_bits.SUPPORT
HOLD_BIT: Final = mask_bits.HOLD
OUTLINE_BIT: Final = mask_bits.OUTLINE
ANY_BIT: Final = 255

FINE_MM: Final = 0.1
COARSE_MM: Final = 0.2
KEPT: Final = 4
"""Layers with part whose masks are kept: one is measured on, and the hollows of those below it count."""
USUAL_CELLS: Final = 700_000
"""84 mm square at `FINE_MM`; a larger part is drawn coarser, up to `COARSE_MM`."""
MAX_CELLS: Final = 2_000_000
"""283 mm square at `COARSE_MM`; a larger one is drawn coarser still, so that memory is bounded."""
ODD: Final = 2.0
"""A layer whose beads come out wider or narrower than usual by this factor is drawn with beads of the usual width: its
thickness is not that of its beads (bridges are thicker; parts on one plate may have layers of their own)."""
SMALL_MM2: Final = 40.0
"""Hollows between lines of infill are smaller than this, rooms with a ceiling larger (common practice, no source)."""


@dataclass(frozen=True, slots=True)
class MaskGrid:
    """The grid on which the layers of one object are drawn."""

    grid: Grid
    shape: tuple[int, int]
    """Rows, columns."""

    @property
    def left_front_cell(self) -> F64:
        """(3,) left, front and cell, mm, as the kernels take them."""
        return np.array([self.grid.left_mm, self.grid.front_mm, self.grid.cell_mm])


class MaskBuffers:
    """Arrays for one thread: the masks of some layers and what is measured between them, all of the grid's shape.

    The masks of the last `KEPT` layers that hold part, the newest included, stay as they are; those of layers of support
    alone share one more, so that they push out none.
    """

    def __init__(self, grid: MaskGrid) -> None:
        self.grid = grid.grid
        self.left_front_cell = grid.left_front_cell
        self.masks = [np.zeros(grid.shape, np.uint8) for _ in range(KEPT + 1)]
        self.hollows = [np.zeros(grid.shape, np.uint8) for _ in range(KEPT + 1)]
        self.carried = np.zeros(grid.shape, np.uint8)  # what carries, widened by the allowed reach
        self.air = np.zeros(grid.shape, np.uint8)  # cells of the layer that nothing carries
        self.empty = np.zeros(grid.shape, np.uint8)  # stays 0
        self.inside = np.zeros(grid.shape, np.uint8)  # hollows of all layers that carry
        self.labels = np.empty(grid.shape, np.int32)  # region of each cell of air
        self._newest = 0

    def next_slot(self, has_part: bool) -> int:
        """Return the number of the mask and the hollows for the next layer."""
        if not has_part:
            return KEPT
        self._newest = (self._newest + 1) % KEPT
        return self._newest


@dataclass(slots=True, eq=False)
class LayerMask:
    """One layer, drawn; its mask is overwritten by one of the layers that follow it (`MaskBuffers`)."""

    number: int  # from 1
    thickness_mm: float
    height_mm: float
    beads: Beads
    bits: U8  # (n,) what each bead is drawn as
    loops: npt.NDArray[np.bool_]  # (n,) may be a thin wall
    slot: int  # of its mask and hollows in the buffers
    mask: U8
    small_mm2: float  # hollows below this are taken as infill's
    table: F64 = field(init=False)  # (n, 5) as the kernels take beads
    _hollows: U8 | None = None

    def __post_init__(self) -> None:
        """Lay the beads' columns side by side."""
        self.table = table_of(self.beads)

    @property
    def has_part(self) -> bool:
        """Whether there is more than support and hold-down."""
        return bool(np.any(self.bits <= INFILL_BIT))

    def hollows(self, buffers: MaskBuffers) -> U8:
        """Return the kinds of hollows inside the part (`viewer.shape.kernels.bits`), 0 elsewhere.

        They are found at the first call, which must come before the layer's mask is overwritten.
        """
        if self._hollows is None:
            self._hollows = buffers.hollows[self.slot]
            self._hollows.fill(0)
            runs = find_regions(self.mask, 0, 0)
            least = int(self.small_mm2 / buffers.grid.cell_mm**2)
            facts = np.zeros((runs.count, 5), np.int64)
            k.find_hollows(
                runs.first, runs.begin, runs.end, runs.label, self.mask, least, facts, self._hollows
            )
        return self._hollows


def table_of(beads: Beads) -> F64:
    """Return beads as (n, 5): x0, y0, x1, y1, width, mm."""
    columns = (beads.x0_mm, beads.y0_mm, beads.x1_mm, beads.y1_mm, beads.width_mm)
    return np.ascontiguousarray(np.stack(columns, axis=1), dtype=np.float64)


@dataclass(frozen=True, slots=True, eq=False)
class RoleBits:
    """What the beads of each role are drawn as."""

    bits: U8  # (roles,) what they are; 0: not drawn
    drawn: U8  # (roles,) all bits set in a mask
    loops: npt.NDArray[np.bool_]  # (roles,) may be a thin wall
    small_mm2: float  # hollows below this are taken as infill's


def role_bits(columns: ShapeColumns) -> RoleBits:
    """Return what the beads of each role are drawn as.

    In a program without outline, inner loops and solid beads infill is the part: it may be laid without walls.

    Where roles are inferred from shape, unlabelled beads lie outside of every loop: most of them are support. Infill
    made of closed cells looks like loops there, so that small hollows are taken as infill's.
    """
    bits = np.full(9, SHELL_BIT, np.uint8)
    bits[[INFILL, SUPPORT, HOLD, PURGE]] = (INFILL_BIT, SUPPORT_BIT, HOLD_BIT, 0)
    if not np.any(np.isin(columns.roles[columns.moves.kind == BEAD], (OUTLINE, INNER, SOLID))):
        bits[INFILL] = SHELL_BIT
    loops = np.isin(np.arange(9), (OUTLINE, INNER))
    drawn = bits.copy()
    drawn[OUTLINE] |= OUTLINE_BIT
    if columns.roles_from == "comments":
        loops[UNLABELLED] = True
        drawn[UNLABELLED] |= OUTLINE_BIT  # it may be outline: a hollow that it encloses may be a hole
        return RoleBits(bits, drawn, loops, 0.0)
    bits[UNLABELLED] = drawn[UNLABELLED] = SUPPORT_BIT
    return RoleBits(bits, drawn, loops, SMALL_MM2)


def grids_of_objects(columns: ShapeColumns) -> dict[int, MaskGrid]:
    """Return the grid of each object by its number: it holds the part and its support; hold-down beyond is cut off."""
    layers, moves = columns.layers, columns.moves
    bit = role_bits(columns).bits
    counts = (moves.kind == BEAD) & ((bit[columns.roles] & (SHELL_BIT | INFILL_BIT | SUPPORT_BIT)) != 0)
    found = {}
    for number in range(layers.objects):
        rows = np.flatnonzero(layers.object == number)
        first, last = int(layers.first_move[rows[0]]), int(layers.first_move[rows[-1] + 1])
        own = np.flatnonzero(counts[first:last]) + first
        if len(own):
            ends = np.concatenate([own, np.maximum(own - 1, 0)])
            x, y = moves.x_mm[ends], moves.y_mm[ends]
            found[number] = grid_for((float(x.min()), float(y.min()), float(x.max()), float(y.max())))
    return found


def grid_for(box: Box, margin_mm: float = 2.0) -> MaskGrid:
    """Return a grid that holds a box of centre lines and a margin; a larger box has larger cells."""
    wide, deep = box[2] - box[0] + 2.0 * margin_mm, box[3] - box[1] + 2.0 * margin_mm
    area = wide * deep
    cell = max(FINE_MM, min(COARSE_MM, (area / USUAL_CELLS) ** 0.5), (area / MAX_CELLS) ** 0.5)
    grid = Grid(box[0] - margin_mm, box[1] - margin_mm, cell)
    return MaskGrid(grid, (int(deep / cell) + 1, int(wide / cell) + 1))


def draw_layer(columns: ShapeColumns, buffers: MaskBuffers, number: int, roles: RoleBits) -> LayerMask:
    """Draw layer ``number`` (from 1) into the buffers."""
    beads, role = _material(columns, number)
    if not _is_ramp(columns.layers, number):
        beads = with_usual_width(beads, columns.widths)
    own = roles.bits[role]
    if np.any(own == 0):
        beads, role, own = beads.where(own != 0), role[own != 0], own[own != 0]
    slot = buffers.next_slot(bool(np.any(own <= INFILL_BIT)))
    mask = buffers.masks[slot]
    mask.fill(0)
    draw_mask(mask, beads, buffers.grid, roles.drawn[role])
    thickness = float(columns.layers.thickness_mm[number - 1])
    height = float(columns.layers.height_mm[number - 1])
    return LayerMask(
        number=number, thickness_mm=thickness, height_mm=height, beads=beads, bits=own, loops=roles.loops[role],
        slot=slot, mask=mask, small_mm2=roles.small_mm2,
    )  # fmt: skip


def _material(columns: ShapeColumns, number: int) -> tuple[Beads, U8]:
    """Return the beads of a layer, closing coasts among them, and the role of each."""
    beads = layer_beads(columns.moves, columns.layers, number, columns.drawn_diameter_mm)
    own = columns.layers.moves_of(number)
    coasts, of_bead = closing_coasts(columns.moves, own.start, own.stop)
    if not len(coasts):
        return beads, columns.roles[beads.move]
    x, y = columns.moves.x_mm, columns.moves.y_mm
    like = beads.where(np.searchsorted(beads.move, of_bead))
    added = Beads(
        x[coasts - 1],
        y[coasts - 1],
        x[coasts],
        y[coasts],
        like.width_mm,
        like.thickness_mm,
        coasts.astype(np.int32),
    )
    role = np.concatenate([columns.roles[beads.move], columns.roles[of_bead]])
    joined = Beads.joined([beads, added])
    order = np.argsort(joined.move, kind="stable")
    return joined.where(order), role[order]


def _is_ramp(layers: Layers, number: int) -> bool:
    """Whether beads thin out by design: a spiral's turn, or the level one behind it that closes it."""
    spiral = layers.spiral
    return bool(spiral[number - 1] or (number > 1 and spiral[number - 2]))


def with_usual_width(beads: Beads, widths: BeadWidths) -> Beads:
    """Return a layer's beads, all of them of the usual width where they are odd.

    Where widths come from spacing, single beads are no wider than `ODD` usual ones: what is fed says little there.
    """
    usual = widths.usual_mm
    if is_odd(beads, usual):
        return replace(beads, width_mm=read_only(np.full(len(beads), usual, np.float32)))
    if widths.is_from_spacing:
        return replace(beads, width_mm=read_only(np.minimum(beads.width_mm, np.float32(ODD * usual))))
    return beads


def mean_width_mm(beads: Beads) -> float | None:
    """Return the mean width of beads by length, mm; None where they have no length."""
    length = np.hypot(beads.x1_mm - beads.x0_mm, beads.y1_mm - beads.y0_mm)
    total = float(length.sum(dtype=np.float64))
    return float(np.dot(length, beads.width_mm)) / total if total > 0.0 else None


def is_odd(beads: Beads, usual_mm: float) -> bool:
    """Whether the mean width of a layer's beads differs from the usual one by `ODD` or more."""
    mean = mean_width_mm(beads)
    return mean is not None and not (usual_mm < ODD * mean and mean < ODD * usual_mm)
