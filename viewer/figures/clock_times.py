"""The moments of a print as times of day, once it is known when it starts."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from viewer.figures.figures import TimeFigures
from viewer.timing import clock_time


@dataclass(frozen=True, slots=True)
class ClockTimes:
    """When a print starts, when what happens, and when it ends."""

    start: datetime
    first_layer_done: datetime | None
    """Until then somebody stays beside the printer; None: there is no layer."""
    pauses: tuple[datetime, ...]
    """When each pause begins."""
    end: datetime


def clock_times(time: TimeFigures, start: datetime) -> ClockTimes:
    """Give the moments of `time` (seconds since the start) as times of day."""
    done = time.first_layer_done_s
    return ClockTimes(
        start,
        None if done is None else clock_time(start, done),
        tuple(clock_time(start, pause.at_s) for pause in time.pauses),
        clock_time(start, time.total_s),
    )
