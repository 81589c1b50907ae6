"""What a print will really take: real times regressed on the computed parts, held to "as computed" by a prior.

The share real / computed of a print is a weighted mean of one factor a part; weights are the parts' shares of the
computed time. The factors have a normal prior about 1, the spread an inverse gamma prior, so that the posterior and the
prediction are known in closed form, the latter as Student's t (A. Gelman and others, *Bayesian Data Analysis*, 3rd ed.,
14.2 and 14.8: conjugate normal-inverse-gamma linear model). Where prints say of each other that factors do not bring
the estimate nearer to the real time, all factors are held at 1: only the spread is learned then.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from viewer.printlog.history import PARTS, Floats, History, causes_of, history_of_rows
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
AS_COMPUTED: Final = np.diag(np.full(len(PARTS), 1e12))
"""Precision of a prior that holds all factors at 1."""
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
    x, y = x[kept], y[kept]
    middle, low, high = fit(x, y, prior_for(x, y, measured)).prediction(parts * total)
    return Estimate(middle, low, high, int(kept.sum()), int((~kept).sum()), printer)


def fit(x: Floats, y: Floats, prior: Floats) -> Fit:
    """Return the posterior of the factors after shares (n, k) and real / computed (n,).

    Parameters
    ----------
    prior
        Precision of the factors before anything is known, (k, k), diagonal, in units of the spread.
    """
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


def prior_for(x: Floats, y: Floats, measured: bool = False) -> Floats:
    """Return the prior's precision for some prints, (k, k): that of `prior_precision`, or `AS_COMPUTED`.

    The factors are free only where each print, estimated from the others by them, comes nearer to its real time on
    average than it does as computed.
    """
    prior = prior_precision(measured)
    corrected, _ = left_out(x, y, np.ones(len(y), np.bool_), prior)
    helps = np.mean(np.abs(corrected - y) / y) < np.mean(np.abs(1.0 - y) / y)
    return prior if helps else AS_COMPUTED


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
        away = y - x @ fit(x[kept], y[kept], prior_precision()).factors
    return kept


def left_out(x: Floats, y: Floats, kept: NDArray[np.bool_], prior: Floats) -> tuple[Floats, Floats]:
    """Return what the others say of each print: the expected share real / computed and half its interval, both (n,).

    Parameters
    ----------
    x, y
        Shares of the parts (n, k), which sum to 1, and real / computed (n,).
    kept
        Which prints are believed, (n,): only they say anything of the others.
    prior
        Precision of the factors before anything is known, (k, k), as in `fit`.

    Notes
    -----
    The posteriors of `fit` without print i, in closed form about "as computed" (g = factors - 1, z = y - 1): with
    P_i = P - x_i x_i' and c_i = X'z - x_i z_i it is g_i = P_i^-1 c_i, and the sum of squares is z'z - z_i^2 - c_i' g_i.
    """
    z, used = y - 1.0, kept.astype(np.float64)
    believed = x[kept]
    own = used[:, None, None] * x[:, :, None] * x[:, None, :]
    matrices = (prior + believed.T @ believed)[None] - own
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


def least_squares(x: Floats, y: Floats) -> Floats:
    """Return the ordinary least-squares coefficients, (k,), of columns (n, k) scaled to unit length first."""
    scale = np.linalg.norm(x, axis=0)
    found, *_ = np.linalg.lstsq(x / scale, y, rcond=None)
    return np.asarray(found / scale)
