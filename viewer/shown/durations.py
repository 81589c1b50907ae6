"""Durations as people write them."""

from __future__ import annotations

import re
from typing import Final

from viewer.errors import BeadlineError

_UNITS: Final = {"d": 86_400.0, "h": 3600.0, "m": 60.0, "s": 1.0}
_NAMES: Final = {"d": "days", "h": "hours", "m": "minutes", "s": "seconds"}
_PART: Final = re.compile(
    r"\s*(\d+(?:[.,]\d+)?)\s*(d(?:ays?)?|h(?:ours?|rs?)?|m(?:in(?:utes?)?)?|s(?:ec(?:onds?)?)?)\s*",
    re.IGNORECASE,
)
_CLOCK: Final = re.compile(r"\s*(\d+):([0-5]?\d)(?::([0-5]?\d))?\s*")


def typed_text(seconds: float) -> str:
    """Return a duration as a person would type it, to the second: ``2h45m``, ``9m30s``; `seconds_of` reads it."""
    whole = max(1, round(seconds))
    parts = ((whole // 3600, "h"), (whole // 60 % 60, "m"), (whole % 60, "s"))
    return "".join(f"{count}{unit}" for count, unit in parts if count)


def seconds_of(text: str) -> float:
    """Return a duration in s: ``3h``, ``2 h 45 min``, ``1.5h``, ``95m``, ``2:45`` (hours and minutes), ``4000 s``.

    Raises
    ------
    BeadlineError
        It is no duration, or 0, or a smaller unit fills the larger one before it, as in ``1h99m``.
    """
    clock = _CLOCK.fullmatch(text)
    if clock:
        hours, minutes, seconds = (int(part or 0) for part in clock.groups())
        total = 3600.0 * hours + 60.0 * minutes + seconds
    else:
        total = _total_of(text)
    if total <= 0.0:
        raise BeadlineError(
            f"{text!r} is no duration; write it as 3h, 2h45m, 95m or 2:45 (hours and minutes)."
        )
    return total


def _total_of(text: str) -> float:
    """Return the sum of parts as ``1 h 30 min``, s; 0 where it is none.

    Raises
    ------
    BeadlineError
        A part behind a larger one is as long as that one's unit, which is a slip of the hand.
    """
    total, end, before = 0.0, 0, ""
    while found := _PART.match(text, end):
        count, unit = float(found[1].replace(",", ".")), found[2][0].lower()
        if before and _UNITS[unit] >= _UNITS[before]:
            raise BeadlineError(
                f"{text.strip()!r} has {found[0].strip()} behind {_NAMES[before]}; write the larger unit first, once."
            )
        if before and count * _UNITS[unit] >= _UNITS[before]:
            raise BeadlineError(
                f"{text.strip()!r} has {found[0].strip()} behind {_NAMES[before]}; write at most "
                f"{_UNITS[before] / _UNITS[unit] - 1:.0f} {_NAMES[unit]} there."
            )
        total += count * _UNITS[unit]
        before, end = unit, found.end()
    return total if end == len(text) else 0.0
