"""What the pages of the print log show, read in three steps, so that the list is there at once; no Qt."""

from __future__ import annotations

from dataclasses import dataclass, field

from viewer.printlog.accuracy import Accuracy, OutcomeCount, Proposal, accuracy, outcomes, proposals
from viewer.printlog.against import Point, points_of
from viewer.printlog.months import Month, months_of
from viewer.printlog.rows import Entry, SpoolState
from viewer.printlog.store import PrintLog

FIRST = 300
"""Prints that are read first: more than a screen shows."""


@dataclass(frozen=True, slots=True)
class FirstPrints:
    """The latest prints."""

    entries: list[Entry] = field(default_factory=list)
    count: int = 0
    """How many the log has."""


@dataclass(frozen=True, slots=True)
class AllPrints:
    """All prints and spools, and what months cost."""

    entries: list[Entry] = field(default_factory=list)
    spools: list[SpoolState] = field(default_factory=list)
    months: list[Month] = field(default_factory=list)


@dataclass(frozen=True, slots=True)
class Computed:
    """What follows from the prints."""

    points: dict[str, list[Point]] = field(default_factory=dict)
    """By printer."""
    accuracy: list[Accuracy] = field(default_factory=list)
    proposals: dict[str, Proposal] = field(default_factory=dict)
    outcomes: list[OutcomeCount] = field(default_factory=list)


def first_prints(log: PrintLog) -> FirstPrints:
    """Read the latest prints."""
    return FirstPrints(log.entries(FIRST), log.count())


def all_prints(log: PrintLog) -> AllPrints:
    """Read all prints."""
    entries = log.entries()
    return AllPrints(entries, log.spools(), months_of(entries))


def computed(log: PrintLog) -> Computed:
    """Compute from the prints, and look through the file for damage.

    Raises
    ------
    BeadlineError
        It is damaged.
    """
    numbers, history = log.numbered_history()
    found = Computed(points_of(numbers, history), accuracy(history), proposals(history), outcomes(history))
    log.check()
    return found
