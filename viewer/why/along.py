"""Speed along the path: what the planner makes of each move over a span of time, what was commanded, what limits."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from viewer.arrays import F64, I64, U8
from viewer.program import Program
from viewer.read.moves import PRIME, RETRACT
from viewer.timing.limiters import Limiters
from viewer.why.ledger import limiters_of_program


@dataclass(frozen=True, slots=True, eq=False)
class SpeedAlong:
    """Speeds over elapsed time; for filament alone they are the filament's."""

    time_s: F64  # (points,) elapsed, waits included; speed runs straight from point to point
    speed_mm_s: F64  # (points,) 0 while the machine waits
    move: I64  # (m,) moves of the span that take time
    start_s: F64  # (m,) when each begins
    end_s: F64  # (m,)
    commanded_mm_s: F64  # (m,) M220 applied; 0: none
    limiter: U8  # (m,) what sets the speed limit: 0 as commanded, k: LIMITERS[k - 1]


def speed_along(
    program: Program, begin_s: float, end_s: float, limiters: Limiters | None = None
) -> SpeedAlong:
    """Return the speeds of all moves that run in a span of elapsed time.

    Parameters
    ----------
    program
        As it was opened.
    begin_s, end_s
        The span; moves at its ends are told whole.
    limiters
        From `limiters_of_program`, where that was done already.
    """
    limiters = limiters or limiters_of_program(program)
    timing, moves = program.timing, program.moves
    first, last = timing.progress.move_at_time(begin_s), timing.progress.move_at_time(end_s)
    rows = first + np.flatnonzero(timing.time_s[first : last + 1] > 0.0)
    start = timing.progress.time_at_move(rows)
    seconds = timing.time_s[rows].astype(np.float64)
    time_s, speed = _points(program, rows, start, seconds, limiters)
    return SpeedAlong(
        time_s=time_s,
        speed_mm_s=speed,
        move=rows,
        start_s=start,
        end_s=start + seconds,
        commanded_mm_s=program.settings.commanded_mm_s(moves, rows),
        limiter=limiters.limiter[rows],
    )


def _points(program: Program, rows: I64, start: F64, seconds: F64, limiters: Limiters) -> tuple[F64, F64]:
    """Return the corners of the trapezoids, four a move, and two more for each wait between two moves.

    With d the way, p the peak and T the duration, the cruise takes T - A (2 p - v0 - v1) and the ramps lay
    A (2 p^2 - v0^2 - v1^2) / 2 back, so that 1 / a = A = 2 (p T - d) / ((p - v0)^2 + (p - v1)^2).
    """
    moves, timing = program.moves, program.timing
    alone = np.isin(moves.kind[rows], (RETRACT, PRIME))
    way = np.where(alone, np.abs(moves.fed_mm[rows]), moves.length_mm[rows]).astype(np.float64)
    entry, peak = (column[rows].astype(np.float64) for column in (timing.entry_mm_s, timing.peak_mm_s))
    leaving = np.minimum(limiters.leaving_mm_s[rows].astype(np.float64), peak)
    squares = (peak - entry) ** 2 + (peak - leaving) ** 2
    inverse = np.divide(
        2.0 * np.maximum(peak * seconds - way, 0.0), squares, out=np.zeros(len(rows)), where=squares > 0.0
    )
    up, down = inverse * (peak - entry), inverse * (peak - leaving)
    fitting = np.minimum(1.0, np.divide(seconds, up + down, out=np.ones(len(rows)), where=up + down > 0.0))
    up, down = up * fitting, down * fitting  # float32 rounds times and speeds
    times = np.stack([start, start + up, start + seconds - down, start + seconds], axis=1)
    speeds = np.stack([entry, peak, peak, leaving], axis=1)
    waits = 1 + np.flatnonzero(start[1:] > times[:-1, 3] + 1e-6)
    between = np.stack([times[waits - 1, 3], start[waits]], axis=1).ravel()
    at = np.repeat(4 * waits, 2)
    return np.insert(times.ravel(), at, between), np.insert(speeds.ravel(), at, 0.0)
