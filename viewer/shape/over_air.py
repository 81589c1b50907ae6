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
cover much of it or are about as long as it is; or where it is a narrow channel between two sides that carry. All else is
overhang; the reach beyond the beads below gives the angle. A piece that touches what is held at one narrow
place only, and reaches far from there, is a start too.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Final

import numpy as np
import numpy.typing as npt

from viewer.arrays import F64, U8
from viewer.beads.draw import draw_mask
from viewer.beads.regions import label_cells
from viewer.beads.section import Beads
from viewer.shape.air import AirRegions, find_air
from viewer.shape.carriers import FLAT_MM, further_down, hollows_below, support_near, widened
from viewer.shape.held import channel_widths, is_cantilever
from viewer.shape.kernels import over_air as k
from viewer.shape.kernels import spans as ks
from viewer.shape.kernels.bits import INNER
from viewer.shape.masks import ANY_BIT, SHELL_BIT, LayerMask, MaskBuffers, table_of
from viewer.shape.spots import Box, Bridge, MidAirStart, Overhang

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
SUPPORT_MM: Final = 1.5
"""A line of support carries beads this far beside it: its lines stand up to 3 mm apart (common practice, no source)."""
CLEAR_SHARE: Final = 0.2
"""A piece that touches a wall may lie up to this share over what stands further down beside it."""
INSIDE_SHARE: Final = 0.9
INSIDE_MM2: Final = 20.0
"""An overhang this small of which this share lies over hollows within inner loops is not seen, and harms nothing."""


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
    for beads in (below.beads, *further_down(above, earlier, usual_mm)):
        carriers.append(beads)
        draw_mask(buffers.carried, widened(beads, reach), buffers.grid)
        if k.count_bare(above.mask, SHELL_BIT, buffers.carried) == 0:
            return
    for support in support_near(above, (below, *earlier), usual_mm):
        draw_mask(buffers.carried, widened(support, max(reach, SUPPORT_MM)), buffers.grid)
    if _is_bare(buffers, above, (below, *earlier), usual_mm):
        _sort_regions(buffers, above, Beads.joined(carriers), reach, earlier, to)


def _is_bare(buffers: MaskBuffers, above: LayerMask, below: Sequence[LayerMask], usual_mm: float) -> bool:
    """Mark the cells over air; return whether there are any."""
    buffers.inside.fill(0)
    bare = k.mark_bare(above.mask, SHELL_BIT, buffers.carried, buffers.inside, buffers.air)
    if bare == 0:
        return False
    for _ in hollows_below(buffers, above, below, usual_mm):
        if k.mark_bare(above.mask, SHELL_BIT, buffers.carried, buffers.inside, buffers.air) == 0:
            return False
    return True


def _sort_regions(
    buffers: MaskBuffers,
    above: LayerMask,
    carriers: Beads,
    reach: float,
    earlier: Sequence[LayerMask],
    to: OverAir,
) -> None:
    """Sort the regions over air: bridges, overhangs, and (in a second pass) starts in mid-air."""
    air = find_air(buffers, above.mask)
    spans, bridged = _bridged(air, above, reach)
    widths = channel_widths(air, above, ~bridged, reach)
    channels = widths > 0.0
    for region in _largest(np.where(bridged, spans[:, ks.SPAN], 0.0), 1.0):
        to.bridges.append(_bridge(air, region, spans[region], above))
    for region in _largest(np.where(channels, widths, 0.0), 1.0):
        to.bridges.append(_channel(air, region, float(widths[region]), above))
    hanging = ~(bridged | channels) & ~_is_inside(air)
    to.overhang_mm2[above.number] = float(air.area_mm2[hanging].sum())
    held_little = _add_overhangs(air, hanging, above, carriers, to)
    if held_little:
        deeper = _further_masks(buffers, earlier)
        to.starts += [_start(air, region, above, deeper, is_held=True) for region in held_little]
    if np.any(air.sums[:, k.HELD] == 0.0):
        _add_starts(buffers, above, earlier, to)


def _bridged(air: AirRegions, above: LayerMask, reach: float) -> tuple[F64, npt.NDArray[np.bool_]]:
    """Return the spans of each region, and whether it is a bridge."""
    buffers = air.buffers
    spans = np.zeros((air.runs.count, 5))
    ks.find_spans(
        above.table,
        above.bits == SHELL_BIT,
        buffers.carried,
        reach,
        buffers.air,
        buffers.labels,
        buffers.left_front_cell,
        spans,
    )
    bridged = (spans[:, ks.SPAN] > SPANNED_SHARE * air.side_mm) | (
        spans[:, ks.COVERED] > BRIDGED_SHARE * air.area_mm2
    )
    return spans, bridged


def _is_inside(air: AirRegions) -> npt.NDArray[np.bool_]:
    """Return which regions are small and lie over hollows that inner loops enclose."""
    buffers = air.buffers
    over = (buffers.air != 0) & (buffers.inside == INNER)
    if not np.any(over):
        return np.zeros(air.runs.count, np.bool_)
    cells = np.bincount(buffers.labels[over], minlength=air.runs.count)
    small = air.area_mm2 < INSIDE_MM2
    return np.asarray(small & (cells >= INSIDE_SHARE * air.sums[:, k.AREA]))


def _largest(sizes: F64, least: float) -> list[int]:
    """Return the rows of the largest sizes, none below ``least``, in row order."""
    order = np.argsort(-sizes, kind="stable")[:MAX_SPOTS]
    return sorted(order[sizes[order] >= least].tolist())


def _bridge(air: AirRegions, region: int, spans: F64, above: LayerMask) -> Bridge:
    first, last = air.ends_in(region, above)
    middle = (float(spans[ks.MIDDLE_X] / spans[ks.SPANS]), float(spans[ks.MIDDLE_Y] / spans[ks.SPANS]))
    return Bridge(
        layer=above.number, place_mm=middle, box_mm=air.box_of(region), move=first, last_move=last,
        span_mm=float(spans[ks.SPAN]), area_mm2=float(air.area_mm2[region]),
    )  # fmt: skip


def _channel(air: AirRegions, region: int, width_mm: float, above: LayerMask) -> Bridge:
    first, last = air.ends_in(region, above)
    return Bridge(
        layer=above.number, place_mm=air.place_of(region), box_mm=air.box_of(region), move=first, last_move=last,
        span_mm=width_mm, area_mm2=float(air.area_mm2[region]),
    )  # fmt: skip


def _add_overhangs(
    air: AirRegions, hanging: npt.NDArray[np.bool_], above: LayerMask, carriers: Beads, to: OverAir
) -> list[int]:
    """Add the overhangs; return the regions that are starts in mid-air, since only a narrow place holds them."""
    groups = _grouped(air, hanging)
    held_little: list[int] = []
    if not groups:
        return held_little
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
        if is_cantilever(air, region, above.mask):
            held_little.append(region)
            continue
        first, last = air.ends_in(region, above)
        to.overhangs.append(
            Overhang(
                layer=above.number, place_mm=air.place_of(region), move=first, last_move=last,
                box_mm=(*boxes[:, :2].min(axis=0).tolist(), *boxes[:, 2:].max(axis=0).tolist()),
                area_mm2=float(air.area_mm2[group].sum()), reach_mm=float(reach[region]),
                angle_deg=math.degrees(math.atan2(float(reach[region]), above.thickness_mm)),
            )
        )  # fmt: skip
    return held_little


def _grouped(air: AirRegions, hanging: npt.NDArray[np.bool_]) -> list[npt.NDArray[np.intp]]:
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
    k.mark_bare(above.mask, ANY_BIT, buffers.carried, buffers.inside, buffers.air)
    air = find_air(buffers, above.mask)
    kept = _largest(np.where(air.sums[:, k.HELD] == 0.0, air.area_mm2, 0.0), MIN_MM2)
    kept = [region for region in kept if len(air.beads_in(region, above))]  # else support or infill alone
    if not kept:
        return
    deeper = _further_masks(buffers, earlier)
    for region in kept:
        start = _start(air, region, above, deeper)
        to.starts.append(start)
        to.overhangs = [
            found
            for found in to.overhangs
            if found.layer != start.layer or not _within(found.box_mm, start.box_mm)
        ]


def _further_masks(buffers: MaskBuffers, earlier: Sequence[LayerMask]) -> U8:
    """Return the mask of the layers further down."""
    deeper = np.zeros_like(buffers.air)
    for drawn in earlier:
        draw_mask(deeper, drawn.beads, buffers.grid)
    return deeper


def _start(air: AirRegions, region: int, above: LayerMask, deeper: U8, is_held: bool = False) -> MidAirStart:
    first, last = air.ends_in(region, above)
    own = (air.buffers.air != 0) & (air.buffers.labels == region)
    below = np.count_nonzero(own & (deeper != 0))
    return MidAirStart(
        layer=above.number, place_mm=air.place_of(region), box_mm=air.box_of(region), move=first, last_move=last,
        area_mm2=float(air.area_mm2[region]), is_held=is_held,
        is_clear=bool(below <= (CLEAR_SHARE * np.count_nonzero(own) if is_held else 0.0)),
    )  # fmt: skip


def _within(inner: Box, outer: Box) -> bool:
    slack = FLAT_MM
    low = inner[0] >= outer[0] - slack and inner[1] >= outer[1] - slack
    return low and inner[2] <= outer[2] + slack and inner[3] <= outer[3] + slack
