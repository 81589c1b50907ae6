"""Speeds and seconds of every move: limits, corners, look-ahead, trapezoids."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
import numpy.typing as npt

from viewer.arrays import F32, F64, I64, columns_of, read_only
from viewer.read.moves import PLACE, Moves
from viewer.read.settings import Settings
from viewer.timing.kernels import columns as k
from viewer.timing.kernels.constraints import limit_moves
from viewer.timing.kernels.look_ahead import look_ahead
from viewer.timing.kernels.trapezoids import BLOCK, run_moves, time_before
from viewer.timing.limits import JERK, JUNCTION_DEVIATION, LIMIT_FIELDS, RIGHT_ANGLE

_SMALLEST_JERK: Final = 1e-6
"""mm/s; a jerk of 0 becomes this, so that its reciprocal stays finite."""


@dataclass(frozen=True, slots=True, eq=False)
class Plan:
    """How every move runs; waits between moves are left out.

    For filament alone the speeds are the filament's.
    """

    time_s: F32  # (n,)
    entry_mm_s: F32  # (n,) speed at the start
    peak_mm_s: F32  # (n,) highest speed reached
    limit_mm_s: F32  # (n,) the commanded speed, cut to what the machine may do
    block_s: F64  # (ceil(n / 1024),) time of all moves before every 1024th
    moving_s: float  # time of all moves

    def moving_before(self, moves: npt.ArrayLike) -> F64:
        """Return the seconds of all moves before each of these (0 .. n), waits left out: (len(moves),)."""
        return moving_before(self.time_s, self.block_s, moves)


def plan(
    moves: Moves, settings: Settings, limits: F64, stops: npt.ArrayLike, planner_buffer_moves: int = 0
) -> Plan:
    """Plan the speed of every move.

    Straight moves with trapezoidal speed profiles between corner speeds; see the files of
    `viewer.timing.kernels`: ``limits`` of each move by itself, ``junctions`` between two moves, ``look_ahead``,
    ``trapezoids``.

    From a full stop a move starts at 0 by the junction deviation rules; by the jerk rule at the highest speed at
    which no axis jerks by more than its jerk, and it may end in a stop at such a speed too.
    Filament alone is planned on the E axis. Between it and a path the jerk rule looks at all four axes,
    with one speed for both; the junction deviation rules stop there.

    Parameters
    ----------
    moves : Moves
        n moves.
    settings : Settings
        ``of_move`` says which row of ``limits`` holds.
    limits : ndarray of float64, (rows, len(LIMIT_FIELDS))
        From `limits_for`.
    stops : array of int
        Moves before which the machine stands still. Row numbers outside 1 .. n - 1 change nothing; homing
        (`PLACE`) is a stop without being named.
    planner_buffer_moves : int
        How many moves the controller sees ahead; 0: all.

    Returns
    -------
    Plan
        Read-only columns. Memory: the columns and a few numbers a stop; no temporaries as long as the moves
        but one byte a move to find the `PLACE` rows.
    """
    n = len(moves)
    columns = columns_of(k.Moves, moves)
    starts = run_starts(moves, stops)
    runs = k.Runs(starts, np.zeros(len(starts) - 1))
    profile = k.Profile(*(np.empty(n, np.float32) for _ in range(4)))
    block_s = np.zeros(-(-n // BLOCK))
    limit_moves(columns, k.Machine(machine_table(limits), read_only(settings.of_move)), runs, profile)
    look_ahead(profile.time, profile.entry, runs, planner_buffer_moves)
    moving_s = run_moves(columns, runs, profile, block_s)
    return Plan(
        time_s=read_only(profile.time),
        entry_mm_s=read_only(profile.entry),
        peak_mm_s=read_only(profile.peak),
        limit_mm_s=read_only(profile.limit),
        block_s=read_only(block_s),
        moving_s=float(moving_s),
    )


def moving_before(time_s: F32, block_s: F64, moves: npt.ArrayLike) -> F64:
    """Return the seconds of all moves before each of these (0 .. n), waits left out: (len(moves),)."""
    marks: I64 = read_only(np.atleast_1d(np.asarray(moves)).astype(np.int64))
    result = np.empty(len(marks))
    time_before(read_only(time_s), read_only(block_s), marks, result)
    return result


def run_starts(moves: Moves, stops: npt.ArrayLike) -> I64:
    """Return the first moves of the runs between full stops, and n at the end: (runs + 1,)."""
    n = len(moves)
    places = np.flatnonzero(moves.kind == PLACE)
    inner = np.unique(np.concatenate([np.asarray(stops, np.int64).ravel(), places]))
    inner = inner[(inner > 0) & (inner < n)]
    return read_only(np.concatenate([[0], inner, [n] if n else []]).astype(np.int64))


def machine_table(limits: F64) -> F64:
    """Turn limits into what the kernel multiplies with: (rows, MACHINE_COLUMNS)."""

    def column(field: str) -> F64:
        return limits[:, LIMIT_FIELDS.index(field)]

    table = np.empty((len(limits), k.MACHINE_COLUMNS))
    for axis, name in enumerate("xyze"):
        table[:, k.INVERSE_SPEED_X + axis] = 1.0 / column(f"max_{name}_mm_s")
        table[:, k.INVERSE_ACCEL_X + axis] = 1.0 / column(f"accel_{name}_mm_s2")
        table[:, k.INVERSE_JERK_X + axis] = 1.0 / np.maximum(column(f"jerk_{name}_mm_s"), _SMALLEST_JERK)
    table[:, k.ACCEL_PRINT] = column("accel_print_mm_s2")
    table[:, k.ACCEL_TRAVEL] = column("accel_travel_mm_s2")
    table[:, k.ACCEL_RETRACT] = column("accel_retract_mm_s2")
    table[:, k.SPEED_FACTOR] = column("speed_factor")
    table[:, k.MAX_PATH] = column("max_path_mm_s")
    table[:, k.MIN_SEGMENT_S] = column("min_segment_time_s")
    table[:, k.RULE] = column("rule")
    centripetal = {
        JERK: np.zeros(len(limits)),
        JUNCTION_DEVIATION: column("junction_deviation_mm"),
        RIGHT_ANGLE: column("corner_mm_s") ** 2 * (np.sqrt(2.0) - 1.0),
    }
    table[:, k.CENTRIPETAL] = np.select(
        [column("rule") == rule for rule in centripetal], list(centripetal.values())
    )
    return read_only(table)
