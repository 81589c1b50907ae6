"""The `ModeChanges` columns: how the numbers of later lines are meant, one row a line that changes it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
import numpy.typing as npt

from viewer.arrays import F64, I32, read_only

RELATIVE: Final = 1
"""G91: positions are counted from where the nozzle is."""
E_RELATIVE: Final = 2
"""Filament is counted line by line: M83, or G91 where it counts for E."""
INCHES: Final = 4
"""G20."""
SKIPPING: Final = 8
"""Inside a conditional block that is not carried out."""
BY_VOLUME: Final = 16
"""M200: the E of the current tool is mm³."""
SHIFTED_SHIFT: Final = 5
"""From this bit on, one bit an axis whose origin G92 has put elsewhere: 1 X, 2 Y, 4 Z."""
PLANE_SHIFT: Final = 8
"""From this bit on, two bits: 0 G17, 1 G18, 2 G19."""
FIRST_PLANE: Final = 17


@dataclass(frozen=True, slots=True, eq=False)
class ModeChanges:
    """One row a line after which other modes hold, or another F that no move shows; row i holds until row i + 1.

    Rows hold all modes, not only what has changed, so that one search tells what holds at a line. Before the first
    row no bit is set: millimetres, absolute, plane G17, no speed. A line that changes F and moves along a path has no
    row: `Moves.speed_mm_s` tells it (see `speed_at`).
    """

    line: I32  # (n,) from 1, rising
    move: I32  # (n,) index of the next move
    modes: npt.NDArray[np.uint16]  # (n,) bits RELATIVE ... and fields SHIFTED_SHIFT, PLANE_SHIFT
    speed_mm_s: F64  # (n,) modal speed (F), 0 where none was given yet

    def __len__(self) -> int:
        """Return the number of rows."""
        return len(self.line)

    def row_before(self, line: int) -> int:
        """Return the row that holds when a line is carried out, -1 before the first."""
        return int(np.searchsorted(self.line, self.line.dtype.type(line), side="left")) - 1

    def modes_before(self, line: int) -> int:
        """Return the modes that hold when a line is carried out, as bits."""
        row = self.row_before(line)
        return int(self.modes[row]) if row >= 0 else 0


def no_changes() -> ModeChanges:
    """Return the columns of a program that changes no mode."""
    of_rows = read_only(np.zeros(0, np.int32))
    return ModeChanges(of_rows, of_rows, read_only(np.zeros(0, np.uint16)), read_only(np.zeros(0)))


def shifted_axes(modes: int) -> frozenset[str]:
    """Return the axes whose origin G92 has put elsewhere."""
    return frozenset(axis for k, axis in enumerate("XYZ") if modes >> SHIFTED_SHIFT & 1 << k)


def plane_of(modes: int) -> int:
    """Return 17, 18 or 19."""
    return FIRST_PLANE + (modes >> PLANE_SHIFT & 3)
