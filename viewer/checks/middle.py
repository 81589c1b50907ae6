"""Whether a piece is missing in the middle of a program: what jumps there that never jumps in a whole one.

A block of a drive that was not written, or pieces put together by hand, leave a program with a beginning and an
end. The bounds were measured on the real programs: their largest rise is 0.60 mm (1.5 nozzles, 1.7 times the
usual), their thickest bead has 5.3 times the usual section.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

import numpy as np

from viewer.checks.evidence import first_bead_in, layer_of, line_of
from viewer.layers.layers import PURGE
from viewer.program import Program
from viewer.read.moves import BEAD

RISE_NOZZLES: Final = 1.6
RISE_USUAL: Final = 1.8
"""A layer that rises by this many nozzle diameters and usual layers has none of its own below it."""
FED_MM: Final = 3.0
SECTIONS: Final = 10.0
"""A bead that draws at least this much filament at this many times the usual section takes what a lost piece needed."""
SAMPLE: Final = 20_000
MIN_MARKS: Final = 5


@dataclass(frozen=True, slots=True)
class Leap:
    """One place where something is missing: a sentence without a full stop, and the move behind it."""

    sentence: str
    move: int
    value: float
    limit: float
    unit: str


def find_leaps(program: Program) -> Iterator[Leap]:
    """Return the places where a piece is missing, each told once."""
    told: set[int | None] = set()
    for leap in (*_rises(program), *_numbers(program), *_greedy_beads(program)):
        layer = layer_of(program, leap.move)
        if layer not in told:
            told.add(layer)
            yield leap


def _rises(program: Program) -> Iterator[Leap]:
    """Return the layers that lie further above the one before than any bead reaches."""
    layers = program.layers
    inside = ~layers.is_first & ~layers.spiral
    if not inside.any():
        return
    usual = float(np.median(layers.thickness_mm[inside]))
    least = max(RISE_NOZZLES * program.printer.nozzle_mm, RISE_USUAL * usual)
    for row in np.flatnonzero(inside & (layers.thickness_mm >= least)).tolist():
        rise = float(layers.thickness_mm[row])
        move = first_bead_in(program, row + 1)
        yield Leap(
            f"from layer {row} to layer {row + 1} the nozzle rises {rise:.2f} mm, where {usual:.2f} mm is usual",
            move, rise, least, "mm between two layers",
        )  # fmt: skip


def _numbers(program: Program) -> Iterator[Leap]:
    """Return the layer marks whose number skips some, where all others count by one."""
    marks = program.remarks.layers
    known = np.flatnonzero(np.isfinite(marks.value))
    steps = np.diff(marks.value[known])
    skips = np.flatnonzero((steps > 1.0) & (marks.value[known[:-1]] >= 0.0))  # a raft counts below 0
    if len(steps) < MIN_MARKS or not 0 < len(skips) <= 0.05 * len(steps) or np.any(steps == 0.0):
        return
    for at in skips.tolist():
        move = min(int(marks.move[known[at + 1]]), len(program.moves) - 1)
        before, after = (float(marks.value[known[at + k]]) for k in (0, 1))
        yield Leap(
            f"the marks of its layers go from {before:g} to {after:g}",
            move,
            after - before,
            1.0,
            "layers of a step",
        )


def _drawn_mm(program: Program, move: int) -> float:
    """Return what a move draws beyond what was pulled back before it: many prime with the first bead after travel."""
    fed = np.cumsum(program.moves.fed_mm[: move + 1], dtype=np.float64)
    return float(fed[move] - max(0.0, fed[:move].max(initial=0.0)))


def _greedy_beads(program: Program) -> Iterator[Leap]:
    """Return the beads that draw the filament of many."""
    moves, layers = program.moves, program.layers
    first = int(layers.first_move[0]) if len(layers) else len(moves)
    beads = first + np.flatnonzero(moves.kind[first:] == BEAD)
    if not len(beads):
        return
    some = beads[:: max(1, len(beads) // SAMPLE)]
    usual = float(np.median(moves.fed_mm[some] / np.maximum(moves.length_mm[some], 1e-6)))
    fed = beads[moves.fed_mm[beads] > FED_MM]
    greedy = fed[moves.fed_mm[fed] > SECTIONS * usual * moves.length_mm[fed]]
    for move in greedy[program.roles[greedy] != PURGE].tolist():
        drawn, way = _drawn_mm(program, move), float(moves.length_mm[move])
        if drawn < max(FED_MM, SECTIONS * usual * way):
            continue
        yield Leap(
            f"the bead of line {line_of(program, move):,} draws {drawn:.1f} mm of filament on {way:.1f} mm of way",
            move, drawn / max(way, 1e-6), SECTIONS * usual, "mm of filament a mm",
        )  # fmt: skip
