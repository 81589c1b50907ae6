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

# mypy: allow-untyped-calls
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
from viewer.checks.kernels import shape as k
from viewer.checks.masks import ANY_BIT, INFILL_BIT, SHELL_BIT, Desk, Drawn, table_of
from viewer.checks.spots import Box, Bridge, Overhang, Start

FLAT_MM: Final = 0.01
"""Reach below this is rounding of the program's decimals."""
MIN_MM2: Final = 0.2
"""Smaller overhangs are counted, but not kept as places: about a bead wide and long."""
CRUMB_MM: Final = 2.0
"""Grid on which crumbs of overhang that touch make one place."""
MAX_SPOTS: Final = 30
"""Places kept of a layer, the largest."""
BRIDGED_SHARE: Final = 0.4
SPANNED_SHARE: Final = 0.6
"""A region is a bridge where held stretches cover so much of it, or the longest so much of its longer side."""
POINTS: Final = 48
"""At so many points of a region its reach is measured."""
PAIRS: Final = 1_000_000
"""Distances measured for a layer's regions, at most about: many small regions get fewer points each."""
NEAR_LAYERS: Final = 2.0
"""What lies so many usual thicknesses below a layer's top carries it."""
PROP_MM: Final = 1.5
"""A line of support carries beads this far beside it: its lines stand up to 3 mm apart (common practice, no source)."""
GAP_MM: Final = 0.5
"""Support up to this far below (or two thicknesses) carries: common practice is a gap of one layer or two."""


@dataclass(slots=True)
class Air:
    """What was found over air in some layers."""

    overhang_mm2: dict[int, float] = field(default_factory=dict)
    overhangs: list[Overhang] = field(default_factory=list)
    starts: list[Start] = field(default_factory=list)
    bridges: list[Bridge] = field(default_factory=list)


def measure_air(
    desk: Desk,
    above: Drawn,
    below: Drawn,
    earlier: Sequence[Drawn],
    angle_deg: float,
    usual_mm: float,
    to: Air,
) -> None:
    """Add to ``to`` what of a layer's part lies over air: overhangs, bridges and starts in mid-air.

    Parameters
    ----------
    desk
        On which both layers are drawn.
    above, below
        The layer and the one it rests on.
    earlier
        Those before, the nearest first; their masks are gone.
    angle_deg
        From upright.
    usual_mm
        The object's usual thickness.
    """
    if k.count_bare(above.mask, SHELL_BIT, below.mask) == 0:
        return
    reach = above.thickness_mm * math.tan(math.radians(angle_deg)) + FLAT_MM
    desk.wide.fill(0)
    carriers: list[Beads] = []
    for beads in (below.beads, *_further_down(above, earlier, usual_mm)):
        carriers.append(beads)
        draw_mask(desk.wide, widened(beads, reach), desk.sheet.grid)
        if k.count_bare(above.mask, SHELL_BIT, desk.wide) == 0:
            return
    for props in _props(above, (below, *earlier), usual_mm):
        draw_mask(desk.wide, widened(props, max(reach, PROP_MM)), desk.sheet.grid)
    if k.mark_bare(above.mask, SHELL_BIT, desk.wide, below.inner(desk), desk.air) > 0:
        _sort_regions(desk, above, Beads.joined(carriers), reach, earlier, to)


def _further_down(above: Drawn, earlier: Sequence[Drawn], usual_mm: float) -> Iterator[Beads]:
    """Return what carries of the layers below the one below.

    Parts of one plate may have layers of their own heights, a spiral's turns do not meet at one place, and over a slot of
    one layer's height a bead sinks down by as much: what lies within two usual thicknesses carries. Support and
    raft are printed with a gap of air to the part: of these what lies within three thicknesses carries.
    """
    for drawn in earlier:
        if drawn.height_mm >= above.height_mm - NEAR_LAYERS * usual_mm - FLAT_MM:
            yield drawn.beads
        else:
            yield from _props(above, (drawn,), usual_mm)


def _props(above: Drawn, below: Sequence[Drawn], usual_mm: float) -> Iterator[Beads]:
    """Return the support and raft of layers that lie near enough to carry."""
    least = above.height_mm - above.thickness_mm - max(GAP_MM, 2.0 * usual_mm) - FLAT_MM
    for drawn in below:
        props = drawn.beads.where(drawn.bits > INFILL_BIT)
        if drawn.height_mm >= least and len(props):
            yield props


def widened(beads: Beads, by_mm: float) -> Beads:
    """Return the same beads, wider by so much on either side."""
    width = beads.width_mm + np.float32(2.0 * by_mm)
    return Beads(beads.x0_mm, beads.y0_mm, beads.x1_mm, beads.y1_mm, width, beads.thickness_mm, beads.move)


@dataclass(slots=True, eq=False)
class _Regions:
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

    def box_of(self, region: int) -> Box:
        grid = self.desk.sheet.grid
        low_x, high_x, low_y, high_y = self.sums[region, k.LOW_X : k.HIGH_Y + 1].tolist()
        return (
            grid.left_mm + low_x * grid.cell_mm,
            grid.front_mm + low_y * grid.cell_mm,
            grid.left_mm + (high_x + 1.0) * grid.cell_mm,
            grid.front_mm + (high_y + 1.0) * grid.cell_mm,
        )

    def beads_in(self, region: int, drawn: Drawn) -> npt.NDArray[np.intp]:
        """Return the rows of the part's beads whose ends, middle or quarters lie there."""
        table, grid = drawn.table, self.desk.sheet.grid
        rows, columns = self.desk.air.shape
        hit = np.zeros(len(table), np.bool_)
        for share in (0.0, 0.25, 0.5, 0.75, 1.0):
            at = table[:, 0:2] + share * (table[:, 2:4] - table[:, 0:2])
            i = ((at[:, 1] - grid.front_mm) / grid.cell_mm).astype(np.intp).clip(0, rows - 1)
            j = ((at[:, 0] - grid.left_mm) / grid.cell_mm).astype(np.intp).clip(0, columns - 1)
            hit |= (self.desk.air[i, j] != 0) & (self.desk.labels[i, j] == region)
        return np.flatnonzero(hit & (drawn.bits == SHELL_BIT))

    def ends_in(self, region: int, drawn: Drawn) -> tuple[int, int]:
        """Return the first and last move of the part's beads there, or the one whose footprint is nearest."""
        rows = self.beads_in(region, drawn)
        ends = (rows[0], rows[-1]) if len(rows) else (self._nearest(region, drawn),) * 2
        return int(drawn.beads.move[ends[0]]), int(drawn.beads.move[ends[1]])

    def _nearest(self, region: int, drawn: Drawn) -> int:
        x, y = self.place_of(region)
        table = drawn.table
        along = table[:, 2:4] - table[:, 0:2]
        square = np.maximum((along**2).sum(axis=1), 1e-12)
        at = (((x, y) - table[:, 0:2]) * along).sum(axis=1) / square
        away = (x, y) - table[:, 0:2] - at.clip(0.0, 1.0)[:, None] * along
        distance = np.hypot(away[:, 0], away[:, 1]) - 0.5 * table[:, 4]
        distance[drawn.bits != SHELL_BIT] = np.inf
        return int(np.argmin(distance))


def _measured(desk: Desk, mask: U8) -> _Regions:
    """Find and measure the regions of the desk's air."""
    runs = find_regions(desk.air, 1, 1)
    sums, place = np.zeros((runs.count, 8)), np.zeros((runs.count, 2))
    k.sum_runs(runs.first, runs.begin, runs.end, runs.label, mask, desk.wide, desk.labels, sums)
    k.nearest_cells(runs.first, runs.begin, runs.end, runs.label, sums, np.full(runs.count, np.inf), place)
    return _Regions(runs, sums, place, desk)


def _sort_regions(
    desk: Desk, above: Drawn, carriers: Beads, reach: float, earlier: Sequence[Drawn], to: Air
) -> None:
    """Tell the regions over air apart: bridge, overhang, or (with a second look) a start in mid-air."""
    air = _measured(desk, above.mask)
    spans = np.zeros((air.runs.count, 5))
    chosen = above.bits == SHELL_BIT
    k.find_spans(above.table, chosen, desk.wide, reach, desk.air, desk.labels, desk.sheet.numbers, spans)
    cell = desk.sheet.grid.cell_mm
    side = cell * np.maximum(
        air.sums[:, k.HIGH_X] - air.sums[:, k.LOW_X] + 1.0, air.sums[:, k.HIGH_Y] - air.sums[:, k.LOW_Y] + 1.0
    )
    bridged = (spans[:, k.SPAN] > SPANNED_SHARE * side) | (spans[:, k.COVERED] > BRIDGED_SHARE * air.area_mm2)
    aloft = air.sums[:, k.HELD] == 0.0
    for region in _largest(np.where(bridged, spans[:, k.SPAN], 0.0), 1.0):
        to.bridges.append(_bridge(air, region, spans[region], above))
    to.overhang_mm2[above.number] = float(air.area_mm2[~bridged].sum())
    _add_overhangs(air, ~bridged, above, carriers, to)
    if np.any(aloft):
        _add_starts(desk, above, earlier, to)


def _largest(sizes: F64, least: float) -> list[int]:
    """Return the rows of the largest sizes, not below a least one, in row order."""
    order = np.argsort(-sizes, kind="stable")[:MAX_SPOTS]
    return sorted(order[sizes[order] >= least].tolist())


def _bridge(air: _Regions, region: int, spans: F64, above: Drawn) -> Bridge:
    first, last = air.ends_in(region, above)
    middle = (float(spans[k.MIDDLE_X] / spans[k.SPANS]), float(spans[k.MIDDLE_Y] / spans[k.SPANS]))
    return Bridge(
        layer=above.number, place_mm=middle, box_mm=air.box_of(region), move=first, last_move=last,
        span_mm=float(spans[k.SPAN]), area_mm2=float(air.area_mm2[region]),
    )  # fmt: skip


def _add_overhangs(
    air: _Regions, hanging: npt.NDArray[np.bool_], above: Drawn, carriers: Beads, to: Air
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
    runs, numbers = air.runs, air.desk.sheet.numbers
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
    """Return the regions that make one place each, the telling one first, the largest places of the layer.

    An overhang little beyond the angle is a strip narrower than a cell: here and there it holds a cell's middle.
    Such crumbs count together where they lie within some millimetres of one another.
    """
    area = air.area_mm2
    found = [np.array([region]) for region in np.flatnonzero(hanging & (area >= MIN_MM2))]
    crumbs = np.flatnonzero(hanging & (area < MIN_MM2))
    if len(crumbs) and area[crumbs].sum() >= MIN_MM2:
        at = (air.place[crumbs] * air.desk.sheet.grid.cell_mm / CRUMB_MM).astype(np.intp)
        coarse = np.zeros(at.max(axis=0) + 1, np.uint8)
        coarse[at[:, 0], at[:, 1]] = 1
        labels, count = label_cells(coarse)
        owner = labels[at[:, 0], at[:, 1]]
        for number in range(1, count + 1):
            own = crumbs[owner == number]
            middle = air.place[own].mean(axis=0)
            away = np.hypot(*(air.place[own] - middle).T)
            found.append(own[np.argsort(away, kind="stable")])
    sizes = np.array([area[group].sum() for group in found])
    return [found[row] for row in _largest(sizes, MIN_MM2)]


def _add_starts(desk: Desk, above: Drawn, earlier: Sequence[Drawn], to: Air) -> None:
    """Look again with the infill: a region that nothing holds and nothing touches begins in mid-air."""
    k.mark_bare(above.mask, ANY_BIT, desk.wide, desk.nothing, desk.air)
    air = _measured(desk, above.mask)
    alone = np.where(air.sums[:, k.HELD] == 0.0, air.area_mm2, 0.0)
    kept = _largest(alone, MIN_MM2)
    if not kept:
        return
    deeper = np.zeros_like(desk.air)
    for drawn in earlier:
        draw_mask(deeper, drawn.beads, desk.sheet.grid)
    over = np.unique(desk.labels[(desk.air != 0) & (deeper != 0)])
    for region in kept:
        rows = air.beads_in(region, above)
        if not len(rows):
            continue  # support or infill alone
        start = Start(
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
