"""Travel that leaves the room: beyond the edges that the nozzle reaches, above them, and below the plate."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np

from viewer.arrays import F32, F64, Bool
from viewer.read.moves import TRAVEL, WIPE
from viewer.shape.columns import ShapeColumns

NEAR_MM: Final = 0.01
"""Programs write three decimals; less counts as inside."""
SIDES: Final = ("left", "right", "front", "back", "top")


@dataclass(frozen=True, slots=True)
class Beyond:
    """The moves that leave the room on one side."""

    side: int
    """Index of `SIDES`."""
    first_move: int
    worst_move: int
    beyond_mm: float
    """How far the end of the worst lies beyond."""
    moves: int


def travels(columns: ShapeColumns, begin: int, end: int) -> Bool:
    """Return the travels and wipes (n,) among the moves begin .. end - 1."""
    chosen = np.isin(columns.moves.kind, (TRAVEL, WIPE))
    chosen[:begin] = False
    chosen[end:] = False
    return np.asarray(chosen)


def beyond_sides(columns: ShapeColumns, chosen: Bool, bounds_mm: F64) -> list[Beyond]:
    """Return what leaves a box, side by side.

    Parameters
    ----------
    chosen
        (n,) the moves to look at; their ends are.
    bounds_mm
        (5,) left, right, front, back, top; infinite where unknown.
    """
    x, y, z = (getattr(columns.moves, name) for name in ("x_mm", "y_mm", "z_mm"))
    left, right, front, back, top = bounds_mm.tolist()
    found = []
    for side, away in enumerate((left - x, x - right, front - y, y - back, z - top)):
        found += _side(side, np.where(chosen, away, np.float32(-np.inf)))
    return found


def _side(side: int, away: F32) -> list[Beyond]:
    outside = np.flatnonzero(away > NEAR_MM)
    if not len(outside):
        return []
    worst = int(outside[np.argmax(away[outside])])
    return [Beyond(side, int(outside[0]), worst, float(away[worst]), len(outside))]


def below_plate(columns: ShapeColumns, chosen: Bool, bounds_mm: F64, limit_mm: float) -> Beyond | None:
    """Return the moves over the plate that go deeper than a limit below its surface; None where there is none.

    What lies outside of the bounds is left out: beside the plate there may be room below its surface.
    """
    moves = columns.moves
    left, right, front, back = bounds_mm[:4].tolist()
    over = (moves.x_mm >= left) & (moves.x_mm <= right) & (moves.y_mm >= front) & (moves.y_mm <= back)
    deep = np.flatnonzero(chosen & over & (moves.z_mm < -np.float32(limit_mm)))
    if not len(deep):
        return None
    worst = int(deep[np.argmin(moves.z_mm[deep])])
    return Beyond(-1, int(deep[0]), worst, -float(moves.z_mm[worst]), len(deep))
