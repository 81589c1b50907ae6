"""The `Moves` columns: what the nozzle did, one row a straight motion."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from viewer.arrays import F32, I32, U8

TRAVEL: Final = 0
"""A path, no filament (height changes too)."""
BEAD: Final = 1
"""Filament forward and a path."""
WIPE: Final = 2
"""Filament backward and a path."""
RETRACT: Final = 3
"""Filament backward, no path."""
PRIME: Final = 4
"""Filament forward, no path."""
PLACE: Final = 5
"""The position is set without a path (homing): counted nowhere, keeps row i starting where row i-1 ends."""

KIND_NAMES: Final = ("travel", "bead", "wipe", "retract", "prime", "place")


@dataclass(frozen=True, slots=True, eq=False)
class Moves:
    """One row a straight motion; an arc is several rows that share its line number.

    Row ``i`` starts where row ``i - 1`` ends; row 0 starts at (0, 0, 0). Positions are the
    machine's (G92 moves nothing). Values are stored as float32: at 300 mm that is 0.00003 mm, a
    thirtieth of the last digit programs write; lengths and filament are computed in float64 before
    they are stored, so that sums over millions of rows keep seven digits.
    """

    x_mm: F32  # (n,) end point
    y_mm: F32  # (n,)
    z_mm: F32  # (n,)
    length_mm: F32  # (n,) path in X Y Z; a chord of an arc carries its share of the true arc length
    fed_mm: F32  # (n,) mm of filament fed, signed; flow factor and volumetric E applied
    speed_mm_s: F32  # (n,) commanded speed (F), 0 where none was given yet; M220 not applied
    line: I32  # (n,) line of the file, from 1
    kind: U8  # (n,) TRAVEL ... PLACE

    def __len__(self) -> int:
        """Return the number of rows."""
        return len(self.kind)

    def start_xyz(self, i: int) -> tuple[float, float, float]:
        """Return where row ``i`` starts, mm."""
        if i <= 0:
            return (0.0, 0.0, 0.0)
        return (float(self.x_mm[i - 1]), float(self.y_mm[i - 1]), float(self.z_mm[i - 1]))
