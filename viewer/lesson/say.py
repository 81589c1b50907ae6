"""Figures as they are said aloud: shorter than in tables, never more than is true."""

from __future__ import annotations

from typing import Final

from viewer.numerals import count_text, counted_text, number_text, share_text

_SECONDS_UP_TO: Final = 600.0
"""From ten minutes on, nobody says the seconds."""
_METRE: Final = 1000.0


def spoken_time(seconds: float) -> str:
    """Return a duration as it is said.

    >>> spoken_time(0.62), spoken_time(34.8), spoken_time(192.0), spoken_time(3010.0), spoken_time(4187.0)
    ('0.62 s', '35 s', '3 min 12 s', '50 min', '1 h 10 min')
    """
    if seconds < 10.0:
        return f"{number_text(seconds, 2)} s"
    if seconds < 59.5:
        return f"{round(seconds)} s"
    if seconds < _SECONDS_UP_TO:
        minutes, rest = divmod(round(seconds), 60)
        return f"{minutes} min {rest} s" if rest else f"{minutes} min"
    hours, minutes = divmod(round(seconds / 60.0), 60)
    if not hours:
        return f"{minutes} min"
    return f"{count_text(hours)} h {minutes} min" if minutes else f"{count_text(hours)} h"


def spoken_times(count: int) -> str:
    """Return how often something happens.

    >>> spoken_times(1), spoken_times(12)
    ('once', '12 times')
    """
    return "once" if count == 1 else counted_text(count, "time")


def spoken_length(mm: float) -> str:
    """Return a length as it is said: in mm, from 1 m on in m.

    >>> spoken_length(0.449), spoken_length(67.03), spoken_length(3512.0)
    ('0.45 mm', '67 mm', '3.5 m')
    """
    if mm >= _METRE:
        return f"{number_text(mm / _METRE, 2)} m"
    return f"{number_text(mm, 2)} mm"


def spoken_mass(grams: float) -> str:
    """Return a mass as it is said.

    >>> spoken_mass(0.417), spoken_mass(11.02)
    ('0.42 g', '11 g')
    """
    return f"{number_text(grams, 2)} g"


def spoken_share(share: float) -> str:
    """Return a share as it is said; all of it only where it is exact.

    >>> spoken_share(0.0037), spoken_share(0.22), spoken_share(1.0), spoken_share(0.9999)
    ('0.37 %', '22 %', '100 %', 'over 99.9 %')
    """
    return (
        share_text(share)
        if share in (0.0, 1.0) or not 0.0005 <= share < 0.995
        else f"{number_text(100.0 * share, 2)} %"
    )
