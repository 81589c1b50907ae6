"""The waterfall from the expected to the actual time in bars and words; no Qt."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from viewer.shown.numbers import duration_text
from viewer.shown.overrun_rows import signed_text, step_words
from viewer.why.overrun import REMAINDER, Overrun, Step

Kind = Literal["told", "more", "less", "computed", "unknown", "took"]


@dataclass(frozen=True, slots=True)
class WaterfallBar:
    """One bar: from where to where it goes, in s from 0."""

    title: str
    text: str
    begin_s: float
    end_s: float
    kind: Kind


def waterfall_bars(found: Overrun) -> tuple[WaterfallBar, ...]:
    """Return the bars from above: the expected time, the steps, the computed time, the remainder, the actual time.

    Without an expected time the steps are what the computed time is made of, from 0.
    """
    bars, at = [], 0.0
    if found.expected_s is not None:
        title = "the program says" if found.line else "expected"
        bars.append(WaterfallBar(title, duration_text(found.expected_s), 0.0, found.expected_s, "told"))
        at, steps = found.expected_s, found.steps
    else:
        steps = tuple(Step(name, seconds) for name, seconds in found.parts_s.items() if seconds)
    for step in steps:
        if step.name != REMAINDER:
            bars.append(_bar(step, at, found))
            at += step.seconds
    computed = found.computed_s
    bars.append(WaterfallBar("computed", duration_text(computed), 0.0, computed, "computed"))
    if found.actual_s is not None:
        rest = Step(REMAINDER, found.actual_s - computed)
        text = signed_text(rest.seconds)
        bars.append(WaterfallBar(REMAINDER, text, computed, found.actual_s, "unknown"))
        bars.append(WaterfallBar("it took", duration_text(found.actual_s), 0.0, found.actual_s, "took"))
    return tuple(bars)


def _bar(step: Step, at: float, found: Overrun) -> WaterfallBar:
    kind: Kind = "more" if step.seconds >= 0.0 else "less"
    return WaterfallBar(step_words(step, found), signed_text(step.seconds), at, at + step.seconds, kind)


def spoken(bars: tuple[WaterfallBar, ...]) -> str:
    """Return the bars in words."""
    return "; ".join(f"{bar.title}: {bar.text}" for bar in bars)
