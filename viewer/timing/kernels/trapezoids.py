r"""The kernels that run moves as trapezoids, and sum their time.

::

    speed   peak  _______
                 /       \       speeding up, cruising, braking, at one acceleration a:
          entry /         \      time = (2 peak - entry - exit) / a + cruise / peak
                           \ exit
          ----------------------> time
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Final, NamedTuple

import numpy as np

from viewer.jit import inner_kernel, kernel
from viewer.timing.kernels.columns import Moves, Profile, Runs, distance_of

if TYPE_CHECKING:
    from viewer.arrays import F32, F64, I64

BLOCK: Final = 1024
"""Moves between two entries of the running sum of time."""


class Trapezoid(NamedTuple):
    """Duration, s, and highest speed, mm/s, of one move."""

    seconds: float
    peak: float


@inner_kernel
def _trapezoid(d, change, limit, entry, leaving, entry_squared, exit_squared):
    """Return the trapezoid of one move of distance d > 0; ``change`` is 2 a d, ``leaving`` the exit speed.

    peak^2 = min(limit^2, (entry^2 + exit^2) / 2 + a d); 2 d / change is 1 / a. Where the limit is not reached there is
    no cruise.
    """
    squares = entry_squared + exit_squared
    squared = min(limit * limit, 0.5 * (squares + change))
    squared = max(squared, entry_squared, exit_squared)  # float32 rounds the junctions up, too
    peak = np.sqrt(squared)
    seconds = (2.0 * peak - entry - leaving) * (2.0 * d / change)
    cruise = d * (1.0 - (2.0 * squared - squares) / change)
    if cruise > 0.0:
        seconds += cruise / peak
    return Trapezoid(seconds, peak)


@kernel
def run_moves(moves: Moves, runs: Runs, profile: Profile, block_s: F64) -> float:
    """Run all moves as trapezoids; return the whole time, s.

    ``time`` (2 a d) and ``entry`` (squares) of the profile become durations and speeds, see `Profile`. The exit speed is
    the next junction's or what the acceleration reaches: exit^2 <= entry^2 + 2 a d. ``block_s[k]`` becomes the time
    before move k * BLOCK. Moves without a distance get 0 in all columns.
    """
    total = 0.0
    for run in range(len(runs.rest)):
        first, end = runs.starts[run], runs.starts[run + 1]
        square0 = np.float64(profile.entry[first])
        v0 = np.sqrt(square0)
        for i in range(first, end):
            if i % BLOCK == 0:
                block_s[i // BLOCK] = total
            d = distance_of(moves.kind[i], float(moves.length_mm[i]), float(moves.fed_mm[i]))
            change = float(profile.time[i])
            following = float(profile.entry[i + 1]) if i + 1 < end else runs.rest[run]
            square1 = min(following, square0 + change)
            v1 = np.sqrt(square1)
            if d == 0.0:
                profile.time[i], profile.entry[i], profile.peak[i] = 0.0, 0.0, 0.0
            else:
                move = _trapezoid(d, change, float(profile.limit[i]), v0, v1, square0, square1)
                profile.time[i], profile.entry[i], profile.peak[i] = move.seconds, v0, move.peak
                total += float(profile.time[i])  # as stored, so that sums over the column agree
            square0, v0 = square1, v1
    return total


@kernel
def time_before(time: F32, block_s: F64, marks: I64, out: F64) -> None:
    """Fill ``out`` (marks,) with the time of all moves before each mark (0 .. n), s, waits left out."""
    n = len(time)
    for k in range(len(marks)):
        mark = min(max(marks[k], 0), n)
        block = min(mark // BLOCK, max(len(block_s) - 1, 0))
        total = block_s[block] if len(block_s) > 0 else 0.0
        for i in range(block * BLOCK, mark):
            total += float(time[i])
        out[k] = total
