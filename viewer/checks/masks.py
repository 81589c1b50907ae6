"""The layers drawn as masks, two at a time, and what each reaches over the one below.

The footprints of the layer below are drawn wider by t tan(angle): what of a layer's part lies beyond has too little
below it. Widened beads are exact (a bead widened is a bead), so that no rounding to cells makes an overhang where
there is none; the cells only count its area::

    layer   ______________________________
                            |<- counted ->|        45 degrees: the widening is one thickness
    below   ________________|
             part        |<>| t tan(angle)

All material carries, whatever its role: part, infill, support, hold-down. Support and rafts are often
printed with a gap of air to the part, so that those of the two layers further down carry too. Infill is looked at by
nobody: it is drawn as material, but what of it crosses air does not count, nor what lies over the hollows
it divides. Purge is left out.
"""

# mypy: allow-untyped-calls
from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Any, Final

import numpy as np
import numpy.typing as npt

from viewer.beads.draw import Grid, draw_mask
from viewer.beads.section import Beads, layer_beads
from viewer.checks import _kernels_shape as k
from viewer.checks.spots import BareWay, Box, Bridge, Overhang, Start
from viewer.checks.subject import Subject
from viewer.layers.layers import HOLD, INFILL, INNER, OUTLINE, PURGE, SUPPORT, UNLABELLED
from viewer.read.moves import BEAD, F32, F64, U8

SHELL_BIT: Final = k.SHELL
INFILL_BIT: Final = k.INFILL
PROP_BIT: Final = 4
HOLD_BIT: Final = 8
ANY_BIT: Final = 255

FINE_MM: Final = 0.1
COARSE_MM: Final = 0.2
USUAL_CELLS: Final = 700_000
"""84 mm square at `FINE_MM`; a larger part is drawn coarser, up to `COARSE_MM`."""
MOST_CELLS: Final = 2_000_000
"""283 mm square at `COARSE_MM`; a larger one is drawn coarser still, so that memory is bounded."""
FLAT_MM: Final = 0.01
"""Reach below this is rounding of the program's decimals."""
LEAST_MM2: Final = 0.2
"""Smaller overhangs are counted, but not kept as places: about a bead wide and long."""
MOST_SPOTS: Final = 30
"""Places kept of a layer, the largest."""
BRIDGED_SHARE: Final = 0.4
SPANNED_SHARE: Final = 0.6
"""A region is a bridge where held stretches cover so much of it, or the longest so much of its longer side."""
POINTS: Final = 48
"""At so many points of a region its reach is measured."""
PAIRS: Final = 1_000_000
"""Distances measured for a layer's regions, at most about: many small regions get fewer points each."""
GAP_MM: Final = 0.5
"""Support up to this far below (or two thicknesses) carries: common practice is a gap of one layer or two."""


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
        self.wide, self.carrying, self.air, self.nothing = (np.zeros(sheet.shape, np.uint8) for _ in range(4))
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
    table: F32 = field(init=False)  # (n, 5) as the kernels take beads
    _inner: U8 | None = None

    def __post_init__(self) -> None:
        """Lay the beads' columns side by side."""
        self.table = table_of(self.beads)

    def inner(self, desk: Desk) -> U8:
        """Give the hollows that infill divides (drawn when first asked for)."""
        if self._inner is None:
            self._inner = desk.inners[self.number % 2]
            self._inner.fill(0)
            if np.any(self.bits == INFILL_BIT):
                runs = find_regions(self.mask, 0, 0)
                facts = np.zeros((runs.count, 2), np.int32)
                k.find_inner(runs.first, runs.begin, runs.end, runs.label, self.mask, facts, self._inner)
        return self._inner


def table_of(beads: Beads) -> F32:
    """Give beads as (n, 5): x0, y0, x1, y1, width, mm."""
    columns = (beads.x0_mm, beads.y0_mm, beads.x1_mm, beads.y1_mm, beads.width_mm)
    return np.ascontiguousarray(np.stack(columns, axis=1))


@dataclass(frozen=True, slots=True, eq=False)
class Regions:
    """Cells that touch, as runs in rows."""

    first: npt.NDArray[np.int32]  # (rows + 1,)
    begin: npt.NDArray[np.int32]  # (runs,)
    end: npt.NDArray[np.int32]  # (runs,)
    label: npt.NDArray[np.int32]  # (runs,)
    count: int


def find_regions(grid: U8, wanted: int, reach: int) -> Regions:
    """Give the regions of cells that are set (``wanted`` 1) or not (0); ``reach`` 1 joins at corners too."""
    room = int(k.count_runs(grid, wanted))
    first = np.empty(grid.shape[0] + 1, np.int32)
    begin, end, label = (np.empty(room, np.int32) for _ in range(3))
    count = int(k.label_runs(grid, wanted, reach, first, begin, end, label))
    return Regions(first, begin, end, label, count)


def role_bits(subject: Subject) -> tuple[U8, npt.NDArray[np.bool_]]:
    """Give for each role its bit, and whether it is a loop that may be a thin wall.

    Where roles come from shape, what is unlabelled lies outside of every loop: most of it is support.
    """
    bits = np.full(9, SHELL_BIT, np.uint8)
    bits[[INFILL, SUPPORT, HOLD, PURGE]] = (INFILL_BIT, PROP_BIT, HOLD_BIT, 0)
    loops = np.isin(np.arange(9), (OUTLINE, INNER))
    if subject.roles_from == "comments":
        loops[UNLABELLED] = True
    else:
        bits[UNLABELLED] = PROP_BIT
    return bits, loops


def sheets(subject: Subject) -> dict[int, Sheet]:
    """Give each object's grid: it holds the part and its support; hold-down beyond is cut off."""
    layers, moves = subject.layers, subject.moves
    bits, _ = role_bits(subject)
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
    """Give a grid that holds a box of centre lines and a margin; its cells grow with it."""
    wide, deep = box[2] - box[0] + 2.0 * margin_mm, box[3] - box[1] + 2.0 * margin_mm
    area = wide * deep
    cell = max(FINE_MM, min(COARSE_MM, (area / USUAL_CELLS) ** 0.5), (area / MOST_CELLS) ** 0.5)
    grid = Grid(box[0] - margin_mm, box[1] - margin_mm, cell)
    return Sheet(grid, (int(deep / cell) + 1, int(wide / cell) + 1))


def draw_layer(subject: Subject, desk: Desk, number: int, bits: U8, loops: npt.NDArray[np.bool_]) -> Drawn:
    """Draw layer ``number`` (from 1) on the desk."""
    beads = layer_beads(subject.moves, subject.layers, number, subject.filament_diameter_mm)
    role = subject.roles[beads.move]
    own = bits[role]
    if np.any(own == 0):
        beads, role, own = beads.where(own != 0), role[own != 0], own[own != 0]
    mask = desk.masks[number % 2]
    mask.fill(0)
    draw_mask(mask, beads, desk.sheet.grid, own)
    thickness = float(subject.layers.thickness_mm[number - 1])
    height = float(subject.layers.height_mm[number - 1])
    return Drawn(number, thickness, height, beads, own, loops[role], mask)


@dataclass(slots=True)
class Found:
    """What was found in some layers."""

    overhang_mm2: dict[int, float] = field(default_factory=dict)
    overhangs: list[Overhang] = field(default_factory=list)
    starts: list[Start] = field(default_factory=list)
    bridges: list[Bridge] = field(default_factory=list)


def measure_air(
    desk: Desk, above: Drawn, below: Drawn, earlier: Sequence[Drawn], angle_deg: float, to: Found
) -> None:
    """Add to ``to`` what of a layer's part lies over air: overhangs, bridges and starts in mid-air.

    Parameters
    ----------
    desk
        On which both layers are drawn.
    above, below
        The layer and the one it rests on.
    earlier
        The two before; their masks are gone.
    angle_deg
        From upright.
    """
    if k.count_bare(above.mask, SHELL_BIT, below.mask) == 0:
        return
    bottom = above.height_mm - above.thickness_mm
    near = bottom - max(GAP_MM, 2.0 * above.thickness_mm) - FLAT_MM
    props = [drawn.beads.where(drawn.bits > INFILL_BIT) for drawn in earlier if drawn.height_mm >= near]
    carriers = [below.beads, *(beads for beads in props if len(beads))]
    reach = above.thickness_mm * math.tan(math.radians(angle_deg)) + FLAT_MM
    desk.wide.fill(0)
    for beads in carriers:
        draw_mask(desk.wide, widened(beads, reach), desk.sheet.grid)
    if k.count_bare(above.mask, SHELL_BIT, desk.wide) == 0:
        return
    if k.mark_bare(above.mask, SHELL_BIT, desk.wide, below.inner(desk), desk.air) == 0:
        return
    np.copyto(desk.carrying, below.mask)
    for beads in carriers[1:]:
        draw_mask(desk.carrying, beads, desk.sheet.grid, PROP_BIT)
    _sort_regions(desk, above, Beads.joined(carriers), earlier, to)


def widened(beads: Beads, by_mm: float) -> Beads:
    """Give the same beads, wider by so much on either side."""
    width = beads.width_mm + np.float32(2.0 * by_mm)
    return Beads(beads.x0_mm, beads.y0_mm, beads.x1_mm, beads.y1_mm, width, beads.thickness_mm, beads.move)


@dataclass(slots=True, eq=False)
class _Air:
    """The regions of a layer over air, measured."""

    runs: Regions
    sums: F64  # (regions, 8)
    place: F64  # (regions, 2) column and row
    desk: Desk

    @property
    def area_mm2(self) -> F64:
        return np.asarray(self.sums[:, k.AREA] * self.desk.sheet.grid.cell_mm**2)

    def place_of(self, region: int) -> tuple[float, float]:
        grid = self.desk.sheet.grid
        column, row = self.place[region].tolist()
        return grid.left_mm + (column + 0.5) * grid.cell_mm, grid.front_mm + (row + 0.5) * grid.cell_mm

    def centre_of(self, region: int) -> tuple[float, float]:
        grid, sums = self.desk.sheet.grid, self.sums[region]
        x, y = sums[k.SUM_X] / sums[k.AREA], sums[k.SUM_Y] / sums[k.AREA]
        return float(grid.left_mm + (x + 0.5) * grid.cell_mm), float(grid.front_mm + (y + 0.5) * grid.cell_mm)

    def box_of(self, region: int) -> Box:
        grid = self.desk.sheet.grid
        low_x, high_x, low_y, high_y = self.sums[region, k.LOW_X : k.HIGH_Y + 1].tolist()
        return (
            grid.left_mm + low_x * grid.cell_mm,
            grid.front_mm + low_y * grid.cell_mm,
            grid.left_mm + (high_x + 1.0) * grid.cell_mm,
            grid.front_mm + (high_y + 1.0) * grid.cell_mm,
        )

    def beads_in(self, region: int, drawn: Drawn) -> tuple[int, int]:
        """Give the first and last move of the beads whose middle or ends lie there, or else that is nearest."""
        table, grid = drawn.table, self.desk.sheet.grid
        hit = np.zeros(len(table), np.bool_)
        for share in (0.0, 0.25, 0.5, 0.75, 1.0):
            at = table[:, 0:2] + np.float32(share) * (table[:, 2:4] - table[:, 0:2])
            i = (
                ((at[:, 1] - grid.front_mm) / grid.cell_mm)
                .astype(np.intp)
                .clip(0, self.desk.air.shape[0] - 1)
            )
            j = ((at[:, 0] - grid.left_mm) / grid.cell_mm).astype(np.intp).clip(0, self.desk.air.shape[1] - 1)
            hit |= (self.desk.air[i, j] != 0) & (self.desk.labels[i, j] == region)
        rows = np.flatnonzero(hit & (drawn.bits == SHELL_BIT))
        if not len(rows):
            rows = np.array([self._nearest(region, drawn)])
        return int(drawn.beads.move[rows[0]]), int(drawn.beads.move[rows[-1]])

    def _nearest(self, region: int, drawn: Drawn) -> int:
        x, y = self.place_of(region)
        table = drawn.table.astype(np.float64)
        along = table[:, 2:4] - table[:, 0:2]
        square = np.maximum((along**2).sum(axis=1), 1e-12)
        at = (((x, y) - table[:, 0:2]) * along).sum(axis=1) / square
        away = (x, y) - table[:, 0:2] - at.clip(0.0, 1.0)[:, None] * along
        distance = np.hypot(away[:, 0], away[:, 1]) - 0.5 * table[:, 4]
        distance[drawn.bits != SHELL_BIT] = np.inf
        return int(np.argmin(distance))


def _measured(desk: Desk, mask: U8) -> _Air:
    """Find and measure the regions of the desk's air."""
    runs = find_regions(desk.air, 1, 1)
    sums, place = np.zeros((runs.count, 8)), np.zeros((runs.count, 2))
    k.sum_runs(runs.first, runs.begin, runs.end, runs.label, mask, desk.wide, desk.labels, sums)
    k.nearest_cells(runs.first, runs.begin, runs.end, runs.label, sums, place)
    return _Air(runs, sums, place, desk)


def _sort_regions(desk: Desk, above: Drawn, carriers: Beads, earlier: Sequence[Drawn], to: Found) -> None:
    """Tell the regions over air apart: bridge, overhang, or (with a second look) a start in mid-air."""
    air = _measured(desk, above.mask)
    spans, widest = np.zeros((air.runs.count, 5)), np.zeros(air.runs.count, np.int64)
    chosen = above.bits == SHELL_BIT
    k.find_spans(above.table, chosen, desk.carrying, desk.air, desk.labels, desk.sheet.numbers, spans, widest)
    cell = desk.sheet.grid.cell_mm
    side = cell * np.maximum(
        air.sums[:, k.HIGH_X] - air.sums[:, k.LOW_X] + 1.0, air.sums[:, k.HIGH_Y] - air.sums[:, k.LOW_Y] + 1.0
    )
    bridged = (spans[:, k.SPAN] > SPANNED_SHARE * side) | (spans[:, k.COVERED] > BRIDGED_SHARE * air.area_mm2)
    aloft = air.sums[:, k.HELD] == 0.0
    hanging = ~bridged & ~aloft
    for region in _largest(np.where(bridged & ~aloft, spans[:, k.SPAN], 0.0), 1.0):
        to.bridges.append(_bridge(air, region, spans[region], above, widest))
    to.overhang_mm2[above.number] = float(air.area_mm2[hanging | aloft].sum())
    _add_overhangs(air, hanging, above, carriers, to)
    if np.any(aloft):
        _add_starts(desk, above, earlier, to)


def _largest(sizes: F64, least: float) -> list[int]:
    """Give the rows of the largest sizes, not below a least one, in row order."""
    order = np.argsort(-sizes, kind="stable")[:MOST_SPOTS]
    return sorted(order[sizes[order] >= least].tolist())


def _bridge(air: _Air, region: int, spans: F64, above: Drawn, widest: npt.NDArray[np.int64]) -> Bridge:
    first, last = air.beads_in(region, above)
    middle = (float(spans[k.MIDDLE_X] / spans[k.SPANS]), float(spans[k.MIDDLE_Y] / spans[k.SPANS]))
    return Bridge(
        layer=above.number, place_mm=middle, box_mm=air.box_of(region), move=first, last_move=last,
        span_mm=float(spans[k.SPAN]), area_mm2=float(air.area_mm2[region]),
    )  # fmt: skip


def _add_overhangs(
    air: _Air, hanging: npt.NDArray[np.bool_], above: Drawn, carriers: Beads, to: Found
) -> None:
    kept = _largest(np.where(hanging, air.area_mm2, 0.0), LEAST_MM2)
    if not kept:
        return
    upper = np.ascontiguousarray(above.table[above.bits == SHELL_BIT])
    lower = table_of(carriers)
    points = int(np.clip(PAIRS / (len(kept) * (len(lower) + len(upper))), 4, POINTS))
    stride, reach = np.zeros(air.runs.count, np.int64), np.zeros(air.runs.count)
    stride[kept] = np.maximum(air.sums[kept, k.AREA] // points, 1)
    runs, numbers = air.runs, air.desk.sheet.numbers
    k.find_reach(runs.first, runs.begin, runs.end, runs.label, stride, numbers, lower, upper, reach)
    for region in kept:
        first, last = air.beads_in(region, above)
        to.overhangs.append(
            Overhang(
                layer=above.number, place_mm=air.place_of(region), box_mm=air.box_of(region), move=first,
                last_move=last, area_mm2=float(air.area_mm2[region]), reach_mm=float(reach[region]),
                angle_deg=math.degrees(math.atan2(float(reach[region]), above.thickness_mm)),
            )
        )  # fmt: skip


def _add_starts(desk: Desk, above: Drawn, earlier: Sequence[Drawn], to: Found) -> None:
    """Look again with the infill: a region that nothing holds and nothing touches begins in mid-air."""
    k.mark_bare(above.mask, ANY_BIT, desk.wide, desk.nothing, desk.air)
    air = _measured(desk, above.mask)
    alone = np.where(air.sums[:, k.HELD] == 0.0, air.area_mm2, 0.0)
    kept = _largest(alone, LEAST_MM2)
    if not kept:
        return
    desk.carrying.fill(0)
    for drawn in earlier:
        draw_mask(desk.carrying, drawn.beads, desk.sheet.grid)
    over = np.unique(desk.labels[(desk.air != 0) & (desk.carrying != 0)])
    for region in kept:
        first, last = air.beads_in(region, above)
        to.starts.append(
            Start(
                layer=above.number, place_mm=air.centre_of(region), box_mm=air.box_of(region), move=first,
                last_move=last, area_mm2=float(alone[region]), is_clear=region not in over,
            )
        )  # fmt: skip
