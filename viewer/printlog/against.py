"""Each print against what the others of its printer say of it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from viewer.printlog.estimate import INTERVAL, LEAST_PRINTS, PRIOR_FREEDOM, SPREAD, kept_rows, prior_precision
from viewer.printlog.history import Floats, History
from viewer.printlog.student_t import t_quantile


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
    expected, half = left_out(x, y, kept)
    columns = (past.computed_s, y, expected, np.maximum(expected - half, 0.0), expected + half, kept)
    return [Point(*row) for row in zip(numbers, *(column.tolist() for column in columns), strict=True)]


def left_out(x: Floats, y: Floats, kept: NDArray[np.bool_]) -> tuple[Floats, Floats]:
    """Return what the others say of each print: the expected share real / computed and half its interval, both (n,).

    Parameters
    ----------
    x, y
        Shares of the parts (n, k), which sum to 1, and real / computed (n,).
    kept
        Which prints are believed, (n,): only they say anything of the others.

    Notes
    -----
    The posteriors of `fit` without print i, in closed form about "as computed" (g = factors - 1, z = y - 1): with
    P_i = P - x_i x_i' and c_i = X'z - x_i z_i it is g_i = P_i^-1 c_i, and the sum of squares is z'z - z_i^2 - c_i' g_i.
    """
    z, used = y - 1.0, kept.astype(np.float64)
    believed = x[kept]
    matrices = (prior_precision() + believed.T @ believed)[None] - used[:, None, None] * x[:, :, None] * x[
        :, None, :
    ]
    sides = (believed.T @ z[kept])[None] - (used * z)[:, None] * x
    solved = np.linalg.solve(matrices, np.stack([sides, x], axis=2))
    away, spread_of_x = solved[:, :, 0], np.sum(x * solved[:, :, 1], axis=1)
    freedom = PRIOR_FREEDOM + used.sum() - used
    square = PRIOR_FREEDOM * SPREAD**2 + z[kept] @ z[kept] - used * z**2 - np.sum(sides * away, axis=1)
    # of a believed print one degree of freedom less is left than of one that says nothing
    fewer, all_of_them = (
        t_quantile(0.5 + 0.5 * INTERVAL, PRIOR_FREEDOM + kept.sum() - n) for n in (1.0, 0.0)
    )
    quantile = np.where(kept, fewer, all_of_them)
    return 1.0 + np.sum(x * away, axis=1), quantile * np.sqrt(square / freedom * (1.0 + spread_of_x))
