"""The dearest places: groups of moves that take long, by what they are, by layers and by length."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import pairwise
from typing import Final

import numpy as np

from viewer.arrays import F64, I64
from viewer.layers.layers import ROLE_NAMES
from viewer.program import Program
from viewer.read.moves import BEAD, PRIME, RETRACT
from viewer.why.bands import bands_of

KINDS: Final = (*ROLE_NAMES, "travel", "retract and prime", "height changes")
"""What moves are: beads by their role, and the groups of all other moves."""
_TRAVEL: Final = len(ROLE_NAMES)

LENGTHS_MM: Final = (1.0, 3.0, 10.0, 30.0)
"""Bounds of the classes of length."""


@dataclass(frozen=True, slots=True)
class Place:
    """One group of moves; all groups together have every move that takes time, once."""

    kind: str
    """One of `KINDS`."""
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
    way: F64
    nominal: F64


def dearest_places(program: Program, most: int | None = None) -> tuple[Place, ...]:
    """Return groups of moves, the one that takes longest first; all of them add up to the time of all moves.

    Moves are grouped by what they are, by their class of length, and by bands of layers in which their time stays
    about the same (`bands_of`).

    Parameters
    ----------
    most
        How many are wanted; None: all.
    """
    columns = _columns(program)
    keys = columns.kind * (len(LENGTHS_MM) + 1) + columns.length_class
    order = np.argsort(keys, kind="stable")
    bounds = np.flatnonzero(np.diff(keys[order], prepend=-1, append=-1))
    places: list[Place] = []
    for lo, hi in pairwise(bounds.tolist()):
        places += _of_one_kind(program, columns, order[lo:hi])
    return tuple(sorted(places, key=lambda place: -place.seconds)[:most])


def _columns(program: Program) -> _Columns:
    moves, timing = program.moves, program.timing
    rows = np.flatnonzero(timing.time_s > 0.0)
    alone = np.isin(moves.kind[rows], (RETRACT, PRIME))
    way = np.where(alone, np.abs(moves.fed_mm[rows]), moves.length_mm[rows]).astype(np.float64)
    factor = program.settings.column("speed_factor")[program.settings.of_move[rows]]
    speed = moves.speed_mm_s[rows] * np.where(factor > 0.0, factor, 1.0)
    return _Columns(
        move=rows,
        kind=_kinds(program, rows),
        length_class=np.searchsorted(np.array(LENGTHS_MM), way, side="right"),
        layer=program.layers.of_moves(rows),
        seconds=timing.time_s[rows].astype(np.float64),
        way=way,
        nominal=np.divide(way, speed, out=np.zeros(len(rows)), where=speed > 0.0),
    )


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
            yield _place(program, columns, inside)


def _place(program: Program, columns: _Columns, own: I64) -> Place:
    moves, rows = program.moves, columns.move[own]
    seconds, way, nominal = (
        float(column[own].sum()) for column in (columns.seconds, columns.way, columns.nominal)
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
        seconds=seconds,
        lost_s=max(seconds - nominal, 0.0),
        count=len(own),
        mean_mm=way / len(own),
        mean_mm_s=way / seconds,
        commanded_mm_s=way / nominal if nominal > 0.0 else 0.0,
        x_mm=(float(x.min()), float(x.max())),
        y_mm=(float(y.min()), float(y.max())),
        dearest_move=dearest,
        line=int(moves.line[dearest]),
    )
