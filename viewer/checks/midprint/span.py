"""The span of the part itself, from its first bead to its last, and what stands in it."""

from __future__ import annotations

import math
from typing import Final

import numpy as np

from viewer.arrays import I64
from viewer.checks.evidence import layer_of, middle_of_layer
from viewer.layers.layers import PURGE
from viewer.program import Program
from viewer.read.events import Events
from viewer.read.moves import BEAD


def part_span(program: Program) -> tuple[int, int] | None:
    """Return the first and the last bead of the layers, purge lines apart; None where there is none."""
    layers = program.layers
    if not len(layers):
        return None
    begin = int(layers.first_move[0])
    rows = begin + np.flatnonzero((program.moves.kind[begin:] == BEAD) & (program.roles[begin:] != PURGE))
    return (int(rows[0]), int(rows[-1])) if len(rows) else None


def first_bead_words(program: Program, bead: int) -> str:
    """Return what the first bead of a program is called: ``first bead of the purge``, or ``first bead of the part``."""
    span = part_span(program)
    if span is None:
        return "first bead"
    return "first bead of the purge" if bead < span[0] else "first bead of the part"


def rows_in(events: Events, span: tuple[int, int], letter: str, codes: tuple[int, ...]) -> I64:
    """Return the rows of some commands (ten times their numbers) behind the part's first bead and before its last."""
    wanted = (events.letter == ord(letter)) & np.isin(events.code, codes)
    return np.flatnonzero(wanted & (events.move > span[0]) & (events.move <= span[1])).astype(np.int64)


def next_bead(program: Program, move: int) -> int:
    """Return the first bead at or behind a move that has one behind it."""
    return move + int(np.argmax(program.moves.kind[move:] == BEAD))


def bead_seconds(program: Program, begin: int, end: int) -> float:
    """Return the time of the beads among moves begin .. end - 1, s."""
    own = program.moves.kind[begin:end] == BEAD
    return float(program.timing.time_s[begin:end][own].sum(dtype=np.float64))


def where(program: Program, move: int) -> tuple[int | None, tuple[float, float, float] | None]:
    """Return the layer (from 1) of a move and the middle of that layer, mm; None outside the layers."""
    layer = layer_of(program, move)
    return layer, None if layer is None else middle_of_layer(program, layer)


_AT_ONCE: Final = 1 << 20


def bead_distance_mm(program: Program, span: tuple[int, int], x: float, y: float) -> float:
    """Return how far a place lies sideways from the nearest middle line of the beads ``span[0]`` to ``span[1]``, mm.

    Infinite where there is no bead.
    """
    moves, nearest = program.moves, math.inf
    for begin in range(span[0], span[1] + 1, _AT_ONCE):
        rows = begin + np.flatnonzero(moves.kind[begin : min(begin + _AT_ONCE, span[1] + 1)] == BEAD)
        if len(rows):
            before = np.maximum(rows - 1, 0)
            start = np.stack([moves.x_mm[before] - x, moves.y_mm[before] - y])
            way = np.stack([moves.x_mm[rows] - x, moves.y_mm[rows] - y]) - start
            along = -(start * way).sum(axis=0) / np.maximum((way * way).sum(axis=0), np.float32(1e-12))
            gap = start + way * np.clip(along, 0.0, 1.0)
            nearest = min(nearest, float(np.sqrt((gap * gap).sum(axis=0).min())))
    return nearest
