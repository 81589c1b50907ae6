"""The walk over all layers: each layer is drawn once, and everything is measured on it.

Ranges of some dozens of layers are handed to two threads; the kernels run without the interpreter's lock. A range
begins by drawing the few layers before its first one.
"""

from __future__ import annotations

import threading
from collections.abc import Callable, Iterator
from concurrent.futures import FIRST_COMPLETED, Future, ThreadPoolExecutor, wait
from dataclasses import dataclass, field
from typing import Final

import numpy as np

from viewer.errors import Stopped
from viewer.shape.carriers import plate_reach_mm
from viewer.shape.columns import ShapeColumns
from viewer.shape.masks import (
    LayerMask,
    MaskBuffers,
    MaskGrid,
    RoleBits,
    draw_layer,
    grids_of_objects,
    role_bits,
)
from viewer.shape.over_air import OverAir, measure_over_air
from viewer.shape.spots import BareTravel, ShapeFigures, ThinPlace
from viewer.shape.thickness import measure_thin
from viewer.shape.travel import measure_travel

USUAL_ANGLE_DEG: Final = 45.0
RANGE_LAYERS: Final = 40
"""Layers handed to a thread at once; up to `EARLIER` + 1 more are drawn to begin with."""
EARLIER: Final = 6
"""Layers further down than the one below that are remembered (their beads, not their masks)."""
THREADS: Final = 2
ASK_S: Final = 0.05
"""How often the caller is asked whether to stop."""


@dataclass(slots=True)
class _Measured:
    """What was measured in one range of layers."""

    over_air: OverAir = field(default_factory=OverAir)
    thin_places: list[ThinPlace] = field(default_factory=list)
    bare_travels: list[BareTravel] = field(default_factory=list)
    open_mm: dict[int, float] = field(default_factory=dict)  # by layer, from 1


@dataclass(frozen=True, slots=True)
class _LayerRange:
    """Layers ``first`` to ``end`` (exclusive), from 1, of one object."""

    first: int
    end: int
    base: int  # first layer of the object
    usual_mm: float  # usual thickness of the object's layers
    plate_mm: float  # beads that begin no higher lie on the plate
    grid: MaskGrid
    roles: RoleBits


def shape_of(
    columns: ShapeColumns,
    angle_deg: float = USUAL_ANGLE_DEG,
    on_progress: Callable[[float], None] | None = None,
    stop: Callable[[], bool] | None = None,
) -> ShapeFigures:
    """Measure the shape of every layer against the one that it rests on.

    Every call draws every layer again: whoever needs the result twice keeps it.

    Parameters
    ----------
    columns
        `viewer.program.Program.shape_columns`.
    angle_deg
        From upright: what reaches out further counts as overhang.
    on_progress
        Called with the share that is done, 0 .. 1, at least every 50 ms.
    stop
        Asked as often; when it returns True, the measuring ends.

    Returns
    -------
    ShapeFigures
        Areas that overhang, spans of bridges and open travel by layer, and the places of overhangs, bridges, starts in
        mid-air, thin walls and travel without retraction.

    Raises
    ------
    Stopped
        `stop` returned True.
    """
    grids = grids_of_objects(columns)
    ranges = list(_ranges(columns, grids))
    halt = threading.Event()
    done = [0] * len(ranges)

    def work(number: int) -> _Measured:
        return _measure(columns, ranges[number], angle_deg, halt, done, number)

    def tell() -> None:
        if stop is not None and stop():
            raise Stopped
        if on_progress is not None:
            on_progress(sum(done) / max(len(columns.layers), 1))

    with ThreadPoolExecutor(THREADS, thread_name_prefix="shape") as pool:
        try:
            futures = [pool.submit(work, number) for number in range(len(ranges))]
            _wait(futures, tell)
        except BaseException:
            halt.set()
            pool.shutdown(cancel_futures=True)
            raise
    return _joined(columns, [future.result() for future in futures], grids, angle_deg)


def _ranges(columns: ShapeColumns, grids: dict[int, MaskGrid]) -> Iterator[_LayerRange]:
    roles = role_bits(columns)
    for number, grid in grids.items():
        rows = np.flatnonzero(columns.layers.object == number)
        base, end = int(rows[0]) + 1, int(rows[-1]) + 2
        usual = float(np.median(columns.layers.thickness_mm[rows]))
        plate = plate_reach_mm(columns.layers, base, usual, columns.nozzle_mm)
        for first in range(base, end, RANGE_LAYERS):
            yield _LayerRange(first, min(first + RANGE_LAYERS, end), base, usual, plate, grid, roles)


def _wait(futures: list[Future[_Measured]], tell: Callable[[], None]) -> None:
    """Wait for all, telling the caller meanwhile."""
    waiting: set[Future[_Measured]] = set(futures)
    while waiting:
        finished, waiting = wait(waiting, timeout=ASK_S, return_when=FIRST_COMPLETED)
        for future in finished:
            future.result()
        tell()


def _measure(
    columns: ShapeColumns,
    part: _LayerRange,
    angle_deg: float,
    halt: threading.Event,
    done: list[int],
    number: int,
) -> _Measured:
    """Walk over the layers of one range."""
    buffers, found = MaskBuffers(part.grid), _Measured()
    below: list[LayerMask] = []  # the layer below first
    for row in range(max(part.first - 1 - EARLIER, part.base), part.end):
        if halt.is_set():
            raise Stopped
        layer = draw_layer(columns, buffers, row, part.roles)
        if row >= part.first:
            lies_on_layers = layer.height_mm - layer.thickness_mm > part.plate_mm
            if below and columns.widths.is_known and lies_on_layers:
                measure_over_air(
                    buffers, layer, below[0], below[1:], angle_deg, part.usual_mm, found.over_air
                )
            _measure_own(columns, buffers, layer, found)
            done[number] += 1
        below = [layer, *below[:EARLIER]]
    return found


def _measure_own(columns: ShapeColumns, buffers: MaskBuffers, layer: LayerMask, found: _Measured) -> None:
    """Measure what concerns the layer alone; a spiral is a single bead by design."""
    if columns.widths.is_known and not columns.layers.spiral[layer.number - 1]:
        found.thin_places += measure_thin(buffers, layer)
    travels = measure_travel(columns, buffers, layer)
    found.bare_travels += travels
    found.open_mm[layer.number] = max((travel.open_mm for travel in travels), default=0.0)


def _joined(
    columns: ShapeColumns, found: list[_Measured], grids: dict[int, MaskGrid], angle_deg: float
) -> ShapeFigures:
    """Join the ranges, which come in the order of layers."""
    overhang, bridge, open_mm = (np.zeros(len(columns.layers)) for _ in range(3))
    for part in found:
        for layer, area in part.over_air.overhang_mm2.items():
            overhang[layer - 1] = area
        for spot in part.over_air.bridges:
            bridge[spot.layer - 1] = max(bridge[spot.layer - 1], spot.span_mm)
        for layer, length in part.open_mm.items():
            open_mm[layer - 1] = length
    for column in (overhang, bridge, open_mm):
        column.flags.writeable = False
    return ShapeFigures(
        overhang_mm2=overhang,
        bridge_mm=bridge,
        open_mm=open_mm,
        angle_deg=angle_deg,
        doubtful_layers=0 if columns.widths.is_known else len(columns.layers),
        cell_mm=max((grid.grid.cell_mm for grid in grids.values()), default=0.0),
        overhangs=tuple(spot for part in found for spot in part.over_air.overhangs),
        starts=tuple(spot for part in found for spot in part.over_air.starts),
        bridges=tuple(spot for part in found for spot in part.over_air.bridges),
        thin_places=tuple(spot for part in found for spot in part.thin_places),
        bare_travels=tuple(spot for part in found for spot in part.bare_travels),
    )
