"""When a print started and ended, as a person writes it."""

from __future__ import annotations

from datetime import datetime, timedelta
from typing import Final

from viewer.errors import BeadlineError

_FORMATS: Final = ("%Y-%m-%d %H:%M", "%Y-%m-%dT%H:%M", "%Y-%m-%d %H:%M:%S", "%Y-%m-%dT%H:%M:%S")

OVERNIGHT: Final = (0.5, 3.0)
"""A print noted without dates went past midnight if it took this many times the time computed: least and most."""


def times_of(started: str, ended: str, now: datetime, computed_s: float) -> tuple[datetime, datetime]:
    """Return start and end of a print that is over.

    A time without a date is the latest one that fits: the end not after `now`, the start before the end. That the
    print went past midnight is taken only where its length suits the time computed (`OVERNIGHT`).

    Parameters
    ----------
    computed_s
        Of the print; 0: not computed, and any print may have gone past midnight.

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
        if not _is_plausible((end - start).total_seconds(), computed_s):
            raise BeadlineError(
                f"The print would have started ({started}) the day before it ended ({ended}), which does not suit the "
                f"{computed_s / 60.0:.0f} min computed; give both with dates."
            )
    if start >= end:
        raise BeadlineError(
            f"The print would have ended ({ended}) before it started ({started}); give both with dates."
        )
    return start, end


def is_time(text: str) -> bool:
    """Whether a text is a time, with a date or without."""
    try:
        _moment(text, datetime.min)
    except BeadlineError:
        return False
    return True


def _is_plausible(real_s: float, computed_s: float) -> bool:
    least, most = OVERNIGHT
    return computed_s <= 0.0 or least * computed_s <= real_s <= most * computed_s


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
