"""Closing coasts: travel at a bead's speed from the end of a loop to its start, on which the nozzle still oozes.

::

    start .---<---.          the last millimetres of the loop are laid by what is left under pressure in the nozzle:
          .        |         no filament is fed on them, and yet they are material
          end--->--'

Programs end loops so to keep the seam small. Common practice, no source.
"""

from __future__ import annotations

from typing import Final

import numpy as np
import numpy.typing as npt

from viewer.read.moves import BEAD, TRAVEL, WIPE, Moves

MAX_MM: Final = 5.0
"""Longer travel leaves no bead."""
SAME_SPEED: Final = 0.05
"""Share by which the speed of a coast may differ from its bead's."""
MEET_MM: Final = 0.05
"""How near to its start a loop must be closed: half a cell of the finest masks."""

Rows = npt.NDArray[np.intp]


def closing_coasts(moves: Moves, first: int, last: int) -> tuple[Rows, Rows]:
    """Return the moves that close the loops of the beads among the moves ``first`` to ``last`` (exclusive).

    A layer's moves end with its last bead: a coast may come after them.

    Returns
    -------
    coasts, beads
        Rows of travel (or wiping) moves, and for each the row of the bead whose width it has.
    """
    coasts: list[int] = []
    beads: list[int] = []
    ends = _candidates(moves, first, last)
    if not len(ends):
        return ends, ends
    for start, end in zip(_chain_starts(moves, first, ends), ends.tolist(), strict=True):
        stop = _closed_at(moves, start, end)
        coasts += range(end + 1, stop)
        beads += [end] * (stop - end - 1)
    return np.array(coasts, np.intp), np.array(beads, np.intp)


def _candidates(moves: Moves, first: int, last: int) -> Rows:
    """Return the beads that are followed by a short move at the same speed and height without filament."""
    own = slice(first, last + 1)
    kind, speed, z, length = moves.kind[own], moves.speed_mm_s[own], moves.z_mm[own], moves.length_mm[own]
    after = kind[1:]
    found = (kind[:-1] == BEAD) & ((after == TRAVEL) | (after == WIPE)) & (length[1:] <= MAX_MM)
    found &= np.abs(speed[1:] - speed[:-1]) <= SAME_SPEED * speed[:-1]
    found &= (z[1:] == z[:-1]) & (speed[:-1] > 0.0)
    return np.flatnonzero(found) + first


def _chain_starts(moves: Moves, first: int, ends: Rows) -> list[int]:
    """Return the first bead of each unbroken run of beads that ends with one of the beads ``ends``."""
    others = np.flatnonzero(moves.kind[first : int(ends[-1]) + 1] != BEAD) + first
    behind = np.concatenate([[first], others + 1])
    starts: list[int] = behind[np.searchsorted(others, ends)].tolist()
    return starts


def _closed_at(moves: Moves, start: int, end: int) -> int:
    """Return the row behind the coast that ends where the chain starts; ``end`` + 1 where there is none."""
    x, y, _ = moves.start_xyz(start)
    if abs(moves.x_mm[end] - x) + abs(moves.y_mm[end] - y) < MEET_MM:
        return end + 1
    speed, so_far = float(moves.speed_mm_s[end]), 0.0
    for row in range(end + 1, len(moves)):
        so_far += float(moves.length_mm[row])
        coasts = moves.kind[row] in (TRAVEL, WIPE) and moves.z_mm[row] == moves.z_mm[end]
        if not coasts or so_far > MAX_MM or abs(float(moves.speed_mm_s[row]) - speed) > SAME_SPEED * speed:
            break
        if abs(moves.x_mm[row] - x) + abs(moves.y_mm[row] - y) < MEET_MM:
            return row + 1
    return end + 1
