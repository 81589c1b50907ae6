"""Travel over open space without retraction: where the nozzle oozes a string."""

# mypy: allow-untyped-calls
from __future__ import annotations

from typing import Final

import numpy as np

from viewer.arrays import read_only
from viewer.checks.kernels import travel as k
from viewer.checks.masks import Desk, Drawn
from viewer.checks.spots import BareWay
from viewer.checks.subject import Subject
from viewer.read.moves import BEAD

MIN_MM: Final = 4.0
"""Shorter ways are not measured: the limit of the check lies above."""
MAX_WAYS: Final = 10_000
LOOK_BACK: Final = 1000
"""Moves before a layer among which its way from the layer before is looked for."""
MAX_KEPT: Final = 20
"""Ways kept of a layer, the longest."""


def measure_travel(subject: Subject, desk: Desk, drawn: Drawn) -> list[BareWay]:
    """Return the travels of a drawn layer that cross open space without retraction, the longest of them.

    Open is what no bead of the layer covers, nor infill encloses. The way to the first bead of all and those on
    which the tool changes are left out: machines retract on their own there.
    """
    moves, layers = subject.moves, subject.layers
    start, last = int(layers.first_move[drawn.number - 1]), int(layers.first_move[drawn.number])
    first = _since_last_bead(subject, start)
    ways = np.empty((min(max(last - first, 0), MAX_WAYS), 2), np.int64)
    kind, x, y, filament = (read_only(c) for c in (moves.kind, moves.x_mm, moves.y_mm, moves.fed_mm))
    count = k.find_bare_travel(kind, read_only(moves.length_mm), filament, first, last, MIN_MM, ways)
    found = []
    for begin, bead in ways[:count].tolist():
        if _tool(subject, begin - 1) != _tool(subject, bead):
            continue
        stretch = np.zeros(4)
        for inner in (lambda: desk.nothing, lambda: drawn.inner(desk)):
            stretch.fill(0.0)
            k.open_way(kind, x, y, filament, begin, bead, drawn.mask, inner(), desk.sheet.numbers, stretch)
            if stretch[0] <= MIN_MM:
                break  # most ways end here: infill's hollows cost more to find than all else
        else:
            found.append(_way(subject, drawn.number, begin, bead, stretch.tolist()))
    found.sort(key=lambda way: -way.open_mm)
    return found[:MAX_KEPT]


def _since_last_bead(subject: Subject, first: int) -> int:
    """Return the last bead before a layer's first move; the prelude's purge is no bead to string from."""
    start = int(subject.layers.first_move[0])
    before = subject.moves.kind[max(first - LOOK_BACK, start) : first]
    beads = np.flatnonzero(before == BEAD)
    return first - len(before) + int(beads[-1]) if len(beads) else first


def _tool(subject: Subject, move: int) -> float:
    settings = subject.settings
    return float(settings.column("tool")[settings.of_move[move]])


def _way(subject: Subject, layer: int, begin: int, bead: int, stretch: list[float]) -> BareWay:
    moves = subject.moves
    x, y = moves.x_mm[begin - 1 : bead], moves.y_mm[begin - 1 : bead]
    return BareWay(
        layer=layer, place_mm=(stretch[1], stretch[2]), move=int(stretch[3]), last_move=bead, open_mm=stretch[0],
        box_mm=(float(x.min()), float(y.min()), float(x.max()), float(y.max())),
    )  # fmt: skip
