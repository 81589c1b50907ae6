"""Times of day that follow from a start and an elapsed time; known without the compiler."""

from __future__ import annotations

from datetime import datetime, timedelta

from viewer.units import S_PER_MIN


def clock_time(start: datetime, elapsed_s: float) -> datetime:
    """Return the time of day at an elapsed time.

    Clocks that are put forward or back meanwhile count only if ``start`` is in UTC. What ends after the last day
    that a calendar knows (a program can say so: a slow move, a long dwell) ends there.
    """
    left_s = (datetime.max.replace(tzinfo=start.tzinfo) - start).total_seconds() - S_PER_MIN
    return start + timedelta(seconds=min(float(elapsed_s), left_s))


def minute_up(moment: datetime) -> datetime:
    """Return the full minute at or after a moment: who must stay until it is done does not leave before."""
    begun = moment.replace(second=0, microsecond=0)
    return begun if begun == moment else begun + timedelta(minutes=1)


def day_text(start: datetime, moment: datetime) -> str:
    """Return the hour and minute in which a moment lies, and whether that is another day than the start's."""
    days = (moment.date() - start.date()).days
    later = {0: "", 1: " the next day"}.get(days, f" {days} days later")
    return f"{moment:%H:%M}{later}"
