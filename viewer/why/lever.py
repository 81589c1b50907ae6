"""What a lever is: one thing that somebody could change, how far, and what it may cost."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Final, Literal

from viewer.why.inputs import Inputs

MORE: Final = (1.25, 2.0, float("inf"))
"""Factors that are tried where more takes less time: a quarter more, double, without limit."""
LESS: Final = (0.8, 0.5, 0.0)
"""Factors that are tried where less takes less time: a fifth less, half, none at all."""
NONE_AT_ALL: Final = (0.0,)
"""The factor of what can only be left out."""

CAUTION: Final = "Asks more of the machine: its manual has the last word."
"""Stands beside every lever that does."""

Span = tuple[float, float]
"""Lowest and highest value that a program meets."""


@dataclass(frozen=True, slots=True)
class Lever:
    """One thing that somebody could change."""

    name: str
    """For commands and programs: lower case, words joined by hyphens."""
    title: str
    place: Literal["machine", "program"]
    """Where it is changed: on the machine (card), or in what the program was made with."""
    unit: str
    """Of its value; "": it has none, it is on or off."""
    factors: tuple[float, ...]
    """Of the value now; those that are tried, from the smallest change to the largest."""
    bound: float
    """Largest change that a trial offers, as a factor; beyond it no machine of the kind is known (common practice, no
    source)."""
    cost: str
    """What it may cost."""
    asks_more: bool
    """Whether it asks more of the machine, so that the caution stands beside it."""
    value: Callable[[Inputs], Span | None]
    """The value now; None: the program has no use for the lever."""
    change: Callable[[Inputs, float], Inputs]
    """Return the inputs with the value times a factor."""
    waits_only: bool = False
    """Whether it changes waits alone, so that motion need not be planned again."""
    named: Callable[[Inputs], tuple[str, str]] | None = None
    """Return title and unit where they depend on the machine; None: they are always the same."""

    def title_and_unit(self, inputs: Inputs) -> tuple[str, str]:
        """Return what it is called, and the unit of its value, on this machine."""
        return self.named(inputs) if self.named else (self.title, self.unit)

    def tried(self, now: float, factor: float) -> float:
        """Return the value under a factor; inf: without limit."""
        return now * factor if now else 0.0
