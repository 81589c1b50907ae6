"""The `Layers` columns and the roles."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
import numpy.typing as npt

from viewer.arrays import F64, I32
from viewer.cards.workshop import WORD_ROLES

FLAT_MM: Final = 0.004
"""Heights closer than this are one height: programs write two or three decimals."""

UNLABELLED: Final = 0
OUTLINE: Final = 1
INNER: Final = 2
INFILL: Final = 3
SOLID: Final = 4
BRIDGE: Final = 5
SUPPORT: Final = 6
HOLD: Final = 7
PURGE: Final = 8

ROLE_NAMES: Final = WORD_ROLES
"""Name of role number k: written once, in the cards, which stand before all."""


@dataclass(frozen=True, slots=True, eq=False)
class Layers:
    """One row a layer, in program order; a layer is one run of moves.

    Layer number k (from 1, as people count) is row k - 1 and owns the moves
    ``first_move[k - 1]`` to ``first_move[k]`` (exclusive). What comes before ``first_move[0]`` is the
    prelude: purge lines and the way to the part. What comes after the last layer's end is the coda.
    """

    first_move: I32  # (n + 1,)
    height_mm: F64  # (n,) of the beads' tops above the plate
    thickness_mm: F64  # (n,) above the layer it rests on
    object: I32  # (n,) 0, 1, ... of objects printed one after another
    is_first: npt.NDArray[np.bool_]  # (n,) rests on the plate: the first of its object
    spiral: npt.NDArray[np.bool_]  # (n,) the height rises along the bead

    def __len__(self) -> int:
        """Return the number of layers."""
        return len(self.height_mm)

    @property
    def objects(self) -> int:
        """How many objects were printed one after another."""
        return int(self.object.max()) + 1 if len(self) else 0

    def moves_of(self, number: int) -> slice:
        """Return the moves of layer ``number`` (from 1)."""
        return slice(int(self.first_move[number - 1]), int(self.first_move[number]))

    def of_moves(self, moves: npt.ArrayLike) -> npt.NDArray[np.intp]:
        """Return the layer number (from 1; 0 = prelude; n + 1 = coda) of each move index."""
        return np.searchsorted(self.first_move, np.asarray(moves), side="right")
