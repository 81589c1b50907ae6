"""What a print will really take: real times regressed on the computed parts, held to "as computed" by a prior.

The share real / computed of a print is a weighted mean of one factor a part; weights are the parts' shares of the
computed time. The factors have a normal prior about 1, the spread an inverse gamma prior, so that the posterior and the
prediction are known in closed form, the latter as Student's t (A. Gelman and others, *Bayesian Data Analysis*, 3rd ed.,
14.2 and 14.8: conjugate normal-inverse-gamma linear model).
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from viewer.printlog.history import Floats, History, causes_of, history_of_rows
from viewer.printlog.student_t import t_quantile

SPREAD: Final = 0.04
"""How far real times lie from computed ones, as a share, before anything is known (a guess, no source)."""
PRIOR_SPREAD: Final = (0.15, 0.5, 0.7)
"""How far the factors of `PARTS` lie from 1 before anything is known, as shares (a guess, no source)."""
MEASURED_SPREAD: Final = 0.04
"""The first of them where the card's speeds, accelerations and corner were measured (a guess, no source)."""
PRIOR_FREEDOM: Final = 2.0
"""For how many prints the guess of `SPREAD` counts."""
LEAST_PRINTS: Final = 3
"""With fewer prints there is no correction."""
INTERVAL: Final = 0.9
FAR: Final = 4.0
"""A print farther from the others than so many robust standard deviations is left out: somebody forgot to end it."""


@dataclass(frozen=True, slots=True)
class Fit:
    """Factors of `PARTS` after some prints: a normal-inverse-gamma posterior."""

    factors: Floats
    precision: Floats
    """(k, k), in units of the spread."""
    freedom: float
    spread: float
    """Estimated spread of the shares real / computed."""

    def prediction(self, parts_s: Floats, share: float = INTERVAL) -> tuple[float, float, float]:
        """Return the expected real time of a print of computed parts (k,), s, and the bounds that hold it."""
        total = float(parts_s.sum())
        x = parts_s / total
        middle = float(x @ self.factors)
        scale = self.spread * math.sqrt(1.0 + float(x @ np.linalg.solve(self.precision, x)))
        half = t_quantile(0.5 + 0.5 * share, self.freedom) * scale
        return middle * total, max(middle - half, 0.0) * total, (middle + half) * total


@dataclass(frozen=True, slots=True)
class Estimate:
    """A corrected estimate."""

    seconds: float
    low_s: float
    high_s: float
    prints: int
    """How many prints it rests on."""
    left_out: int
    """How many lay too far off to be true."""
    printer: str


def corrected_estimate(
    ledger_s: Mapping[str, float], history: History, printer: str, measured: bool = False
) -> Estimate | None:
    """Return what a program will really take on a printer.

    Parameters
    ----------
    ledger_s
        The program's computed ledger, s by cause.
    history
        Prints noted for that printer; those that were not done do not count.
    measured
        Whether the card's motion was measured at the machine: moving is believed to take what was computed then.

    Returns
    -------
    Estimate or None
        None with fewer than `LEAST_PRINTS` prints: the computed time is the best there is.
    """
    past, total = history.usable, sum(ledger_s.values())
    if len(past) < LEAST_PRINTS or total <= 0.0:
        return None
    parts = history_of_rows([(printer, "", True, total, total, *causes_of(ledger_s))]).parts[0]
    x, y = past.parts, past.ratio
    kept = kept_rows(x, y)
    middle, low, high = fit(x[kept], y[kept], measured).prediction(parts * total)
    return Estimate(middle, low, high, int(kept.sum()), int((~kept).sum()), printer)


def fit(x: Floats, y: Floats, measured: bool = False) -> Fit:
    """Return the posterior of the factors after shares (n, k) and real / computed (n,)."""
    prior = prior_precision(measured)
    precision = prior + x.T @ x
    roots = np.sqrt(prior)  # it is diagonal: rows as if they had been measured
    factors = least_squares(np.vstack([x, roots]), np.concatenate([y, roots.sum(axis=1)]))
    away = factors - 1.0
    freedom = PRIOR_FREEDOM + len(y)
    square = PRIOR_FREEDOM * SPREAD**2 + float(np.sum((y - x @ factors) ** 2)) + float(away @ prior @ away)
    return Fit(factors, precision, freedom, math.sqrt(square / freedom))


def prior_precision(measured: bool = False) -> Floats:
    """Return the prior's precision, (k, k), in units of `SPREAD`."""
    moving = MEASURED_SPREAD if measured else PRIOR_SPREAD[0]
    return np.diag((SPREAD / np.array((moving, *PRIOR_SPREAD[1:]))) ** 2)


def kept_rows(x: Floats, y: Floats) -> NDArray[np.bool_]:
    """Return which prints are believed: those within `FAR` robust standard deviations of what the others say."""
    away = y - np.median(y)
    kept = np.ones(len(y), bool)
    for _ in range(10):
        spread = max(1.4826 * float(np.median(np.abs(away[kept]))), SPREAD)
        new = np.abs(away) <= FAR * spread
        if np.array_equal(new, kept) and _ > 0:
            break
        kept = new
        away = y - x @ fit(x[kept], y[kept]).factors
    return kept


def least_squares(x: Floats, y: Floats) -> Floats:
    """Return the ordinary least-squares coefficients, (k,), of columns (n, k) scaled to unit length first."""
    scale = np.linalg.norm(x, axis=0)
    found, *_ = np.linalg.lstsq(x / scale, y, rcond=None)
    return np.asarray(found / scale)
