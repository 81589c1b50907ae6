"""One cause of the time, looked at: its seconds of each move and each layer, and the places that take most of it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np

from viewer.arrays import F32, F64, I64, Bool, read_only
from viewer.program import Program
from viewer.read.moves import BEAD, PRIME, RETRACT
from viewer.timing import CAUSES, Motion, plan_motion
from viewer.timing.clock import stops_of
from viewer.timing.ledger import WAITS_FROM, layer_of_waits
from viewer.timing.limiters import LIMITERS, limiters_of
from viewer.why.places import Place, places_by_seconds, wait_places

_LAYING, _HELD, _RAMPS, _TRAVEL, _FILAMENT, _HEIGHT = range(6)
MOST_PLACES: Final = 12
CAUSE_NAMES: Final = {cause: cause for cause in CAUSES} | {
    "laying": "laying at the commanded speed",
    "held back": "held back by the machine's limits",
}
"""What each of `CAUSES` is called wherever the time ledger is shown."""


@dataclass(frozen=True, slots=True)
class Cause:
    """A cause of the time ledger, or what one limit has of "held back"."""

    name: str
    """One of `CAUSES`."""
    limit: str = ""
    """One of `LIMITERS`, of "held back" alone; "": all of the cause."""


@dataclass(frozen=True, slots=True, eq=False)
class CauseTimes:
    """Where the seconds of one cause are spent; moves and waits together are all of them."""

    program: Program
    """As it was timed: under a trial another one than on its card."""
    cause: Cause
    seconds: F32  # (n,) of each move; 0 for causes that are waits
    by_layer: F64  # (layers + 2,) row 0: the prelude; k: layer k; the last: the coda
    places: tuple[Place, ...]
    """The places that take most of it, the dearest first."""

    @property
    def total_s(self) -> float:
        """All seconds of the cause."""
        return float(self.by_layer.sum())

    @property
    def of_beads(self) -> bool:
        """Whether beads have seconds of it, and not only other moves, or waits."""
        return CAUSES.index(self.cause.name) <= _RAMPS

    @property
    def waits(self) -> bool:
        """Whether the machine waits, so that no move has any of it."""
        return CAUSES.index(self.cause.name) >= WAITS_FROM


def times_of_cause(program: Program, cause: Cause, most: int | None = MOST_PLACES) -> CauseTimes:
    """Return where the seconds of a cause are spent; motion is planned again, as its speed limits are not kept.

    Parameters
    ----------
    program
        As it was opened, or under a trial.
    cause
        What is looked at.
    most
        How many places are wanted; None: all.
    """
    layers = len(program.layers)
    if CAUSES.index(cause.name) >= WAITS_FROM:
        waits = program.timing.waits
        own = waits.cause == CAUSES.index(cause.name)
        rows = layer_of_waits(waits, program.layers)
        by_layer = _summed(rows[own], waits.seconds[own], layers + 2)
        none = np.zeros(len(program.moves), np.float32)
        return CauseTimes(
            program, cause, read_only(none), read_only(by_layer), wait_places(program, cause.name, most)
        )
    motion = _motion_of(program)
    seconds = _seconds_of(program, motion, CAUSES.index(cause.name))
    if cause.limit:
        seconds = np.where(_limiter_of(program, motion) == LIMITERS.index(cause.limit) + 1, seconds, 0.0)
    by_layer = _summed(_layer_of(program), seconds, layers + 2)
    places = places_by_seconds(program, seconds, most)
    return CauseTimes(program, cause, read_only(seconds.astype(np.float32)), read_only(by_layer), places)


def held_by_limit(program: Program) -> F64:
    """Return what each limit holds back in each layer, s: (layers + 2, limiters), beads alone.

    The rows sum up to "held back" in the rows of the ledger, but for the rounding of moves at their commanded speed.
    """
    motion = _motion_of(program)
    held, limiter = _seconds_of(program, motion, _HELD), _limiter_of(program, motion)
    wide = len(LIMITERS) + 1
    table = np.bincount(_layer_of(program) * wide + limiter, held, (len(program.layers) + 2) * wide).reshape(
        -1, wide
    )
    return read_only(np.ascontiguousarray(table[:, 1:]))


def _summed(rows: I64, seconds: F64, count: int) -> F64:
    """Return the sum of the seconds of each row: (count,)."""
    return np.bincount(rows, seconds, count).astype(np.float64)


def _motion_of(program: Program) -> Motion:
    return plan_motion(program.moves, program.events, program.state, program.settings, program.printer)


def _limiter_of(program: Program, motion: Motion) -> I64:
    """Return what sets the speed limit of each move: 0 as commanded, k: ``LIMITERS[k - 1]``."""
    stops = stops_of(program.events, program.state)
    found = limiters_of(program.moves, program.settings, motion.limits, stops, motion.plan)
    return found.limiter.astype(np.int64)


def _layer_of(program: Program) -> I64:
    """Return the row of the ledger that each move belongs to: (n,)."""
    first, n = program.layers.first_move.astype(np.int64), len(program.moves)
    return np.repeat(np.arange(len(first) + 1), np.diff(first, prepend=0, append=n))


def upright(program: Program) -> Bool:
    """Return whether each move goes up or down without any way sideways: (n,)."""
    moves = program.moves
    steps = [np.diff(column, prepend=np.float32(0.0)) for column in (moves.x_mm, moves.y_mm, moves.z_mm)]
    return np.asarray((steps[0] == 0.0) & (steps[1] == 0.0) & (steps[2] != 0.0))


def _seconds_of(program: Program, motion: Motion, cause: int) -> F64:
    """Return the seconds of each move that the ledger books to a cause of moves: (n,); see `viewer.timing.ledger`."""
    moves, seconds = program.moves, motion.plan.time_s.astype(np.float64)
    up = upright(program)
    beads = (moves.kind == BEAD) & ~up
    if cause > _RAMPS:
        alone = np.isin(moves.kind, (RETRACT, PRIME))
        group = np.where(alone, _FILAMENT, np.where(up, _HEIGHT, _TRAVEL))
        return np.where(~beads & (group == cause), seconds, 0.0)
    # the ledger's kernel divides these two as float32: the same here, or the sums would differ in the sixth digit
    at_limit = np.minimum(_over(moves.length_mm, motion.plan.limit_mm_s), seconds)
    if cause == _RAMPS:
        return np.where(beads, seconds - at_limit, 0.0)
    laying = np.minimum(_over(moves.length_mm, program.settings.commanded_mm_s(moves)), at_limit)
    return np.where(beads, laying if cause == _LAYING else at_limit - laying, 0.0)


def _over(length: F32, speed: F32 | F64) -> F64:
    """Return length over speed; infinite where there is no speed."""
    times = np.full(len(length), np.inf, np.result_type(length, speed))
    return np.divide(length, speed, out=times, where=speed > 0.0).astype(np.float64)
