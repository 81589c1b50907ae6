"""From the expected to the actual time, in words."""

from __future__ import annotations

from collections.abc import Iterator

from viewer.shown.cause_words import CAUSE_WORDS
from viewer.shown.numbers import duration_text, given_time_text, share_text
from viewer.shown.row import Row, amount
from viewer.why.overrun import CLAIM_OFF, REMAINDER, Overrun, Step

GROUP = "From expected to actual"
NOTHING_S = 0.0005
"""Differences below this, in s, come from the rounding of sums."""


def headline(found: Overrun) -> str:
    """Return what takes how long instead of what: "1 h 34 min 2 s instead of 1 h 11 min 5 s"."""
    took = found.actual_s
    there = duration_text(found.computed_s) if took is None else given_time_text(took)
    if found.expected_s is None:
        return there
    return f"{there} instead of {given_time_text(found.expected_s)}"


def assumption_sentence(found: Overrun) -> str:
    """Return which assumption reproduces the expected time; "" where there is none to compare with."""
    if found.expected_s is None or found.base is None:
        return ""
    expected, base = given_time_text(found.expected_s), found.base
    if found.reproduces:
        off = abs(base.total_s / found.expected_s - 1.0)
        exact = "" if off < 0.0005 else f" (within {share_text(off)})"
        return f"{expected} is what comes out {base.words}{exact}."
    return (
        f"{expected} is reproduced by none of the assumptions that were tried; the closest, {base.words}, gives "
        f"{duration_text(base.total_s)}."
    )


def overrun_rows(found: Overrun) -> Iterator[Row]:
    """Yield the waterfall: the expected time, the steps, the computed time, the remainder and the actual time."""
    if found.expected_s is not None:
        origin = f"the program says (line {found.line})" if found.line else "expected"
        yield amount(GROUP, origin, found.expected_s, "s", "", given_time_text(found.expected_s))
        yield Row(GROUP, "how it comes about", None, "", assumption_sentence(found), "")
    else:
        text = "the program states no time, and none was given (--expected 3h)"
        yield Row(GROUP, "expected", None, "", text, "")
        parts = (Step(name, seconds) for name, seconds in found.parts_s.items() if seconds != 0.0)
        yield from (_step(part, found) for part in parts)
    for step in found.steps:
        if step.name != REMAINDER:
            yield _step(step, found)
    yield amount(GROUP, "computed", found.computed_s, "s", "", duration_text(found.computed_s))
    for step in found.steps:
        if step.name == REMAINDER:
            yield amount(GROUP, REMAINDER, step.seconds, "s", "", signed_text(step.seconds))
    if found.actual_s is not None:
        yield amount(GROUP, "it took", found.actual_s, "s", "", given_time_text(found.actual_s))


def _step(step: Step, found: Overrun) -> Row:
    return amount(GROUP, step_words(step, found), step.seconds, "s", "", signed_text(step.seconds))


def step_words(step: Step, found: Overrun) -> str:
    """Return what a step is called."""
    if step.name == CLAIM_OFF:
        closest = found.base.words if found.base is not None else ""
        return f"off from what comes out {closest}"
    return part_title(step.name)


def part_title(name: str) -> str:
    """Return what a part of the time is called: a cause, or one of the parts that laying is split into."""
    return _PART_WORDS.get(name) or CAUSE_WORDS[name][0]


_PART_WORDS = {
    "as commanded": "beads at the commanded speed",
    "held back": "beads held back by limits",
    "speeding up and braking": "speeding up and braking",
    REMAINDER: REMAINDER,
}


def signed_text(seconds: float) -> str:
    """Return a difference of times with its sign; where it is nothing but the rounding of sums, none."""
    if abs(seconds) < NOTHING_S:
        return "0 s"
    return f"{'+' if seconds >= 0.0 else '-'} {duration_text(abs(seconds))}"
