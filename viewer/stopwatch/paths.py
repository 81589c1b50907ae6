"""The paths of the blocks: each starts and ends in the middle of the room, so that nothing moves between two blocks."""

from __future__ import annotations

from typing import Final

import numpy as np

from viewer.arrays import F64

DIGITS: Final = 3
"""Of coordinates in the program, mm; the planner sees the same."""


def strokes(axis: int, low_mm: float, high_mm: float, count: int) -> F64:
    """Return `count` (even) full strokes along an axis (0 to 2) between two places, from the middle and back to it.

    ``low_mm`` <= 0 < ``high_mm`` are distances from the middle; with ``low_mm`` 0 all strokes start or end there. (n, 3).
    """
    along = np.where(np.arange(count + 1) % 2 == 0, high_mm, low_mm)
    if low_mm == 0.0:
        along = np.where(np.arange(count + 1) % 2 == 0, 0.0, high_mm)
    else:
        along = np.concatenate([[0.0], along, [0.0]])
    points = np.zeros((len(along), 3))
    points[:, axis] = along
    return np.round(points, DIGITS)


def polygon(corners: int, side_mm: float, rounds: int) -> F64:
    """Return a regular polygon in X and Y, gone round so often from one of its corners: (corners x rounds + 1, 3)."""
    turn = 2.0 * np.pi / corners * np.arange(corners)
    once = side_mm * np.cumsum(np.column_stack([np.cos(turn), np.sin(turn), np.zeros(corners)]), axis=0)
    points = np.concatenate([np.zeros((1, 3)), np.tile(once, (rounds, 1))])
    return np.round(points, DIGITS) + 0.0
