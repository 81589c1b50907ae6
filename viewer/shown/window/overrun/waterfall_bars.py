"""The waterfall from the expected to the actual time in bars and words; no Qt."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final, Literal

from viewer.shown.numbers import duration_text, given_time_text
from viewer.shown.overrun_rows import signed_text, step_words
from viewer.timing import CAUSES
from viewer.why.overrun import REMAINDER, Overrun, Step

SMALL: Final = 0.005
"""Steps below this share of the computed time are put together."""

Kind = Literal["told", "more", "less", "computed", "unknown", "took"]


@dataclass(frozen=True, slots=True)
class WaterfallBar:
    """One bar: from where to where it goes, in s from 0."""

    title: str
    text: str
    begin_s: float
    end_s: float
    kind: Kind
    cause: str = ""
    """The cause of the time ledger that it is a step of; "": none."""


def waterfall_bars(found: Overrun) -> tuple[WaterfallBar, ...]:
    """Return the bars from above: the expected time, the steps, the computed time, the remainder, the actual time.

    Without an expected time the steps are what the computed time is made of, from 0.
    """
    bars, at = [], 0.0
    if found.expected_s is not None:
        title = "the program says" if found.line else "expected"
        bars.append(WaterfallBar(title, given_time_text(found.expected_s), 0.0, found.expected_s, "told"))
        at, steps = found.expected_s, list(found.steps)
    else:
        steps = [Step(name, seconds) for name, seconds in found.parts_s.items() if seconds]
    steps = [step for step in steps if step.name != REMAINDER]
    small = [step for step in steps if abs(step.seconds) < SMALL * found.computed_s]
    for step in steps:
        if step not in small:
            bars.append(_bar(step, at, found))
            at += step.seconds
    if small:
        rest = sum(step.seconds for step in small)
        bars.append(
            WaterfallBar("smaller steps", signed_text(rest), at, at + rest, "more" if rest >= 0.0 else "less")
        )
    computed = found.computed_s
    bars.append(WaterfallBar("computed", duration_text(computed), 0.0, computed, "computed"))
    if found.actual_s is not None and found.remainder_s is not None:
        bars.append(
            WaterfallBar(REMAINDER, signed_text(found.remainder_s), computed, found.actual_s, "unknown")
        )
        bars.append(WaterfallBar("it took", given_time_text(found.actual_s), 0.0, found.actual_s, "took"))
    return tuple(bars)


def _bar(step: Step, at: float, found: Overrun) -> WaterfallBar:
    kind: Kind = "more" if step.seconds >= 0.0 else "less"
    cause = "laying" if step.name == "as commanded" else step.name
    return WaterfallBar(
        step_words(step, found), signed_text(step.seconds), at, at + step.seconds, kind,
        cause if cause in CAUSES else "",
    )  # fmt: skip


def spoken(bars: tuple[WaterfallBar, ...]) -> str:
    """Return the bars in words."""
    return "; ".join(f"{bar.title}: {bar.text}" for bar in bars)
