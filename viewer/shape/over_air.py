"""What of a layer's part lies over air: overhangs, bridges and starts in mid-air.

::

    held at one side        held at both ends          held nowhere
       ____________         _______________________         ______
      |            |       |                       |       |______|
      |____        |       |___               _____|
           |       |           |             |               air
           |_______|           |             |         ______________
        overhang                   bridge                 start

A region of cells over air is a bridge where beads cross it straight and held at both ends, and these
cover much of it or are about as long as it is. All else is overhang; the reach beyond the beads below gives the angle.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from typing import Final

import numpy as np
import numpy.typing as npt

from viewer.arrays import F64, U8
from viewer.beads.draw import draw_mask
from viewer.beads.regions import Regions, find_regions, label_cells
from viewer.beads.section import Beads
from viewer.shape.kernels import over_air as k
from viewer.shape.kernels import spans as ks
from viewer.shape.masks import ANY_BIT, INFILL_BIT, SHELL_BIT, LayerMask, MaskBuffers, table_of
from viewer.shape.spots import Box, Bridge, MidAirStart, Overhang

FLAT_MM: Final = 0.01
"""Reach below this is rounding of the program's decimals."""
MIN_MM2: Final = 0.2
"""Smaller overhangs are counted, but not kept as places: about a bead wide and long."""
COARSE_MM: Final = 2.0
"""Cell of the grid on which small regions of overhang that touch make one place."""
MAX_SPOTS: Final = 30
"""Places kept of a layer, the largest."""
BRIDGED_SHARE: Final = 0.4
SPANNED_SHARE: Final = 0.6
"""A region is a bridge where held stretches cover the first share of its area, or the longest the second of its
longer side."""
POINTS: Final = 48
"""Number of points of a region at which its reach is measured."""
PAIRS: Final = 1_000_000
"""Distances measured for the regions of a layer, about, at most: many small regions get fewer points each."""
NEAR_LAYERS: Final = 2.0
"""What lies up to this many usual thicknesses below a layer's top carries it."""
SUPPORT_MM: Final = 1.5
"""A line of support carries beads this far beside it: its lines stand up to 3 mm apart (common practice, no source)."""
GAP_MM: Final = 0.5
"""Support up to this far below (or two thicknesses) carries: common practice is a gap of one layer or two."""


@dataclass(slots=True)
class OverAir:
    """What was found over air in some layers."""

    overhang_mm2: dict[int, float] = field(default_factory=dict)  # by layer, from 1
    overhangs: list[Overhang] = field(default_factory=list)
    starts: list[MidAirStart] = field(default_factory=list)
    bridges: list[Bridge] = field(default_factory=list)


def measure_over_air(
    buffers: MaskBuffers,
    above: LayerMask,
    below: LayerMask,
    earlier: Sequence[LayerMask],
    angle_deg: float,
    usual_mm: float,
    to: OverAir,
) -> None:
    """Add to ``to`` what of a layer's part lies over air: overhangs, bridges and starts in mid-air.

    Parameters
    ----------
    buffers
        Both layers are drawn into them.
    above, below
        The layer and the one it rests on.
    earlier
        The layers further down, the nearest first; their masks are overwritten, their beads are used.
    angle_deg
        From upright: what reaches out further is not carried.
    usual_mm
        The usual layer thickness of the object.
    to
        What was found is added here.
    """
    if k.count_bare(above.mask, SHELL_BIT, below.mask) == 0:
        return
    reach = above.thickness_mm * math.tan(math.radians(angle_deg)) + FLAT_MM
    buffers.carried.fill(0)
    carriers: list[Beads] = []
    for beads in (below.beads, *_further_down(above, earlier, usual_mm)):
        carriers.append(beads)
        draw_mask(buffers.carried, widened(beads, reach), buffers.grid)
        if k.count_bare(above.mask, SHELL_BIT, buffers.carried) == 0:
            return
    for support in _support(above, (below, *earlier), usual_mm):
        draw_mask(buffers.carried, widened(support, max(reach, SUPPORT_MM)), buffers.grid)
    if k.mark_bare(above.mask, SHELL_BIT, buffers.carried, below.hollows(buffers), buffers.air) > 0:
        _sort_regions(buffers, above, Beads.joined(carriers), reach, earlier, to)


def _further_down(above: LayerMask, earlier: Sequence[LayerMask], usual_mm: float) -> Iterator[Beads]:
    """Return the beads that carry the layer, of the layers further down than the one below it.

    Parts on one plate may have layers of different heights, the turns of a spiral do not meet at one place, and over a
    slot of one layer's height a bead sinks by that height: what lies within two usual thicknesses carries. Support and
    raft are printed with a gap to the part: of these, what lies within three thicknesses carries.
    """
    for drawn in earlier:
        if drawn.height_mm >= above.height_mm - NEAR_LAYERS * usual_mm - FLAT_MM:
            yield drawn.beads
        else:
            yield from _support(above, (drawn,), usual_mm)


def _support(above: LayerMask, below: Sequence[LayerMask], usual_mm: float) -> Iterator[Beads]:
    """Return the support and raft of the layers that lie near enough to carry."""
    least = above.height_mm - above.thickness_mm - max(GAP_MM, 2.0 * usual_mm) - FLAT_MM
    for drawn in below:
        support = drawn.beads.where(drawn.bits > INFILL_BIT)
        if drawn.height_mm >= least and len(support):
            yield support


def widened(beads: Beads, by_mm: float) -> Beads:
    """Return the same beads, wider by ``by_mm`` on either side."""
    width = beads.width_mm + np.float32(2.0 * by_mm)
    return Beads(beads.x0_mm, beads.y0_mm, beads.x1_mm, beads.y1_mm, width, beads.thickness_mm, beads.move)


@dataclass(slots=True, eq=False)
class _Regions:
    """The regions of a layer over air, measured."""

    runs: Regions
    sums: F64  # (regions, 8)
    place: F64  # (regions, 2) column and row
    buffers: MaskBuffers

    @property
    def area_mm2(self) -> F64:
        return np.asarray(self.sums[:, k.AREA] * self.buffers.grid.cell_mm**2)

    def place_of(self, region: int) -> tuple[float, float]:
        grid = self.buffers.grid
        column, row = self.place[region].tolist()
        return grid.left_mm + (column + 0.5) * grid.cell_mm, grid.front_mm + (row + 0.5) * grid.cell_mm

    def box_of(self, region: int) -> Box:
        grid = self.buffers.grid
        low_x, high_x, low_y, high_y = self.sums[region, k.LOW_X : k.HIGH_Y + 1].tolist()
        return (
            grid.left_mm + low_x * grid.cell_mm,
            grid.front_mm + low_y * grid.cell_mm,
            grid.left_mm + (high_x + 1.0) * grid.cell_mm,
            grid.front_mm + (high_y + 1.0) * grid.cell_mm,
        )

    def beads_in(self, region: int, drawn: LayerMask) -> npt.NDArray[np.intp]:
        """Return the rows of the part's beads whose ends, middle or quarters lie there."""
        table, grid = drawn.table, self.buffers.grid
        rows, columns = self.buffers.air.shape
        hit = np.zeros(len(table), np.bool_)
        for share in (0.0, 0.25, 0.5, 0.75, 1.0):
            at = table[:, 0:2] + share * (table[:, 2:4] - table[:, 0:2])
            i = ((at[:, 1] - grid.front_mm) / grid.cell_mm).astype(np.intp).clip(0, rows - 1)
            j = ((at[:, 0] - grid.left_mm) / grid.cell_mm).astype(np.intp).clip(0, columns - 1)
            hit |= (self.buffers.air[i, j] != 0) & (self.buffers.labels[i, j] == region)
        return np.flatnonzero(hit & (drawn.bits == SHELL_BIT))

    def ends_in(self, region: int, drawn: LayerMask) -> tuple[int, int]:
        """Return the first and last move of the part's beads there, or the one whose footprint is nearest."""
        rows = self.beads_in(region, drawn)
        ends = (rows[0], rows[-1]) if len(rows) else (self._nearest(region, drawn),) * 2
        return int(drawn.beads.move[ends[0]]), int(drawn.beads.move[ends[1]])

    def _nearest(self, region: int, drawn: LayerMask) -> int:
        x, y = self.place_of(region)
        table = drawn.table
        along = table[:, 2:4] - table[:, 0:2]
        square = np.maximum((along**2).sum(axis=1), 1e-12)
        at = (((x, y) - table[:, 0:2]) * along).sum(axis=1) / square
        away = (x, y) - table[:, 0:2] - at.clip(0.0, 1.0)[:, None] * along
        distance = np.hypot(away[:, 0], away[:, 1]) - 0.5 * table[:, 4]
        distance[drawn.bits != SHELL_BIT] = np.inf
        return int(np.argmin(distance))


def _measured(buffers: MaskBuffers, mask: U8) -> _Regions:
    """Find and measure the regions of `MaskBuffers.air`."""
    runs = find_regions(buffers.air, 1, 1)
    sums, place = np.zeros((runs.count, 8)), np.zeros((runs.count, 2))
    k.sum_runs(runs.first, runs.begin, runs.end, runs.label, mask, buffers.carried, buffers.labels, sums)
    k.nearest_cells(runs.first, runs.begin, runs.end, runs.label, sums, np.full(runs.count, np.inf), place)
    return _Regions(runs, sums, place, buffers)


def _sort_regions(
    buffers: MaskBuffers,
    above: LayerMask,
    carriers: Beads,
    reach: float,
    earlier: Sequence[LayerMask],
    to: OverAir,
) -> None:
    """Sort the regions over air: bridges, overhangs, and (in a second pass) starts in mid-air."""
    air = _measured(buffers, above.mask)
    spans = np.zeros((air.runs.count, 5))
    chosen = above.bits == SHELL_BIT
    ks.find_spans(
        above.table,
        chosen,
        buffers.carried,
        reach,
        buffers.air,
        buffers.labels,
        buffers.left_front_cell,
        spans,
    )
    cell = buffers.grid.cell_mm
    side = cell * np.maximum(
        air.sums[:, k.HIGH_X] - air.sums[:, k.LOW_X] + 1.0, air.sums[:, k.HIGH_Y] - air.sums[:, k.LOW_Y] + 1.0
    )
    bridged = (spans[:, ks.SPAN] > SPANNED_SHARE * side) | (
        spans[:, ks.COVERED] > BRIDGED_SHARE * air.area_mm2
    )
    aloft = air.sums[:, k.HELD] == 0.0
    for region in _largest(np.where(bridged, spans[:, ks.SPAN], 0.0), 1.0):
        to.bridges.append(_bridge(air, region, spans[region], above))
    to.overhang_mm2[above.number] = float(air.area_mm2[~bridged].sum())
    _add_overhangs(air, ~bridged, above, carriers, to)
    if np.any(aloft):
        _add_starts(buffers, above, earlier, to)


def _largest(sizes: F64, least: float) -> list[int]:
    """Return the rows of the largest sizes, none below ``least``, in row order."""
    order = np.argsort(-sizes, kind="stable")[:MAX_SPOTS]
    return sorted(order[sizes[order] >= least].tolist())


def _bridge(air: _Regions, region: int, spans: F64, above: LayerMask) -> Bridge:
    first, last = air.ends_in(region, above)
    middle = (float(spans[ks.MIDDLE_X] / spans[ks.SPANS]), float(spans[ks.MIDDLE_Y] / spans[ks.SPANS]))
    return Bridge(
        layer=above.number, place_mm=middle, box_mm=air.box_of(region), move=first, last_move=last,
        span_mm=float(spans[ks.SPAN]), area_mm2=float(air.area_mm2[region]),
    )  # fmt: skip


def _add_overhangs(
    air: _Regions, hanging: npt.NDArray[np.bool_], above: LayerMask, carriers: Beads, to: OverAir
) -> None:
    groups = _grouped(air, hanging)
    if not groups:
        return
    upper = np.ascontiguousarray(above.table[above.bits == SHELL_BIT])
    lower = table_of(carriers)
    points = int(np.clip(PAIRS / (len(groups) * (len(lower) + len(upper))), 4, POINTS))
    stride, reach = np.zeros(air.runs.count, np.int64), np.zeros(air.runs.count)
    kept = np.array([group[0] for group in groups])
    stride[kept] = np.maximum(air.sums[kept, k.AREA] // points, 1)
    runs, numbers = air.runs, air.buffers.left_front_cell
    k.find_reach(runs.first, runs.begin, runs.end, runs.label, stride, numbers, lower, upper, reach)
    for group in groups:
        region = int(group[0])
        boxes = np.array([air.box_of(int(one)) for one in group])
        first, last = air.ends_in(region, above)
        to.overhangs.append(
            Overhang(
                layer=above.number, place_mm=air.place_of(region), move=first, last_move=last,
                box_mm=(*boxes[:, :2].min(axis=0).tolist(), *boxes[:, 2:].max(axis=0).tolist()),
                area_mm2=float(air.area_mm2[group].sum()), reach_mm=float(reach[region]),
                angle_deg=math.degrees(math.atan2(float(reach[region]), above.thickness_mm)),
            )
        )  # fmt: skip


def _grouped(air: _Regions, hanging: npt.NDArray[np.bool_]) -> list[npt.NDArray[np.intp]]:
    """Return the groups of regions that make one place each, the largest places of the layer.

    The first region of a group stands for it. An overhang slightly beyond the angle is a strip narrower than a cell: it
    holds the middle of a cell only here and there. Such small regions count together where they lie within a few
    millimetres of one another.
    """
    area = air.area_mm2
    found = [np.array([region]) for region in np.flatnonzero(hanging & (area >= MIN_MM2))]
    small = np.flatnonzero(hanging & (area < MIN_MM2))
    if len(small) and area[small].sum() >= MIN_MM2:
        at = (air.place[small] * air.buffers.grid.cell_mm / COARSE_MM).astype(np.intp)
        coarse = np.zeros(at.max(axis=0) + 1, np.uint8)
        coarse[at[:, 0], at[:, 1]] = 1
        labels, count = label_cells(coarse)
        owner = labels[at[:, 0], at[:, 1]]
        for number in range(1, count + 1):
            own = small[owner == number]
            middle = air.place[own].mean(axis=0)
            away = np.hypot(*(air.place[own] - middle).T)
            found.append(own[np.argsort(away, kind="stable")])
    sizes = np.array([area[group].sum() for group in found])
    return [found[row] for row in _largest(sizes, MIN_MM2)]


def _add_starts(buffers: MaskBuffers, above: LayerMask, earlier: Sequence[LayerMask], to: OverAir) -> None:
    """Look again, infill included: a region that nothing holds and nothing touches begins in mid-air."""
    k.mark_bare(above.mask, ANY_BIT, buffers.carried, buffers.empty, buffers.air)
    air = _measured(buffers, above.mask)
    alone = np.where(air.sums[:, k.HELD] == 0.0, air.area_mm2, 0.0)
    kept = _largest(alone, MIN_MM2)
    if not kept:
        return
    deeper = np.zeros_like(buffers.air)
    for drawn in earlier:
        draw_mask(deeper, drawn.beads, buffers.grid)
    over = np.unique(buffers.labels[(buffers.air != 0) & (deeper != 0)])
    for region in kept:
        rows = air.beads_in(region, above)
        if not len(rows):
            continue  # support or infill alone
        start = MidAirStart(
            layer=above.number, place_mm=air.place_of(region), box_mm=air.box_of(region),
            move=int(above.beads.move[rows[0]]), last_move=int(above.beads.move[rows[-1]]),
            area_mm2=float(alone[region]), is_clear=region not in over,
        )  # fmt: skip
        to.starts.append(start)
        to.overhangs = [
            found
            for found in to.overhangs
            if found.layer != start.layer or not _within(found.box_mm, start.box_mm)
        ]


def _within(inner: Box, outer: Box) -> bool:
    slack = FLAT_MM
    low = inner[0] >= outer[0] - slack and inner[1] >= outer[1] - slack
    return low and inner[2] <= outer[2] + slack and inner[3] <= outer[3] + slack
