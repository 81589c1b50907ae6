"""Numbers, durations and clock times as people read them; none of them says more than is true.

What findings need, too, stands in `viewer.numerals`.
"""

from __future__ import annotations

import math
import re
from datetime import datetime
from typing import Final

from viewer.numerals import UNKNOWN, count_text, more_or_less, number_text, share_text
from viewer.time_of_day import clock_time, day_text, minute_up

__all__ = [
    "UNKNOWN", "bytes_text", "clock_text", "count_text", "difference_text", "distance_text", "duration_text",
    "given_time_text", "money_text", "number_text", "place_text", "share_text", "size_text",
]  # fmt: skip


_ZERO_PARTS: Final = re.compile(r"(?: 0 (?:h|min|s))+$")


def size_text(mm: float | None) -> str:
    """Return a length or a height in mm to the micrometre, without trailing zeros: 0.28, 10.12."""
    if mm is None or math.isnan(mm):
        return UNKNOWN
    if mm != 0.0 and abs(mm) < 0.0005:
        return number_text(mm)
    text = f"{mm:.3f}".rstrip("0").rstrip(".")
    return "0" if text == "-0" else text


def place_text(mm: float) -> str:
    """Return a coordinate in mm to a tenth: finer than any plate is levelled."""
    text = f"{mm:.1f}"
    return "0.0" if text == "-0.0" else text


def distance_text(mm: float | None) -> str:
    """Return a path or a length of filament with its unit: mm, or m from 1 m on."""
    if mm is None or math.isnan(mm):
        return UNKNOWN
    return f"{number_text(mm / 1000.0)} m" if abs(mm) >= 1000.0 else f"{number_text(mm)} mm"


def duration_text(seconds: float | None) -> str:
    """Return a time as hours, minutes and seconds; below a minute with three digits, from a day on in days.

    >>> duration_text(4085), duration_text(35.24), duration_text(59.97), duration_text(93_784)
    ('1 h 8 min 5 s', '35.2 s', '1 min 0 s', '1 d 2 h 3 min')
    """
    if seconds is None or math.isnan(seconds):
        return UNKNOWN
    if seconds < 0.0:
        return f"-{duration_text(-seconds)}"
    if seconds < 59.95:
        return f"{number_text(seconds)} s"
    whole = round(seconds)
    if whole >= 86_400:
        minutes = round(seconds / 60.0)
        return f"{minutes // 1440} d {minutes // 60 % 24} h {minutes % 60} min"
    parts = f"{whole // 60 % 60} min {whole % 60} s"
    return f"{whole // 3600} h {parts}" if whole >= 3600 else parts


def given_time_text(seconds: float) -> str:
    """Return a time that was given, not computed, as `duration_text` does but without zeros at its end.

    >>> given_time_text(18_000.0), given_time_text(4200.0), given_time_text(3605.0)
    ('5 h', '1 h 10 min', '1 h 0 min 5 s')
    """
    return _ZERO_PARTS.sub("", duration_text(seconds))


def clock_text(start: datetime, elapsed_s: float) -> str:
    """Return the full minute by which something is over `elapsed_s` after `start`, and whether it is another day.

    >>> clock_text(datetime(2026, 3, 2, 14, 30), 4085), clock_text(datetime(2026, 3, 2, 22, 0), 4 * 3600)
    ('15:39', '02:00 the next day')
    """
    return day_text(start, minute_up(clock_time(start, elapsed_s)))


def difference_text(ratio: float) -> str:
    """Say how far a claim is from our figure, from their ratio: claim over ours."""
    if ratio == 1.0:
        return "the same"
    if abs(ratio - 1.0) <= 0.0005:
        return "the same within 0.05 %"
    if ratio >= 1.9995:
        return f"{number_text(ratio)} times ours"
    return f"{more_or_less(ratio)} than ours"


def money_text(amount: float | None, currency: str) -> str:
    """Return an amount to the hundredth with its currency."""
    if amount is None or math.isnan(amount):
        return UNKNOWN
    if 0.0 < amount < 0.005:
        return f"below 0.01 {currency}"
    return f"{amount:.2f} {currency}"


def bytes_text(count: int) -> str:
    """Return the size of a file: bytes, kB or MB (decimal)."""
    if count < 1000:
        return f"{count} bytes"
    if count < 999_500:
        return f"{number_text(count / 1e3)} kB"
    return f"{number_text(count / 1e6)} MB"
