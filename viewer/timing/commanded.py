"""The speed that a program commands of its moves."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from viewer.arrays import F64
from viewer.read.moves import Moves
from viewer.read.settings import Settings

Rows = npt.NDArray[np.integer] | slice


def commanded_mm_s(moves: Moves, settings: Settings, rows: Rows) -> F64:
    """Return the commanded speed of some moves, the speed factor M220 applied, in mm/s; 0 where none is commanded.

    A factor of 0 or less, with which nothing could be planned, counts as not stated; see `timing.limits.limits_for`.
    """
    factor = settings.column("speed_factor")[settings.of_move[rows]]
    return np.asarray(moves.speed_mm_s[rows] * np.where(factor > 0.0, factor, 1.0), np.float64)
