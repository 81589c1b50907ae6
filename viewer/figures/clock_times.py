"""The moments of a print as times of day, once it is known when it starts."""

from __future__ import annotations

import math
from dataclasses import dataclass
from datetime import datetime, time
from typing import Final

from viewer.cards.workshop import Hours
from viewer.figures.figures import TimeFigures
from viewer.timing import clock_time
from viewer.units import S_PER_MIN

MINUTES_A_DAY: Final = 24 * 60


@dataclass(frozen=True, slots=True)
class ClockTimes:
    """When a print starts, when what happens, and when it ends."""

    start: datetime
    first_layer_done: datetime | None
    """Until then somebody stays beside the printer; None: there is no layer."""
    pauses: tuple[datetime, ...]
    """When each pause begins."""
    end: datetime


def latest_start(total_s: float, hours: Hours) -> str | None:
    """Return the last minute (hh:mm) in the opening hours at which a print that takes `total_s` still ends in them.

    None: it takes longer than the place is open.
    """
    opens, closes = (time.fromisoformat(at) for at in (hours.opens, hours.closes))
    first, last = (60 * at.hour + at.minute for at in (opens, closes))
    if last <= first:
        last += MINUTES_A_DAY  # they pass midnight
    if not math.isfinite(total_s):
        return None
    latest = math.floor(last - total_s / S_PER_MIN)
    return None if latest < first else f"{latest // 60 % 24:02d}:{latest % 60:02d}"


def clock_times(figures: TimeFigures, start: datetime) -> ClockTimes:
    """Return the moments of a program (seconds since the start) as times of day."""
    done = figures.first_layer_done_s
    return ClockTimes(
        start,
        None if done is None else clock_time(start, done),
        tuple(clock_time(start, pause.at_s) for pause in figures.pauses),
        clock_time(start, figures.total_s),
    )
