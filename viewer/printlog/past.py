"""What the log says of one program, as data; nothing is imported for it, so that who has no log does not wait for it."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from viewer.printlog.estimate import Estimate


@dataclass(frozen=True, slots=True)
class Took:
    """How long a program took when it was last printed to its end on a printer."""

    seconds: float
    started: datetime
    prints: int
    """How often it was printed to its end there, among the latest."""


@dataclass(frozen=True, slots=True)
class ChosenSpool:
    """The spool of the log that a print is to draw from."""

    label: str
    left_g: float
    """By the log; below 0: more was drawn than it held."""
    filament: str = ""
    """Name of its filament card, where it is known."""
    drift: float | None = None
    """As `SpoolState` has it."""

    @property
    def there_g(self) -> float:
        """What can be on the spool: `left_g`, but never less than nothing."""
        return max(self.left_g, 0.0)


@dataclass(frozen=True, slots=True)
class Past:
    """What the log says of one program on one printer."""

    estimate: Estimate | None = None
    """How long it is likely to take; None: too few prints were noted on that printer."""
    spool: ChosenSpool | None = None
    """The spool that was named."""
    took: Took | None = None
    """The last print of this very program on this printer, where it was asked for."""
    other_card: int = 0
    """How many prints on this printer do not count, because its card gave other times then."""
    problem: str = ""
    """Why the log says nothing, in a sentence; empty: it could be read, or there is none."""
