"""The stacked bar of the time ledger in numbers and words; no Qt."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np

from viewer.arrays import F64
from viewer.numerals import capital
from viewer.shown.cause_words import CAUSE_WORDS, cause_title
from viewer.shown.numbers import duration_text, share_text
from viewer.shown.place_rows import place_words
from viewer.timing import CAUSES
from viewer.timing.limiters import LIMITERS
from viewer.why.causes import Cause, CauseTimes

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


SMALL: Final = 0.002
"""A limit that holds back less than this share of the time has no line of its own."""


def ledger_lines(seconds: F64, held: F64 | None) -> tuple[Cause, ...]:
    """Return the causes that take time, each limit behind "held back", the one that holds back most first.

    Parameters
    ----------
    seconds
        (causes,) of the program.
    held
        (limits,) what each limit holds back; None: not known yet.
    """
    lines: list[Cause] = []
    for name, taken in zip(CAUSES, seconds.tolist(), strict=True):
        if taken > 0.0:
            lines.append(Cause(name))
        if name == "held back" and held is not None:
            least = SMALL * float(seconds.sum())
            lines += [Cause(name, LIMITERS[k]) for k in np.argsort(-held).tolist() if held[k] > least]
    return tuple(lines)


def line_seconds(lines: tuple[Cause, ...], seconds: F64, held: F64 | None) -> F64:
    """Return the seconds of each line: (lines,); of limits that are not known NaN."""
    values = [
        float(seconds[CAUSES.index(one.name)])
        if not one.limit
        else float(held[LIMITERS.index(one.limit)])
        if held is not None
        else np.nan
        for one in lines
    ]
    return np.array(values, np.float64)


def looked_at_texts(times: CauseTimes, place: int | None, layers: int, total_s: float) -> tuple[str, str]:
    """Return what is said of the cause that is looked at: how long in all; and which place is on show.

    Parameters
    ----------
    place
        Number of the place on show, from 0; None: none is yet.
    layers
        How many the program has.
    total_s
        The program's time in all.
    """
    title = cause_title(times.cause)
    share = share_text(times.total_s / total_s if total_s > 0.0 else 0.0)
    head = f"{capital(title)}: {duration_text(times.total_s)}, {share}"
    if not times.places:
        return head, "No place of it takes any time."
    one = times.places[place or 0]
    words = f"{duration_text(one.seconds)}: {place_words(one, layers)}"
    where = f"Place {(place or 0) + 1} of {len(times.places)}" if place is not None else "Costliest place"
    return head, f"{where}, {words}"


def cause_text(cause: str, seconds: float, total_s: float) -> str:
    """Say a cause's time and share."""
    return f"{CAUSE_WORDS[cause][0]}: {duration_text(seconds)}, {share_text(seconds / total_s)}"
