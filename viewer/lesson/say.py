"""Figures as they are said aloud: shorter than in tables, never more than is true.

Choices of one question are said alike: ``like`` is the amount whose unit and decimals they all have, as a number that is
written otherwise than its neighbours would tell which is right.
"""

from __future__ import annotations

import math
from typing import Final

from viewer.numerals import count_text, counted_text, number_text, share_text

_SECONDS_UP_TO: Final = 600.0
"""From ten minutes on, nobody says the seconds."""
_METRE: Final = 1000.0


def spoken_time(seconds: float, like: float | None = None) -> str:
    """Return a duration as it is said.

    >>> spoken_time(0.62), spoken_time(34.8), spoken_time(192.0), spoken_time(3010.0), spoken_time(4187.0)
    ('0.62 s', '35 s', '3 min 12 s', '50 min', '1 h 10 min')
    >>> spoken_time(11.6, like=5.8), spoken_time(540.0, like=270.0), spoken_time(376.0, like=3010.0)
    ('11.6 s', '9 min 0 s', '6 min')
    """
    size = seconds if like is None else like
    if size < 10.0:
        return f"{spoken_number(seconds, like)} s"
    if size < _SECONDS_UP_TO:
        return _two_units(round(seconds), "min", "s", whole=like is not None)
    return _two_units(round(seconds / 60.0), "h", "min", whole=like is not None)


def spoken_times(count: int) -> str:
    """Return how often something happens.

    >>> spoken_times(1), spoken_times(12)
    ('once', '12 times')
    """
    return "once" if count == 1 else counted_text(count, "time")


def _two_units(count: int, large: str, small: str, *, whole: bool) -> str:
    """Return a number of small units, of which 60 make a large one; behind large ones no 0, unless it is to be whole."""
    larges, rest = divmod(count, 60)
    if not larges:
        return f"{rest} {small}"
    return (
        f"{count_text(larges)} {large} {rest} {small}" if rest or whole else f"{count_text(larges)} {large}"
    )


def spoken_length(mm: float, like: float | None = None) -> str:
    """Return a length as it is said: in mm, from 1 m on in m.

    >>> spoken_length(0.449), spoken_length(67.03), spoken_length(3512.0), spoken_length(439.0, like=3512.0)
    ('0.45 mm', '67 mm', '3.5 m', '0.4 m')
    """
    if (mm if like is None else like) >= _METRE:
        return f"{spoken_number(mm / _METRE, None if like is None else like / _METRE)} m"
    return f"{spoken_number(mm, like)} mm"


def spoken_mass(grams: float, like: float | None = None) -> str:
    """Return a mass as it is said.

    >>> spoken_mass(0.417), spoken_mass(11.02), spoken_mass(5.51, like=11.02)
    ('0.42 g', '11 g', '6 g')
    """
    return f"{spoken_number(grams, like)} g"


def spoken_share(share: float, like: float | None = None) -> str:
    """Return a share as it is said; all of it only where it is exact.

    >>> spoken_share(0.0037), spoken_share(0.22), spoken_share(1.0), spoken_share(0.9999), spoken_share(0.124, like=0.062)
    ('0.37 %', '22 %', '100 %', 'over 99.9 %', '12.4 %')
    """
    if share >= 0.995 or (like is None and share < 0.0005):
        return share_text(share)
    return f"{spoken_number(100.0 * share, None if like is None else 100.0 * like)} %"


def spoken_speed(mm_s: float, like: float | None = None) -> str:
    """Return a speed as it is said.

    >>> spoken_speed(61.8), spoken_speed(4.0, like=6.0)
    ('62 mm/s', '4.0 mm/s')
    """
    return f"{spoken_number(mm_s, like)} mm/s"


def spoken_number(value: float, like: float | None = None) -> str:
    """Return a number with two significant digits, or with as many decimals as another has by that rule."""
    if like is None:
        return number_text(value, 2)
    decimals = max(0, 1 - math.floor(math.log10(like)))
    return f"{value:.{decimals}f}" if decimals else count_text(round(value))
