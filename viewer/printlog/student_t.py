"""Quantiles of Student's t distribution, and intervals of a share.

Sources: M. Abramowitz, I. Stegun, *Handbook of Mathematical Functions*, 26.7.1 (t by the incomplete beta function) and
26.5.8 (its continued fraction); E. B. Wilson, *Probable inference, the law of succession, and statistical inference*,
JASA 22 (1927).
"""

from __future__ import annotations

import math
from statistics import NormalDist
from typing import Final

_STEPS: Final = 300
_TINY: Final = 1e-300


def t_quantile(p: float, freedom: float) -> float:
    """Return the value that a Student t variable of `freedom` (> 0) degrees stays below with probability `p` (0 to 1)."""
    if p == 0.5:
        return 0.0
    if p < 0.5:
        return -t_quantile(1.0 - p, freedom)
    low, high = 0.0, 1.0
    while t_cdf(high, freedom) < p:
        low, high = high, 2.0 * high
    for _ in range(200):
        middle = 0.5 * (low + high)
        if middle in (low, high):
            break
        low, high = (middle, high) if t_cdf(middle, freedom) < p else (low, middle)
    return 0.5 * (low + high)


def t_cdf(t: float, freedom: float) -> float:
    """Return the probability that a Student t variable of `freedom` degrees stays below `t`."""
    tail = 0.5 * _incomplete_beta(0.5 * freedom, 0.5, freedom / (freedom + t * t))
    return 1.0 - tail if t > 0.0 else tail


def wilson_interval(hits: int, total: int, share: float = 0.9) -> tuple[float, float]:
    """Return the interval that holds the true rate of `hits` in `total` (> 0) with probability `share`."""
    z = NormalDist().inv_cdf(0.5 + 0.5 * share)
    rate = hits / total
    centre = (rate + z * z / (2 * total)) / (1.0 + z * z / total)
    half = z / (1.0 + z * z / total) * math.sqrt(rate * (1.0 - rate) / total + z * z / (4 * total * total))
    return max(0.0, centre - half), min(1.0, centre + half)


def _incomplete_beta(a: float, b: float, x: float) -> float:
    """Return the regularised incomplete beta function I_x(a, b)."""
    if x <= 0.0 or x >= 1.0:
        return float(x >= 1.0)
    front = math.exp(
        math.lgamma(a + b) - math.lgamma(a) - math.lgamma(b) + a * math.log(x) + b * math.log1p(-x)
    )
    if x < (a + 1.0) / (a + b + 2.0):
        return front * _fraction(a, b, x) / a
    return 1.0 - front * _fraction(b, a, 1.0 - x) / b


def _fraction(a: float, b: float, x: float) -> float:
    """Return the continued fraction of 26.5.8, evaluated from the front (Lentz)."""
    c, d = 1.0, 1.0 - (a + b) * x / (a + 1.0)
    d = 1.0 / (d if abs(d) > _TINY else _TINY)
    value = d
    for m in range(1, _STEPS):
        for step in (
            m * (b - m) * x / ((a + 2 * m - 1.0) * (a + 2 * m)),
            -(a + m) * (a + b + m) * x / ((a + 2 * m) * (a + 2 * m + 1.0)),
        ):
            d = 1.0 + step * d
            d = 1.0 / (d if abs(d) > _TINY else _TINY)
            c = 1.0 + step / c
            c = c if abs(c) > _TINY else _TINY
            value *= c * d
        if abs(c * d - 1.0) < 1e-15:
            break
    return value
