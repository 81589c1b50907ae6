"""Where the time of single moves goes: how far each speeds up and brakes, and what it loses to its commanded speed."""

from __future__ import annotations

from typing import Final

import numpy as np
import numpy.typing as npt

from viewer.arrays import F64
from viewer.program import Program
from viewer.read.moves import BEAD, TRAVEL, WIPE

Rows = npt.NDArray[np.intp]
_STEADY: Final = 1e-3
"""Changes of speed below this share of it count as none: float32 times would turn them into noise."""


def speeds_of(program: Program, rows: Rows) -> tuple[F64, F64, F64]:
    """Return entry, highest and exit speed of moves, mm/s.

    The exit is the next move's entry; 0 where the next one does not move sideways.
    """
    timing, kind = program.timing, program.moves.kind
    after = np.minimum(rows + 1, len(kind) - 1)
    sideways = (rows + 1 < len(kind)) & np.isin(kind[after], (TRAVEL, BEAD, WIPE))
    entry = timing.entry_mm_s[rows].astype(np.float64)
    peak = timing.peak_mm_s[rows].astype(np.float64)
    leave = np.where(sideways, timing.entry_mm_s[after].astype(np.float64), 0.0)
    return np.minimum(entry, peak), peak, np.minimum(leave, peak)


def inverse_acceleration(program: Program, rows: Rows) -> F64:
    """Return 1/a of the moves' trapezoids, s2/mm; 0 where the speed does not change.

    With entry u, highest v, exit w, time T and path L: the path missed against going at v all the time is
    v T - L = ((v - u)^2 + (v - w)^2) / (2 a).
    """
    u, v, w = speeds_of(program, rows)
    missed = v * program.timing.time_s[rows] - program.moves.length_mm[rows]
    changes = (v - u) ** 2 + (v - w) ** 2
    varied = changes > (_STEADY * v) ** 2
    return np.where(varied, 2.0 * np.maximum(missed, 0.0) / np.where(varied, changes, 1.0), 0.0)


def braking_share(program: Program, rows: Rows) -> F64:
    """Return the share (0 .. 1) of each move's time in which its speed changes: (2 v - u - w) / (a T)."""
    u, v, w = speeds_of(program, rows)
    seconds = program.timing.time_s[rows].astype(np.float64)
    changing = (2.0 * v - u - w) * inverse_acceleration(program, rows)
    share = np.divide(changing, seconds, out=np.zeros(len(rows)), where=seconds > 0.0)
    return np.clip(share, 0.0, 1.0)


def lost_share(program: Program, rows: Rows) -> F64:
    """Return the share (0 .. 1) of each move's time beyond its path over the commanded speed, with the factor M220.

    NaN where no speed is commanded.
    """
    moves = program.moves
    speed = program.settings.commanded_mm_s(moves, rows)
    seconds = program.timing.time_s[rows].astype(np.float64)
    wanted = np.divide(moves.length_mm[rows], speed, out=np.full(len(rows), np.nan), where=speed > 0.0)
    lost = np.divide(seconds - wanted, seconds, out=np.zeros(len(rows)), where=seconds > 0.0)
    return np.asarray(np.clip(lost, 0.0, 1.0))


def share_of_path(program: Program, move: int, seconds: float) -> float:
    """Return how much of a move's path (0 .. 1) is done `seconds` after its beginning."""
    row = np.array([move])
    length = float(program.moves.length_mm[move])
    whole = float(program.timing.time_s[move])
    if length <= 0.0 or seconds >= whole:
        return 1.0
    u, v, w = (float(speed[0]) for speed in speeds_of(program, row))
    slowness = float(inverse_acceleration(program, row)[0])
    rise, fall = (v - u) * slowness, (v - w) * slowness
    if slowness == 0.0:
        done = v * seconds
    elif seconds < rise:
        done = u * seconds + seconds * seconds / (2.0 * slowness)
    elif seconds <= whole - fall:
        done = v * seconds - (v - u) * rise / 2.0
    else:
        left = whole - seconds
        done = length - (w * left + left * left / (2.0 * slowness))
    return min(max(done / length, 0.0), 1.0)
