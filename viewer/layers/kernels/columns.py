"""The columns that the kernels of layers read and fill, and codes of moves and roles."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final, NamedTuple

if TYPE_CHECKING:
    from viewer.arrays import F32, I32, U8, Bool

# kinds of a move, as in viewer.read.moves
TRAVEL: Final = 0
BEAD: Final = 1
PLACE: Final = 5

# roles, as in viewer.layers.layers
UNLABELLED: Final = 0
OUTLINE: Final = 1
INNER: Final = 2
INFILL: Final = 3
SOLID: Final = 4
HOLD: Final = 7
PURGE: Final = 8


class Moves(NamedTuple):
    """Columns of `viewer.read.moves.Moves`, read-only: (n,) each."""

    x_mm: F32
    y_mm: F32
    z_mm: F32
    length_mm: F32
    speed_mm_s: F32
    kind: U8


class Way(NamedTuple):
    """Those columns of the moves that roles are read from, read-only: what is not handed on need not be compiled."""

    x_mm: F32
    y_mm: F32
    speed_mm_s: F32
    kind: U8


class Layers(NamedTuple):
    """The layers in the order in which roles are read, read-only; rank and order: see `viewer.layers.roles`."""

    first_move: I32  # (layers + 1,) in program order, as `spiral` and the others but ``order``
    spiral: Bool  # (layers,)
    order: I32  # (layers,) rows of the other columns
    rank: I32  # (layers,) which layer of its object it is, 0 the lowest
    has_next: Bool  # (layers,) whether the layer above comes just before it in this order
