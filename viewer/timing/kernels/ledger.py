"""The kernels that book the time of moves to causes."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final, NamedTuple

import numpy as np

from viewer.jit import inner_kernel, kernel
from viewer.timing.kernels.columns import BEAD, Moves, distance_of, is_filament_alone

if TYPE_CHECKING:
    from viewer.arrays import F32, F64, I32, U8

# causes: each is its position in viewer.timing.ledger.CAUSES; typed, as helper kernels get them
LAYING: Final = np.int64(0)
HELD_BACK: Final = np.int64(1)
RAMPS: Final = np.int64(2)
TRAVELLING: Final = np.int64(3)
FILAMENT_ONLY: Final = np.int64(4)
HEIGHT: Final = np.int64(5)


class Rows(NamedTuple):
    """To which settings, role and layer each move belongs; read-only."""

    setting: I32  # (n,) row of ``speed_factor``
    speed_factor: F64  # (rows,) M220
    role: U8  # (n,), or (0,): all moves belong to role 0
    first_move: I32  # (layers + 1,)


class Tables(NamedTuple):
    """Seconds by cause."""

    by_layer: F64  # (layers + 2, causes)
    by_role: F64  # (roles + 1, causes)


class Shares(NamedTuple):
    """The seconds of a bead, split: they add up to its time."""

    laying: float
    held_back: float
    ramps: float


@inner_kernel
def _shares_of(d, commanded, limit, seconds):
    """Split the time of a bead: d / commanded speed laying, d / limit less that held back, the rest ramps.

    Rounding never makes a part negative. Where no speed is commanded (0), nothing is held back.
    """
    at_limit = min(d / limit, seconds)
    laying = min(d / commanded, at_limit) if commanded > 0.0 else at_limit
    return Shares(laying, at_limit - laying, np.float64(seconds - at_limit))


@inner_kernel
def _add(tables, layer, role, cause, seconds):
    """Book seconds to one cause."""
    tables.by_layer[layer, cause] += seconds
    tables.by_role[role, cause] += seconds


@kernel
def book_moves(moves: Moves, rows: Rows, limit: F32, time: F32, tables: Tables) -> None:
    """Book the time of every move, adding to the tables.

    Parameters
    ----------
    moves, rows
        Columns of the moves.
    limit, time
        (n,) speed limit, mm/s, and duration, s, of each move.
    tables
        Changed.
    """
    layer = 0
    x0, y0, z0 = np.float32(0.0), np.float32(0.0), np.float32(0.0)
    for i in range(len(moves.kind)):
        while layer < len(rows.first_move) and i >= rows.first_move[layer]:
            layer += 1
        x, y, z = moves.x_mm[i], moves.y_mm[i], moves.z_mm[i]
        upright = x == x0 and y == y0 and z != z0
        x0, y0, z0 = x, y, z
        seconds = float(time[i])
        if seconds == 0.0:
            continue
        role = rows.role[i] if len(rows.role) > 0 else np.uint8(0)
        kind = moves.kind[i]
        if kind == BEAD and not upright:
            commanded = float(moves.speed_mm_s[i]) * rows.speed_factor[rows.setting[i]]
            shares = _shares_of(float(moves.length_mm[i]), commanded, float(limit[i]), seconds)
            _add(tables, layer, role, LAYING, shares.laying)
            _add(tables, layer, role, HELD_BACK, shares.held_back)
            _add(tables, layer, role, RAMPS, shares.ramps)
        else:
            cause = FILAMENT_ONLY if is_filament_alone(kind) else HEIGHT if upright else TRAVELLING
            _add(tables, layer, role, cause, np.float64(seconds))


@kernel
def nominal_time(moves: Moves) -> float:
    """Return the sum of distance over commanded speed, s; moves without a speed count 0."""
    total = 0.0
    for i in range(len(moves.kind)):
        v = float(moves.speed_mm_s[i])
        if v > 0.0:
            total += distance_of(moves.kind[i], float(moves.length_mm[i]), float(moves.fed_mm[i])) / v
    return total
