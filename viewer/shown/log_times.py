"""When a print started and ended, as a person writes it."""

from __future__ import annotations

from datetime import datetime, timedelta
from typing import Final

from viewer.errors import BeadlineError

_FORMATS: Final = ("%Y-%m-%d %H:%M", "%Y-%m-%dT%H:%M", "%Y-%m-%d %H:%M:%S", "%Y-%m-%dT%H:%M:%S")


def times_of(started: str, ended: str, now: datetime) -> tuple[datetime, datetime]:
    """Return start and end of a print that is over.

    A time without a date is the latest one that fits: the end not after `now`, the start before the end.

    Raises
    ------
    BeadlineError
        One is no time, or they contradict each other.
    """
    end, has_date = _moment(ended, now)
    if not has_date and end > now:
        end -= timedelta(days=1)
    start, has_date = _moment(started, end)
    if not has_date and start >= end:
        start -= timedelta(days=1)
    if start >= end:
        raise BeadlineError(
            f"The print would have ended ({ended}) before it started ({started}); give both with dates."
        )
    return start, end


def _moment(text: str, day: datetime) -> tuple[datetime, bool]:
    """Return a moment, and whether it came with its date; else that of `day` is taken."""
    text = text.strip()
    for form in _FORMATS:
        try:
            return datetime.strptime(text, form), True
        except ValueError:
            continue
    try:
        return datetime.combine(day.date(), datetime.strptime(text, "%H:%M").time()), False
    except ValueError:
        raise BeadlineError(f"{text!r} is no time; write it as 9:10, or as 2026-03-02 9:10.") from None
