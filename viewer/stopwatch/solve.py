"""The planner inverted: the values of a card under which the blocks take the seconds that were timed.

Weighted least squares over replans (Levenberg-Marquardt in the logarithms of the values), and an interval for each
value from the rise of the sum of squares: D. M. Bates, D. G. Watts, *Nonlinear Regression Analysis and Its
Applications* (1988), chapter 6, profiles of the sum of squares (from memory); the other values follow along the linear
regression on the one that is moved.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import Final

import numpy as np

from viewer.arrays import F64

RANGE: Final = 4.0
"""Values are looked for from a fourth to four times what the card says."""
PRIOR: Final = 1.0
"""Spread of the logarithm about the card's value before anything is timed: a factor of e. It decides only where the
seconds say nothing."""
MOST_STEPS: Final = 40
HALVINGS: Final = 40
EXACT: Final = 0.02
"""Of the rise of the sum of squares at an interval's end: the end itself is exact to half of it."""
STEP: Final = 2e-3
"""Of the logarithms, for derivatives: the planner's float32 columns are exact to 1e-7."""

Seconds = Callable[[F64], F64]


@dataclass(frozen=True, slots=True, eq=False)
class Problem:
    """What is known: seconds as timed, their error, and the seconds of any values."""

    seconds_of: Seconds
    """Logarithms of values over the card's, (k,), to seconds of the blocks, (n,)."""
    timed_s: F64
    error_s: float
    """Standard deviation of each."""
    most: F64
    """(k,) upper bounds of the logarithms: a speed above the commanded one is not seen."""

    def residuals(self, x: F64) -> F64:
        """Return the differences in units of their error, those from the card at the end: (n + k,)."""
        off = (self.timed_s - self.seconds_of(x)) / self.error_s
        return np.concatenate([off, x / PRIOR])

    def squares(self, x: F64) -> float:
        """Return the sum of the squares."""
        off = self.residuals(x)
        return float(off @ off)

    def jacobian(self, x: F64, here: F64) -> F64:
        """Return the derivatives of the residuals, (n + k, k), by differences downwards: upwards may be out of bounds.

        ``here`` are the residuals at `x`.
        """
        columns = []
        for k in range(len(x)):
            step = np.zeros(len(x))
            step[k] = STEP
            columns.append((here - self.residuals(x - step)) / STEP)
        return np.column_stack(columns)


@dataclass(frozen=True, slots=True, eq=False)
class Solution:
    """The values that fit best, as logarithms over the card's."""

    x: F64
    squares: float
    """Sum of squares of the seconds alone, in units of their error."""
    covariance: F64


def solve(problem: Problem) -> Solution:
    """Return the values that fit best."""
    x, damping = np.zeros(len(problem.most)), 1e-3
    best = problem.squares(x)
    for _ in range(MOST_STEPS):
        off = problem.residuals(x)
        slopes = problem.jacobian(x, off)
        normal, downhill = slopes.T @ slopes, -(slopes.T @ off)
        while damping < 1e9:
            step = np.linalg.solve(normal + damping * np.diag(np.diag(normal)), downhill)
            new = np.clip(x + step, -math.log(RANGE), problem.most)
            squares = problem.squares(new)
            if squares <= best:
                break
            damping *= 8.0
        else:
            break
        moved, gained = float(np.abs(new - x).max()), best - squares
        x, best, damping = new, squares, max(damping / 16.0, 1e-9)
        if moved < 1e-5 or gained < 1e-6:
            break
    off = problem.residuals(x)
    slopes, seconds = problem.jacobian(x, off), off[: len(problem.timed_s)]
    return Solution(x, float(seconds @ seconds), np.asarray(np.linalg.inv(slopes.T @ slopes), np.float64))


def interval(problem: Problem, found: Solution, k: int, quantile: float) -> tuple[float | None, float | None]:
    """Return the bounds of one value's logarithm, None where no bound is seen.

    Parameters
    ----------
    quantile
        Of the standard normal distribution: 1.645 for an interval of 90 %.
    """
    least = problem.squares(found.x)
    along = found.covariance[:, k] / found.covariance[k, k]

    def rise(distance: float) -> float:
        x = np.clip(found.x + distance * along, -2.0 * math.log(RANGE), problem.most)
        return problem.squares(x) - least

    guess = quantile * math.sqrt(found.covariance[k, k])
    ends = []
    for bound in (-math.log(RANGE), float(problem.most[k])):
        far = bound - found.x[k]
        seen = abs(far) > guess * EXACT and rise(far) > quantile**2
        ends.append(found.x[k] + _edge(rise, far, guess, quantile**2) if seen else None)
    return ends[0], ends[1]


def _edge(rise: Callable[[float], float], far: float, guess: float, wanted: float) -> float:
    """Return the distance, towards `far`, at which the sum of squares has risen by what is wanted.

    It rises about with the square of the distance; where it does not, the span that is left is halved.
    """
    low, high = 0.0, far
    distance = math.copysign(min(guess, abs(far)), far)
    for _ in range(HALVINGS):
        risen = rise(distance)
        low, high = (distance, high) if risen < wanted else (low, distance)
        if abs(risen / wanted - 1.0) < EXACT or abs(high - low) < EXACT * guess:
            break
        distance *= math.sqrt(wanted / risen) if risen > 0.0 else 2.0
        if not min(low, high) < distance < max(low, high):
            distance = 0.5 * (low + high)
    return distance
