"""The dearest places: groups of moves that take long, by what they are, by layers and by length."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import pairwise
from typing import Final, Literal

import numpy as np

from viewer.arrays import F32, F64, I64
from viewer.layers.layers import ROLE_NAMES
from viewer.program import Program
from viewer.read.moves import BEAD, PRIME, RETRACT
from viewer.timing import CAUSES
from viewer.timing.ledger import layer_of_waits
from viewer.why.bands import bands_of
from viewer.why.regions import ELSEWHERE, Paths, regions_of

KINDS: Final = (*ROLE_NAMES, "travel", "retract and prime", "height changes")
"""What moves are: beads by their role, and the groups of all other moves."""
_TRAVEL: Final = len(ROLE_NAMES)

Where = Literal["all", "region", "elsewhere"]

LENGTHS_MM: Final = (1.0, 3.0, 10.0, 30.0)
"""Bounds of the classes of length."""


@dataclass(frozen=True, slots=True)
class Place:
    """One group of moves, or one wait; all groups together have every move that takes time, once."""

    kind: str
    """One of `KINDS`, or the cause of a wait."""
    first_layer: int
    """From 1; 0: before the first layer; one more than there are: after the last."""
    last_layer: int
    shortest_mm: float
    """Bound of its class of length; for filament alone the filament's."""
    longest_mm: float
    """inf: none."""
    seconds: float
    lost_s: float
    """What it takes longer than at the commanded speed."""
    count: int
    mean_mm: float
    mean_mm_s: float
    commanded_mm_s: float
    """Way over the time at the commanded speeds; 0: none is commanded."""
    x_mm: tuple[float, float]
    """Of the ends of its moves."""
    y_mm: tuple[float, float]
    where: Where
    """Whether `x_mm` and `y_mm` tell it apart from other places of its kind, length and layers: "all" has no other
    beside it, "region" lies apart from the others, "elsewhere" is the rest, spread about."""
    dearest_move: int
    """The move that takes longest."""
    line: int
    """Of that move."""


@dataclass(frozen=True, slots=True, eq=False)
class _Columns:
    """What the groups are made from, of the moves that take time: (m,) each."""

    move: I64
    kind: I64
    length_class: I64
    layer: I64
    seconds: F64
    """What is booked to the place."""
    taken: F64
    """What the moves take in all."""
    way: F64
    nominal: F64
    paths: Paths


def dearest_places(program: Program, most: int | None = None) -> tuple[Place, ...]:
    """Return groups of moves, the one that takes longest first; all of them add up to the time of all moves.

    Moves are grouped by what they are, by their class of length, by bands of layers in which their time stays
    about the same (`bands_of`), and by regions of the plate that lie apart (`regions_of`).

    Parameters
    ----------
    most
        How many are wanted; None: all.
    """
    return places_by_seconds(program, program.timing.time_s.astype(np.float64), most)


def places_by_seconds(program: Program, seconds: F64, most: int | None = None) -> tuple[Place, ...]:
    """Return groups of moves as `dearest_places` does, by some of their seconds alone: those of one cause.

    Parameters
    ----------
    seconds
        (n,) of each move; moves of 0 s belong to no group.
    most
        How many are wanted; None: all.
    """
    columns = _columns(program, seconds)
    keys = columns.kind * (len(LENGTHS_MM) + 1) + columns.length_class
    order = np.argsort(keys, kind="stable")
    bounds = np.flatnonzero(np.diff(keys[order], prepend=-1, append=-1))
    places: list[Place] = []
    for lo, hi in pairwise(bounds.tolist()):
        places += _of_one_kind(program, columns, order[lo:hi])
    return tuple(sorted(places, key=lambda place: -place.seconds)[:most])


def _columns(program: Program, seconds: F64) -> _Columns:
    moves, timing = program.moves, program.timing
    rows = np.flatnonzero(seconds > 0.0)
    alone = np.isin(moves.kind[rows], (RETRACT, PRIME))
    way = np.where(alone, np.abs(moves.fed_mm[rows]), moves.length_mm[rows]).astype(np.float64)
    speed = program.settings.commanded_mm_s(moves, rows)
    begins = [_begins(column, rows) for column in (moves.x_mm, moves.y_mm)]
    ends = [column[rows].astype(np.float64) for column in (moves.x_mm, moves.y_mm)]
    return _Columns(
        move=rows,
        kind=_kinds(program, rows),
        length_class=np.searchsorted(np.array(LENGTHS_MM), way, side="right"),
        layer=program.layers.of_moves(rows),
        seconds=seconds[rows],
        taken=timing.time_s[rows].astype(np.float64),
        way=way,
        nominal=np.divide(way, speed, out=np.zeros(len(rows)), where=speed > 0.0),
        paths=Paths(*begins, *ends),
    )


def _begins(ends: F32, rows: I64) -> F64:
    """Return where moves begin along one axis: (len(rows),); the first begins at 0."""
    return np.where(rows > 0, ends[np.maximum(rows - 1, 0)], np.float32(0.0)).astype(np.float64)


def _kinds(program: Program, rows: I64) -> I64:
    """Return the position in `KINDS` of moves, as the ledger books them: (len(rows),)."""
    moves = program.moves
    steps = [
        np.diff(column, prepend=np.float32(0.0))[rows] for column in (moves.x_mm, moves.y_mm, moves.z_mm)
    ]
    upright = (steps[0] == 0.0) & (steps[1] == 0.0) & (steps[2] != 0.0)
    kind = moves.kind[rows]
    return np.select(
        [(kind == BEAD) & ~upright, np.isin(kind, (RETRACT, PRIME)), upright],
        [program.roles[rows].astype(np.int64), _TRAVEL + 1, _TRAVEL + 2],
        default=_TRAVEL,
    )


def _of_one_kind(program: Program, columns: _Columns, own: I64) -> Iterator[Place]:
    """Yield the places of moves of one kind and class, one a band of layers."""
    layers = len(program.layers)
    by_layer = np.zeros(layers + 2)
    np.add.at(by_layer, columns.layer[own], columns.seconds[own])
    bands = [
        (0, 0),
        *((lo + 1, hi + 1) for lo, hi in bands_of(by_layer[1 : layers + 1])),
        (layers + 1, layers + 1),
    ]
    for first, last in bands:
        inside = own[(columns.layer[own] >= first) & (columns.layer[own] <= last)]
        if len(inside):
            yield from _by_region(program, columns, inside)


def _by_region(program: Program, columns: _Columns, own: I64) -> Iterator[Place]:
    """Yield the places of moves of one kind, class and band, one a region of the plate."""
    paths = columns.paths.of(own)
    # the ways of travel lead from region to region: where its middles lie says more
    travels = int(columns.kind[own[0]]) == _TRAVEL
    region = regions_of(paths.middles if travels else paths, columns.seconds[own])
    last = int(region.max())
    for number in range(ELSEWHERE, last + 1):
        inside = own[region == number]
        if len(inside):
            where: Where = "all" if last == 0 else "elsewhere" if number == ELSEWHERE else "region"
            yield _place(program, columns, inside, where)


def _place(program: Program, columns: _Columns, own: I64, where: Where) -> Place:
    moves, rows = program.moves, columns.move[own]
    taken, way, nominal = (
        float(column[own].sum()) for column in (columns.taken, columns.way, columns.nominal)
    )
    lengths = (0.0, *LENGTHS_MM, np.inf)
    k = int(columns.length_class[own[0]])
    dearest = int(rows[np.argmax(columns.seconds[own])])
    x, y = moves.x_mm[rows], moves.y_mm[rows]
    return Place(
        kind=KINDS[int(columns.kind[own[0]])],
        first_layer=int(columns.layer[own].min()),
        last_layer=int(columns.layer[own].max()),
        shortest_mm=lengths[k],
        longest_mm=lengths[k + 1],
        seconds=float(columns.seconds[own].sum()),
        lost_s=max(taken - nominal, 0.0),
        count=len(own),
        mean_mm=way / len(own),
        mean_mm_s=way / taken if taken > 0.0 else 0.0,
        commanded_mm_s=way / nominal if nominal > 0.0 else 0.0,
        x_mm=(float(x.min()), float(x.max())),
        y_mm=(float(y.min()), float(y.max())),
        where=where,
        dearest_move=dearest,
        line=int(moves.line[dearest]),
    )


def wait_places(program: Program, cause: str, most: int | None = None) -> tuple[Place, ...]:
    """Return the waits of one cause as places, the longest first.

    Parameters
    ----------
    cause
        One of `CAUSES` that is a wait.
    most
        How many are wanted; None: all.
    """
    waits, moves = program.timing.waits, program.moves
    rows = np.flatnonzero((waits.cause == CAUSES.index(cause)) & (waits.seconds > 0.0))
    rows = rows[np.argsort(-waits.seconds[rows], kind="stable")][:most]
    layers = layer_of_waits(waits, program.layers)
    places = []
    for row in rows.tolist():
        move = min(int(waits.move[row]), len(moves) - 1)
        x, y = (float(column[move]) if move >= 0 else 0.0 for column in (moves.x_mm, moves.y_mm))
        places.append(
            Place(
                kind=cause, first_layer=int(layers[row]), last_layer=int(layers[row]),
                shortest_mm=0.0, longest_mm=np.inf, seconds=float(waits.seconds[row]), lost_s=0.0, count=1,
                mean_mm=0.0, mean_mm_s=0.0, commanded_mm_s=0.0, x_mm=(x, x), y_mm=(y, y), where="all",
                dearest_move=move, line=int(program.events.line[waits.event[row]]),
            )
        )  # fmt: skip
    return tuple(places)
