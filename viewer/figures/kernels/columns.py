"""The columns that the kernels of figures read, and codes of moves and roles."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final, NamedTuple

import numpy as np

from viewer.jit import inner_kernel

if TYPE_CHECKING:
    from viewer.arrays import F32, F64, I32, U8

# kinds of a move, as in viewer.read.moves, and roles, as in viewer.layers.layers
TRAVEL: Final = np.int64(0)
BEAD: Final = np.int64(1)
WIPE: Final = np.int64(2)
PLACE: Final = np.int64(5)
HOLD: Final = np.int64(7)
PURGE: Final = np.int64(8)


class Moves(NamedTuple):
    """Columns of `viewer.read.moves.Moves`, read-only: (n,) each."""

    x_mm: F32
    y_mm: F32
    z_mm: F32
    length_mm: F32
    fed_mm: F32
    line: I32
    kind: U8


class Layers(NamedTuple):
    """Columns of `viewer.layers.layers.Layers`, read-only."""

    first_move: I32  # (layers + 1,)
    thickness_mm: F64  # (layers,)


@inner_kernel
def is_part(kind, role):
    """Whether a move is a bead of the part: neither hold-down nor purge."""
    return kind == BEAD and role != HOLD and role != PURGE
