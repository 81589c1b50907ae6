"""One row of `MoveColumns`: its kind, and its place in the columns."""

from __future__ import annotations

from viewer.jit import lean_inner_kernel
from viewer.read.kernels.state import (
    BEAD,
    LINE,
    N_MOVES,
    NOTHING,
    PRIME,
    PX,
    PY,
    PZ,
    RETRACT,
    TRAVEL,
    WIPE,
)

NO_LENGTH_MM = 1e-9  # paths and filament up to it are what rounding leaves


@lean_inner_kernel
def kind_of(length, fed, switched_on):
    """Sort a motion by its path and its filament, mm; NOTHING where nothing happens.

    switched_on: M101 in a program that has no E words: whatever moves is a bead.
    """
    moves = length > NO_LENGTH_MM
    if fed > NO_LENGTH_MM:
        return BEAD if moves else PRIME
    if fed < -NO_LENGTH_MM:
        return WIPE if moves else RETRACT
    if moves:
        return BEAD if switched_on else TRAVEL
    return NOTHING


@lean_inner_kernel
def append_move(whole, real, moves, length, fed, speed, kind):
    """Append one move that ends at the present position."""
    k = whole[N_MOVES]
    moves.x_mm[k] = real[PX]
    moves.y_mm[k] = real[PY]
    moves.z_mm[k] = real[PZ]
    moves.length_mm[k] = length
    moves.fed_mm[k] = fed
    moves.speed_mm_s[k] = speed
    moves.line[k] = whole[LINE]
    moves.kind[k] = kind
    whole[N_MOVES] = k + 1
