"""Bands of layers in which something stays about the same."""

from __future__ import annotations

from itertools import pairwise
from typing import Final

import numpy as np

from viewer.arrays import F64

MAX_BANDS: Final = 5
LEAST_GAIN: Final = 0.1
"""A cut must lower the sum of squared differences from the bands' means by this share of the whole."""
LEAST_STEP: Final = 1.5
"""The means of two neighbouring bands must differ by this factor."""


def bands_of(values: F64) -> tuple[tuple[int, int], ...]:
    """Cut a series into bands, each from its first to its last place (inclusive), which cover it in order.

    Binary segmentation: the band whose best cut lowers the sum of squares most is cut, as long as that is worth it.
    (A. J. Scott, M. Knott, A cluster analysis method for grouping means in the analysis of variance, Biometrics 30,
    1974.)

    Parameters
    ----------
    values
        (n,) one a layer; n of 0 has no bands.
    """
    if not len(values):
        return ()
    sums = np.concatenate([[0.0], np.cumsum(values)])
    whole = float(np.sum((values - values.mean()) ** 2))
    edges = [0, len(values)]
    while len(edges) <= MAX_BANDS:
        cuts = [_best_cut(sums, lo, hi) for lo, hi in pairwise(edges)]
        gain, place = max(cuts)
        if gain <= LEAST_GAIN * whole or whole == 0.0:
            break
        edges = sorted([*edges, place])
    return tuple(_merged(sums, edges))


def _best_cut(sums: F64, lo: int, hi: int) -> tuple[float, int]:
    """Return how much the best cut of a band lowers its sum of squares, and where it lies; -1 where there is none."""
    if hi - lo < 2:
        return -1.0, lo
    places = np.arange(lo + 1, hi)
    left, right = places - lo, hi - places
    means = (sums[places] - sums[lo]) / left - (sums[hi] - sums[places]) / right
    gains = means**2 * left * right / (hi - lo)
    best = int(np.argmax(gains))
    return float(gains[best]), int(places[best])


def _merged(sums: F64, edges: list[int]) -> list[tuple[int, int]]:
    """Return the bands with those joined whose means are alike."""
    bands: list[tuple[int, int]] = []
    for lo, hi in pairwise(edges):
        if bands:
            before = (sums[lo] - sums[bands[-1][0]]) / (lo - bands[-1][0])
            mean = (sums[hi] - sums[lo]) / (hi - lo)
            if max(before, mean) <= LEAST_STEP * min(before, mean):
                bands[-1] = (bands[-1][0], hi - 1)
                continue
        bands.append((lo, hi - 1))
    return bands
