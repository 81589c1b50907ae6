"""Levers in lines of words, and what the sliders of a trial mean; no Qt."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Final

from viewer.numerals import share_text
from viewer.shown.finding_text import readable
from viewer.shown.numbers import duration_text
from viewer.shown.why_rows import change_text, saved_text, value_text
from viewer.why.lever import CAUTION, NONE_AT_ALL, Lever
from viewer.why.trials import Outcome

STEPS: Final = 60
"""Positions of a slider from the value now to the bound of the lever."""


@dataclass(frozen=True, slots=True)
class LeverLine:
    """One lever as the list shows it."""

    name: str
    title: str
    change: str
    """The value now and the value tried."""
    saved: str
    share: float
    """Of the time in all; at least 0: the length of its bar."""
    told: str
    """What it gives by each factor, and what it may cost."""


def lever_lines(outcomes: Iterable[Outcome]) -> list[LeverLine]:
    """Return a line for each lever, in their order."""
    return [_line(outcome) for outcome in outcomes]


def _line(outcome: Outcome) -> LeverLine:
    usual = outcome.usual
    saved = saved_text(usual.saved_s) if outcome.helps else "nothing"
    share = max(usual.share, 0.0)
    if outcome.helps and share > 0.0:
        saved = f"{saved}\n{share_text(share)}"
    change = readable(change_text(outcome, usual))
    return LeverLine(outcome.lever.name, outcome.title, change, saved, share, told_of(outcome))


def told_of(outcome: Outcome) -> str:
    """Return what a lever gives by each factor, what it may cost, and the caution where it asks more of a machine."""
    gains = [f"{readable(change_text(outcome, one))}: {saved_text(one.saved_s)}" for one in outcome.tries]
    cost = f"May cost: {outcome.lever.cost}"
    return "\n".join([outcome.title, *gains, cost, *([CAUTION] if outcome.lever.asks_more else [])])


def steps_of(lever: Lever) -> int:
    """Return how many steps the slider of a lever has."""
    return 1 if lever.factors == NONE_AT_ALL else STEPS


def factor_at(lever: Lever, step: int) -> float:
    """Return the factor of a slider's position: even ratios up to the bound, or even steps down to it."""
    share = step / steps_of(lever)
    return float(lever.bound**share) if lever.bound > 1.0 else 1.0 - share * (1.0 - lever.bound)


def step_of(lever: Lever, factor: float) -> int:
    """Return the position of a slider nearest to a factor."""
    return min(range(steps_of(lever) + 1), key=lambda step: abs(factor_at(lever, step) - factor))


def value_at(outcome: Outcome, factor: float) -> str:
    """Return the value of a lever under a factor, with its unit."""
    if factor == 1.0:
        return "as on the card" if outcome.lever.place == "machine" else "as it is"
    if outcome.lever.factors == NONE_AT_ALL:
        return "done" if not outcome.unit else "none"
    low, high = (outcome.lever.tried(value, factor) for value in outcome.now)
    return readable(value_text((low, high), outcome.unit))


def hours_text(total_s: float, before_s: float) -> tuple[str, str]:
    """Return the time in all under a trial, and what it saves against the time now."""
    return duration_text(total_s), saved_text(before_s - total_s, "as it is")
