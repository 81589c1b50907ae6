"""Machines whose true values are known, and a hand with a stopwatch."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from viewer.stopwatch import MotionTest, Proposal, evaluate
from viewer.stopwatch.replan import Replan
from viewer.stopwatch.values import Name, machine_with, value_of

SPREAD = 0.35
"""True values lie up to 30 % below and 42 % above the card's."""


@dataclass
class Count:
    """How often a value was told, and how often the truth lay outside of what was told."""

    runs: int = 0
    missed: int = 0
    open_above: int = 0

    @property
    def cover(self) -> float:
        return 1.0 - self.missed / self.runs


def timed(
    test: MotionTest, truth: dict[Name, float], chance: np.random.Generator, error_s: float
) -> list[float]:
    """Return the seconds that somebody reads off for a machine of these values, to a hundredth."""
    real = Replan.of(test.blocks).seconds(machine_with(test.card, truth))
    return np.round(real + error_s * chance.standard_normal(len(real)), 2).tolist()


def drawn(test: MotionTest, chance: np.random.Generator) -> dict[Name, float]:
    """Return the true values of some machine."""
    names = dict.fromkeys(block.value for block in test.blocks)
    return {
        name: value_of(test.card, name) * float(np.exp(chance.uniform(-SPREAD, SPREAD))) for name in names
    }


def coverage(test: MotionTest, runs: int, error_s: float, seed: int) -> dict[Name, Count]:
    """Return by value how often the truth lies in the stated interval, over so many machines."""
    chance, counts = np.random.default_rng(seed), dict[Name, Count]()
    for _ in range(runs):
        truth = drawn(test, chance)
        count(counts, truth, evaluate(test, timed(test, truth, chance, error_s), error_s))
    return counts


def count(counts: dict[Name, Count], truth: dict[Name, float], found: Proposal) -> None:
    for one in found.values:
        seen = counts.setdefault(one.name, Count())
        low, high = one.low or 0.0, one.high or np.inf
        seen.runs += 1
        seen.missed += not low <= truth[one.name] <= high
        seen.open_above += one.high is None
