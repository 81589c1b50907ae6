"""How fast a layer can be played."""

from __future__ import annotations

from typing import Final

PACES: Final = {
    0.1: "1/10 pace",
    0.5: "1/2 pace",
    1.0: "real pace",
    10.0: "10 ×",
    60.0: "60 ×",
    600.0: "600 ×",
}
"""Paces to choose from, by how many times as fast as the printer they are."""
USUAL_PACE: Final = 60.0
"""One minute of printing in a second."""


def pace_text(pace: float) -> str:
    """Return a pace in words, also one that is not in the table."""
    return PACES.get(pace, f"{pace:g} ×")


def next_pace(pace: float, step: int) -> float:
    """Return the next faster (1) or slower (-1) pace of the table; the last one where there is none."""
    beyond = [one for one in PACES if (one > pace if step > 0 else one < pace)]
    return pace if not beyond else beyond[0] if step > 0 else beyond[-1]
