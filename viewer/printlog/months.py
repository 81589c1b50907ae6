"""What each month of prints took and cost."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass

from viewer.printlog.rows import Entry, Outcome


@dataclass(frozen=True, slots=True)
class Month:
    """The prints that started in one month."""

    month: str
    """As 2026-03."""
    prints: int
    done: int
    real_s: float
    """How long the printers ran, s."""
    drawn_g: float
    """Filament, weighed where it was, else computed."""
    charges: tuple[tuple[str, float], ...]
    """What was charged in each currency, by its name."""
    uncharged: int
    """Prints for which no charge is noted."""


def months_of(entries: Iterable[Entry]) -> list[Month]:
    """Return the months in which prints started, the latest first."""
    by_month = defaultdict[str, list[Entry]](list)
    for one in entries:
        by_month[one.started[:7]].append(one)
    return [_month(name, by_month[name]) for name in sorted(by_month, reverse=True)]


def _month(name: str, entries: list[Entry]) -> Month:
    charges = defaultdict[str, float](float)
    for one in entries:
        if one.charge is not None:
            charges[one.currency] += one.charge
    return Month(
        month=name, prints=len(entries), done=sum(one.outcome == Outcome.DONE for one in entries),
        real_s=sum(one.real_s for one in entries), drawn_g=sum(one.drawn_g for one in entries),
        charges=tuple(sorted(charges.items())), uncharged=sum(one.charge is None for one in entries),
    )  # fmt: skip
