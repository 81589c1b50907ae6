"""The walk over all layers for the checks of the shape: each layer is drawn once and asked everything.

Pieces of some dozens of layers are handed to two threads; the kernels run without the interpreter's lock. A
piece begins by drawing the few layers before its first.
"""

# mypy: allow-untyped-calls
from __future__ import annotations

import threading
import weakref
from collections.abc import Iterator
from concurrent.futures import FIRST_COMPLETED, Future, ThreadPoolExecutor, wait
from dataclasses import dataclass, field
from typing import Final

import numpy as np

from viewer.checks.air import Air, measure_air
from viewer.checks.finding import Watch
from viewer.checks.masks import Desk, Drawn, Sheet, draw_layer, read_roles, sheets
from viewer.checks.spots import BareWay, ShapeFigures, Thin
from viewer.checks.subject import Subject
from viewer.checks.thin import measure_thin
from viewer.checks.travel import measure_travel
from viewer.errors import Stopped

USUAL_ANGLE_DEG: Final = 45.0
PIECE: Final = 40
"""Layers handed to a thread at once: some more are drawn to begin with."""
EARLIER: Final = 6
"""Layers further down than the one below that are remembered (their beads, not their masks)."""
THREADS: Final = 2
ASK_S: Final = 0.05
"""How often the caller is asked whether to stop."""


@dataclass(slots=True)
class _Found:
    """What one piece gives."""

    air: Air = field(default_factory=Air)
    thins: list[Thin] = field(default_factory=list)
    bare_ways: list[BareWay] = field(default_factory=list)
    open_mm: dict[int, float] = field(default_factory=dict)
    doubtful: int = 0


@dataclass(frozen=True, slots=True)
class _Piece:
    """Layers ``first`` to ``last`` (exclusive), from 1; ``base`` is the first layer of their object."""

    first: int
    last: int
    base: int
    usual_mm: float  # thickness of the object's layers
    sheet: Sheet


def walk_layers(
    subject: Subject, angle_deg: float = USUAL_ANGLE_DEG, watch: Watch | None = None
) -> ShapeFigures:
    """Measure the shape of every layer against the one it rests on.

    Parameters
    ----------
    subject
        The program.
    angle_deg
        From upright: what reaches out further counts as overhang.
    watch
        Told the share done, asked whether to stop, at least every 50 ms.

    Returns
    -------
    ShapeFigures
        Kept for the subject as long as it lives, by angle: the second call costs nothing.

    Raises
    ------
    Stopped
        The watch said so.
    """
    kept = _KEPT.setdefault(subject, {})
    if angle_deg not in kept:
        kept[angle_deg] = _walked(subject, angle_deg, watch or Watch())
    return kept[angle_deg]


_KEPT: weakref.WeakKeyDictionary[Subject, dict[float, ShapeFigures]] = weakref.WeakKeyDictionary()


def _walked(subject: Subject, angle_deg: float, watch: Watch) -> ShapeFigures:
    drawn_on = sheets(subject)
    pieces = list(_pieces(subject, drawn_on))
    halt = threading.Event()
    done = [0] * len(pieces)

    def work(number: int) -> _Found:
        return _measure(subject, pieces[number], angle_deg, halt, done, number)

    with ThreadPoolExecutor(THREADS, thread_name_prefix="shape") as pool:
        try:
            futures = [pool.submit(work, number) for number in range(len(pieces))]
            _wait(futures, done, max(len(subject.layers), 1), watch)
        except BaseException:
            halt.set()
            pool.shutdown(cancel_futures=True)
            raise
    return _joined(subject, [future.result() for future in futures], drawn_on, angle_deg)


def _pieces(subject: Subject, drawn_on: dict[int, Sheet]) -> Iterator[_Piece]:
    for number, sheet in drawn_on.items():
        rows = np.flatnonzero(subject.layers.object == number)
        base, end = int(rows[0]) + 1, int(rows[-1]) + 2
        usual = float(np.median(subject.layers.thickness_mm[rows]))
        for first in range(base, end, PIECE):
            yield _Piece(first, min(first + PIECE, end), base, usual, sheet)


def _wait(futures: list[Future[_Found]], done: list[int], layers: int, watch: Watch) -> None:
    """Wait for all, telling the watch."""
    waiting: set[Future[_Found]] = set(futures)
    while waiting:
        finished, waiting = wait(waiting, timeout=ASK_S, return_when=FIRST_COMPLETED)
        for future in finished:
            future.result()
        watch.tell(sum(done) / layers)


def _measure(
    subject: Subject, piece: _Piece, angle_deg: float, halt: threading.Event, done: list[int], number: int
) -> _Found:
    """Walk over the layers of one piece."""
    reading = read_roles(subject)
    desk, found = Desk(piece.sheet), _Found()
    below: list[Drawn] = []  # the layer below first
    for layer in range(max(piece.first - 1 - EARLIER, piece.base), piece.last):
        if halt.is_set():
            raise Stopped
        drawn = draw_layer(subject, desk, layer, reading)
        if layer >= piece.first:
            if drawn.is_doubtful:
                found.doubtful += 1
            elif below:
                measure_air(desk, drawn, below[0], below[1:], angle_deg, piece.usual_mm, found.air)
            _measure_own(subject, desk, drawn, found)
            done[number] += 1
        below = [drawn, *below[:EARLIER]]
    return found


def _measure_own(subject: Subject, desk: Desk, drawn: Drawn, found: _Found) -> None:
    """Measure what concerns the layer alone; a spiral is a single bead by design."""
    if not (subject.layers.spiral[drawn.number - 1] or drawn.is_doubtful):
        found.thins += measure_thin(desk, drawn)
    ways = measure_travel(subject, desk, drawn)
    found.bare_ways += ways
    found.open_mm[drawn.number] = max((way.open_mm for way in ways), default=0.0)


def _joined(
    subject: Subject, found: list[_Found], drawn_on: dict[int, Sheet], angle_deg: float
) -> ShapeFigures:
    """Lay the pieces, which come in the order of layers, behind one another."""
    overhang, bridge, open_mm = (np.zeros(len(subject.layers)) for _ in range(3))
    for piece in found:
        for layer, area in piece.air.overhang_mm2.items():
            overhang[layer - 1] = area
        for spot in piece.air.bridges:
            bridge[spot.layer - 1] = max(bridge[spot.layer - 1], spot.span_mm)
        for layer, way in piece.open_mm.items():
            open_mm[layer - 1] = way
    for column in (overhang, bridge, open_mm):
        column.flags.writeable = False
    return ShapeFigures(
        overhang, bridge, open_mm, angle_deg, sum(piece.doubtful for piece in found),
        max((sheet.grid.cell_mm for sheet in drawn_on.values()), default=0.0),
        tuple(spot for piece in found for spot in piece.air.overhangs),
        tuple(spot for piece in found for spot in piece.air.starts),
        tuple(spot for piece in found for spot in piece.air.bridges),
        tuple(spot for piece in found for spot in piece.thins),
        tuple(spot for piece in found for spot in piece.bare_ways),
    )  # fmt: skip
