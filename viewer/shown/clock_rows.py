"""The start of a print, as a person writes it, and the times of day that follow from it."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime
from typing import TYPE_CHECKING

from viewer.errors import BeadlineError
from viewer.shown.row import Row

if TYPE_CHECKING:
    from viewer.program import Program

NOW = "now"
MAX_PAUSES = 20
"""Further pauses are only counted."""


def start_of(text: str, now: datetime | None = None) -> datetime:
    """Return today's moment that ``14:30`` or ``now`` means.

    Raises
    ------
    BeadlineError
        It is no time of day.
    """
    now = now or datetime.now()
    if text.strip().casefold() == NOW:
        return now.replace(second=0, microsecond=0)
    try:
        time = datetime.strptime(text.strip(), "%H:%M").time()
    except ValueError:
        raise BeadlineError(
            f"The start {text!r} is no time of day; write hours and minutes as 14:30, or {NOW}."
        ) from None
    return datetime.combine(now.date(), time)


def clock_rows(program: Program, start: datetime) -> tuple[Row, ...]:
    """Return when the print starts, ends and wants somebody, as rows; their values are ISO 8601."""
    return tuple(_rows(program, start))


def _rows(program: Program, start: datetime) -> Iterator[Row]:
    from viewer.figures.clock_times import clock_times
    from viewer.timing import minute_up

    times = clock_times(program.figures.time, start)
    yield _row("starts at", times.start, times.start, start, "As it was said.")
    done = times.first_layer_done
    if done is not None:
        how = "The start and the time until layer 1 is done. Stay beside the printer until then."
        yield _row("first layer done at", done, minute_up(done), start, how)
    how = "Somebody must answer then."
    for number, at in enumerate(times.pauses[:MAX_PAUSES], 1):
        yield _row(f"pause {number} at", at, at, start, how)
    how = "The start and the time in all; every pause counts as long as the printer card says."
    yield _row("ends at", times.end, minute_up(times.end), start, how)


def _row(name: str, moment: datetime, told: datetime, start: datetime, how: str) -> Row:
    from viewer.timing import day_text

    return Row("Clock", name, moment.isoformat(timespec="seconds"), "", day_text(start, told), how)
