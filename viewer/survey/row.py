"""One row of a survey, the order of rows, and their totals."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Final

from viewer.survey.parts import FitPart, Problem, VerdictPart, best_fit
from viewer.time_of_day import clock_time

UNREAD: Final = "not read"
"""The word of a program without a verdict."""
WORDS: Final = (UNREAD, "no", "look", "not known", "yes")
"""The words of rows: what needs a person first stands first."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Row:
    """What a survey says of one program: a verdict, or the problem that kept it from one."""

    path: str
    content: str | None
    """SHA-256 of the file's bytes; None: it could not be read."""
    verdict: VerdictPart | None
    fits: tuple[FitPart, ...] = ()
    picture: bytes | None = None
    """A small PNG of the whole part; None: it was not wanted, or there is no part."""
    problem: Problem | None = None

    @property
    def word(self) -> str:
        """One of `WORDS`."""
        return UNREAD if self.verdict is None else self.verdict.word

    @property
    def best(self) -> FitPart | None:
        """The fit of the printer that takes it best."""
        return best_fit(self.fits, self.verdict)

    @property
    def order(self) -> tuple[int, int, int, str]:
        """How rows are sorted: by word, then those with the most to stop for and to look at, then by path."""
        if self.verdict is None:
            return 0, 0, 0, self.path
        return WORDS.index(self.word), -self.verdict.stops, -self.verdict.looks, self.path

    def end(self, start: datetime) -> datetime | None:
        """Return when it would be done if it were begun at `start`."""
        return None if self.verdict is None else clock_time(start, self.verdict.time_s)


@dataclass(frozen=True, slots=True, kw_only=True)
class Totals:
    """The sums over rows; amounts are those of the programs that have a verdict."""

    programs: int
    by_word: dict[str, int]
    """In the order of `WORDS`, all of them."""
    by_printer: dict[str, int]
    """How many programs each printer takes best, by the printer's name, of all printers that were tried."""
    no_printer: int
    """How many programs no printer takes."""
    time_s: float
    mass_g: float
    cost: float | None
    """None: there are programs whose cost is not known."""
    currency: str


def totals_of(rows: Sequence[Row]) -> Totals:
    """Return the totals of rows."""
    words = Counter(row.word for row in rows)
    parts = [row.verdict for row in rows if row.verdict is not None]
    read = [row for row in rows if row.verdict is not None]
    printers = dict.fromkeys(sorted({fit.printer for row in read for fit in row.fits}), 0)
    best = Counter(row.best.printer if row.best else None for row in read)
    costs = [part.cost for part in parts]
    return Totals(
        programs=len(rows),
        by_word={word: words[word] for word in WORDS},
        by_printer={name: best[name] for name in printers},
        no_printer=best[None],
        time_s=sum(part.time_s for part in parts),
        mass_g=sum(part.mass_g for part in parts),
        cost=None if None in costs else sum(cost for cost in costs if cost is not None),
        currency=parts[0].currency if parts else "",
    )


def in_order(rows: Iterable[Row]) -> list[Row]:
    """Return rows sorted: what needs a person first stands first."""
    return sorted(rows, key=lambda row: row.order)
