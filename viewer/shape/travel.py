"""Travel over open space without retraction: where the nozzle oozes a string."""

from __future__ import annotations

from typing import Final

import numpy as np

from viewer.arrays import read_only
from viewer.read.moves import BEAD
from viewer.shape.columns import ShapeColumns
from viewer.shape.kernels import travel as k
from viewer.shape.masks import LayerMask, MaskBuffers
from viewer.shape.spots import BareTravel

MIN_MM: Final = 4.0
"""Shorter travel is not measured: it leaves no string that matters (common practice, no source)."""
MAX_WAYS: Final = 10_000
"""Ways of one layer that are looked at."""
LOOK_BACK: Final = 1000
"""Moves before a layer among which the last bead of the layer before is looked for."""
MAX_KEPT: Final = 20
"""Ways kept of a layer, the longest."""


def measure_travel(columns: ShapeColumns, buffers: MaskBuffers, layer: LayerMask) -> list[BareTravel]:
    """Return the travels of a drawn layer that cross open space without retraction, the longest of them.

    Space is open where no bead of the layer lies and infill does not enclose it. The way to the first bead of the print
    is left out, and so are ways on which the tool changes: machines retract by themselves there.
    """
    moves, layers = columns.moves, columns.layers
    start, last = int(layers.first_move[layer.number - 1]), int(layers.first_move[layer.number])
    first = _since_last_bead(columns, start)
    ways = np.empty((min(max(last - first, 0), MAX_WAYS), 2), np.int64)
    kind, x, y, filament = (read_only(c) for c in (moves.kind, moves.x_mm, moves.y_mm, moves.fed_mm))
    count = k.find_bare_travel(kind, read_only(moves.length_mm), filament, first, last, MIN_MM, ways)
    found = []
    for begin, bead in ways[:count].tolist():
        if _tool(columns, begin - 1) != _tool(columns, bead):
            continue
        stretch = np.zeros(4)
        for is_last_look in (False, True):
            # most ways end at the first look; to find the hollows of infill costs more than all else
            hollows = layer.hollows(buffers) if is_last_look else buffers.empty
            stretch.fill(0.0)
            k.open_way(
                kind, x, y, filament, begin, bead, layer.mask, hollows, buffers.left_front_cell, stretch
            )
            if stretch[0] <= MIN_MM:
                break
        else:
            found.append(_way(columns, layer.number, begin, bead, stretch.tolist()))
    found.sort(key=lambda way: -way.open_mm)
    return found[:MAX_KEPT]


def _since_last_bead(columns: ShapeColumns, first: int) -> int:
    """Return the last bead before a layer's first move, or that move; beads of the prelude do not count."""
    start = int(columns.layers.first_move[0])
    before = columns.moves.kind[max(first - LOOK_BACK, start) : first]
    beads = np.flatnonzero(before == BEAD)
    return first - len(before) + int(beads[-1]) if len(beads) else first


def _tool(columns: ShapeColumns, move: int) -> float:
    settings = columns.settings
    return float(settings.column("tool")[settings.of_move[move]])


def _way(columns: ShapeColumns, layer: int, begin: int, bead: int, stretch: list[float]) -> BareTravel:
    moves = columns.moves
    x, y = moves.x_mm[begin - 1 : bead], moves.y_mm[begin - 1 : bead]
    return BareTravel(
        layer=layer, place_mm=(stretch[1], stretch[2]), move=int(stretch[3]), last_move=bead, open_mm=stretch[0],
        box_mm=(float(x.min()), float(y.min()), float(x.max()), float(y.max())),
    )  # fmt: skip
