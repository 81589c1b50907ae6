"""What is left on a spool, as a person writes it."""

from __future__ import annotations

import re
from typing import Final

from viewer.errors import BeadlineError

MAX_G: Final = 50_000.0
"""No spool of a bench printer holds more (common practice, no source): a larger number is a slip."""
_AMOUNT: Final = re.compile(r"(\d+(?:[.,]\d*)?|[.,]\d+)\s*(g|kg)?")


def grams_of(text: str) -> float:
    """Return what ``250``, ``250 g`` or ``0.25 kg`` means, g.

    Raises
    ------
    BeadlineError
        It is no amount of filament.
    """
    found = _AMOUNT.fullmatch(text.strip().casefold())
    grams = float(found[1].replace(",", ".")) * (1000.0 if found[2] == "kg" else 1.0) if found else -1.0
    if not 0.0 <= grams <= MAX_G:
        raise BeadlineError(
            f"What is left on the spool, {text!r}, is no amount from 0 to {MAX_G / 1000.0:g} kg; write it as 250 g "
            "or 0.25 kg."
        )
    return grams


def grams_text(grams: float) -> str:
    """Return an amount as it is shown, and read again: ``250 g``."""
    return f"{grams:g} g"


def left_text(grams: float) -> str:
    """Return what is left: ``640 g``; nothing is left where prints drew more than there was."""
    return f"{max(grams, 0.0):.0f} g"
