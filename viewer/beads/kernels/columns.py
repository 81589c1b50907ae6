"""The columns that the kernels of beads read and fill, and codes of moves and roles."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final, NamedTuple

if TYPE_CHECKING:
    from viewer.arrays import F32, F64, I32, U8

# a kind of a move, as in viewer.read.moves, and roles, as in viewer.layers.layers
BEAD: Final = 1
HOLD: Final = 7
PURGE: Final = 8


class Moves(NamedTuple):
    """Columns of `viewer.read.moves.Moves`, read-only: (n,) each."""

    x_mm: F32
    y_mm: F32
    z_mm: F32
    length_mm: F32
    fed_mm: F32
    kind: U8


class Layers(NamedTuple):
    """Columns of `viewer.layers.layers.Layers`, read-only."""

    first_move: I32  # (layers + 1,)
    thickness_mm: F64  # (layers,)
    object: I32  # (layers,)


class Beads(NamedTuple):
    """Columns of `viewer.beads.section.Beads` to be filled: (beads,) each."""

    x0_mm: F32
    y0_mm: F32
    x1_mm: F32
    y1_mm: F32
    width_mm: F32
    thickness_mm: F32
    move: I32


class Segments(NamedTuple):
    """Straight lines with a width, read-only: (n,) each; the columns of beads that drawing looks at."""

    x0_mm: F32
    y0_mm: F32
    x1_mm: F32
    y1_mm: F32
    width_mm: F32
