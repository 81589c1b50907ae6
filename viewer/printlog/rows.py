"""What the log keeps, as plain frozen rows."""

from __future__ import annotations

import uuid
from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime
from enum import StrEnum
from typing import Final, NamedTuple

from viewer.errors import BeadlineError


class Outcome(StrEnum):
    """How a print ended."""

    DONE = "done"
    STOPPED = "stopped"
    FAILED = "failed"


REASONS: Final = (
    "came off the plate",
    "nozzle clogged",
    "filament ran out",
    "layers shifted",
    "strings",
    "warped",
    "power lost",
    "wrong settings",
    "other",
)
"""Why a print failed (common practice, no source); words of one's own go beside it."""

LONGEST_S: Final = 60 * 86_400.0
"""A print of more than sixty days is a slip of the date (common practice, no source)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Print:
    """One print. Times are local and without zone, as a person reads them off a clock."""

    program: str
    """The file's name, without folders."""
    sha256: str
    printer: str
    filament: str
    computed_s: float
    """The computed time in all, s."""
    parts_s: Mapping[str, float]
    """The computed ledger, s by cause (`figures.time.ledger_s`)."""
    computed_g: float
    started: datetime
    ended: datetime
    outcome: Outcome = Outcome.DONE
    layer: int | None = None
    """The layer at which it was stopped or failed, from 1."""
    reason: str = ""
    """One of `REASONS`, for prints that failed."""
    words: str = ""
    weight_g: float | None = None
    """As weighed."""
    spool: str | None = None
    """The spool's label."""
    charge: float | None = None
    currency: str = ""
    for_whom: str = ""
    """The one field about a person."""
    note: str = ""
    printer_card: str = ""
    """The card as text, as it was then."""
    filament_card: str = ""
    invented: bool = False
    """A row of the demo log."""
    uid: str = field(default_factory=lambda: uuid.uuid4().hex)
    """Tells rows apart that come in twice."""
    number: int | None = None
    """The row's number in its store; None: not stored yet."""

    @property
    def real_s(self) -> float:
        """How long it took, s."""
        return (self.ended - self.started).total_seconds()

    def checked(self) -> Print:
        """Return itself.

        Raises
        ------
        BeadlineError
            It contradicts itself.
        """
        if self.ended <= self.started:
            raise BeadlineError(
                f"The print of {self.program} would have ended ({self.ended:%Y-%m-%d %H:%M}) before it started "
                f"({self.started:%Y-%m-%d %H:%M}); give both with their dates."
            )
        if self.real_s > LONGEST_S:
            raise BeadlineError(
                f"The print of {self.program} would have taken {self.real_s / 86_400.0:.0f} days; see whether the "
                "dates are right."
            )
        if self.reason and self.reason not in REASONS:
            raise BeadlineError(
                f"There is no reason {self.reason!r} in the list; it is one of: {', '.join(REASONS)}."
            )
        if self.reason and self.outcome is not Outcome.FAILED:
            raise BeadlineError("Only a print that failed has a reason; give the outcome failed with it.")
        if self.layer is not None and (self.outcome is Outcome.DONE or self.layer < 1):
            raise BeadlineError("A layer, from 1, belongs to a print that was stopped or failed.")
        if self.weight_g is not None and not 0.0 <= self.weight_g <= 50_000.0:
            raise BeadlineError(
                f"A print that weighs {self.weight_g:g} g is a slip; give its weight in grams."
            )
        return self


class Entry(NamedTuple):
    """One print as a line of a list; times as ISO 8601 texts, which sort as the times do."""

    number: int
    started: str
    ended: str
    program: str
    printer: str
    filament: str
    computed_s: float
    drawn_g: float
    """As weighed, else as computed."""
    outcome: str
    layer: int | None
    reason: str
    words: str
    spool: str | None
    charge: float | None
    currency: str
    for_whom: str
    note: str
    invented: int

    @property
    def real_s(self) -> float:
        """How long it took, s."""
        return (datetime.fromisoformat(self.ended) - datetime.fromisoformat(self.started)).total_seconds()

    @property
    def against_computed(self) -> float | None:
        """Real over computed time of a print that was done; None of others."""
        done = self.outcome == Outcome.DONE and self.computed_s > 0.0
        return self.real_s / self.computed_s if done else None


@dataclass(frozen=True, slots=True, kw_only=True)
class Spool:
    """A spool of filament on the bench."""

    label: str
    filament: str
    """The filament card's name."""
    full_g: float
    """Filament on it when it was begun, without the spool itself."""
    tare_g: float | None = None
    """The empty spool's own mass; needed to use weighings."""
    begun: datetime
    emptied: datetime | None = None


@dataclass(frozen=True, slots=True)
class Weighing:
    """A spool put on the scales."""

    spool: str
    at: datetime
    gross_g: float
    """With the spool itself."""


@dataclass(frozen=True, slots=True)
class SpoolState:
    """What the log knows of a spool now."""

    spool: Spool
    left_g: float
    """What is left: from the last weighing, else from when it was begun, less what prints drew since."""
    drawn_g: float
    """What all noted prints drew: weighed where they were, else computed."""
    drift: float | None
    """What the scales say was drawn over what was computed, of the prints between the first and last weighing; None
    where there are not two weighings with prints between them."""
    weighings: tuple[Weighing, ...] = ()
    """In the order of time."""

    @property
    def there_g(self) -> float:
        """What can be on the spool: `left_g`, but never less than nothing."""
        return max(self.left_g, 0.0)
