"""Each print against what the others of its printer say of it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from viewer.printlog.estimate import LEAST_PRINTS, kept_rows, left_out, prior_for
from viewer.printlog.history import History


@dataclass(frozen=True, slots=True)
class Point:
    """One print that was done; times as shares of the computed one."""

    number: int
    """In the store."""
    computed_s: float
    real: float
    expected: float
    """The corrected estimate, from the other prints."""
    low: float
    high: float
    """The interval that should hold nine prints of ten."""
    believed: bool
    """Whether other estimates rest on it; else it lies too far off to be true."""

    @property
    def held(self) -> bool:
        """Whether it lies in its interval."""
        return self.low <= self.real <= self.high


def points_of(numbers: Sequence[int], history: History) -> dict[str, list[Point]]:
    """Return the prints by printer, of those with enough prints for a corrected estimate without one of them.

    Parameters
    ----------
    numbers
        The prints' numbers, in the order of `history`.
    """
    mask = history.is_done & (history.computed_s > 0.0)
    past, which = history.where(mask), np.asarray(numbers, np.int64)[mask]
    found = {}
    for printer in np.unique(past.printer):
        mine = past.printer == printer
        if mine.sum() > LEAST_PRINTS:
            found[str(printer)] = _points(which[mine].tolist(), past.where(mine))
    return found


def _points(numbers: list[int], past: History) -> list[Point]:
    x, y = past.parts, past.ratio
    kept = kept_rows(x, y)
    expected, half = left_out(x, y, kept, prior_for(x[kept], y[kept]))
    columns = (past.computed_s, y, expected, np.maximum(expected - half, 0.0), expected + half, kept)
    return [Point(*row) for row in zip(numbers, *(column.tolist() for column in columns), strict=True)]
