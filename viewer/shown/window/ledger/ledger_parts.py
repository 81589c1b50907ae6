"""The stacked bar of the time ledger in numbers and words; no Qt."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from viewer.arrays import F64
from viewer.shown.cause_words import CAUSE_WORDS
from viewer.shown.numbers import duration_text, share_text
from viewer.timing import CAUSES

SHORT: Final[dict[str, str]] = {
    "laying": "laying",
    "held back": "held back",
    "speeding up and braking": "speeding up, braking",
    "retract and prime": "retract",
    "height changes": "height",
    "homing and levelling": "homing",
}
"""Labels on the bar where they are shorter than the cause."""


THIN: Final = 1.0
"""Least width of a cause that took any time, in logical pixels."""


@dataclass(frozen=True, slots=True)
class BarPart:
    """One cause's part of the bar."""

    cause: str
    seconds: float
    left: float
    right: float


def bar_parts(seconds: F64, width: float) -> tuple[BarPart, ...]:
    """Cut a bar into the causes that took time, in the ledger's order; small ones are widened to `THIN`.

    Parameters
    ----------
    seconds
        (causes,) of one layer or of the program.
    width
        Of the bar, logical pixels.
    """
    present = [(cause, s) for cause, s in zip(CAUSES, seconds.tolist(), strict=True) if s > 0.0]
    total = sum(s for _, s in present)
    spare = max(width - THIN * len(present), 0.0)
    parts, left = [], 0.0
    for cause, s in present:
        right = left + THIN + spare * s / total
        parts.append(BarPart(cause, s, left, right))
        left = right
    return tuple(parts)


def cause_text(cause: str, seconds: float, total_s: float) -> str:
    """Say a cause's time and share."""
    return f"{CAUSE_WORDS[cause][0]}: {duration_text(seconds)}, {share_text(seconds / total_s)}"
