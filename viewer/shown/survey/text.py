"""A survey in words, for console, paper and window."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from datetime import datetime
from pathlib import Path
from typing import Final

from viewer.cards.kinds import Cards
from viewer.checks.finding import Hazard
from viewer.numerals import counted_text
from viewer.shown.finding_text import CAUTIONS, NOTHING_FOUND, readable
from viewer.shown.numbers import clock_text, count_text, duration_text, money_text, number_text, size_text
from viewer.survey.parts import FitPart, VerdictPart
from viewer.survey.row import UNREAD, Row, Totals

MEANS: Final = {
    UNREAD: "could not be read",
    "no": "would fail or do harm",
    "look": "to be looked at first",
    "not known": "what matters most could not be checked",
    "yes": NOTHING_FOUND,
}
"""What each word of a row means."""


def decisive_text(row: Row) -> str:
    """Return what decides a row: its problem, or its gravest finding unless that is a note; "" where nothing does.

    A problem's sentence names the file without its folder: wherever it is shown, the path stands beside it.
    """
    if row.problem is not None:
        sentence = row.problem.sentence
        return (
            Path(row.path).name + sentence.removeprefix(row.path)
            if sentence.startswith(row.path)
            else sentence
        )
    verdict = row.verdict
    assert verdict is not None
    if verdict.worst is not None and verdict.worst.severity != "note":
        return readable(verdict.worst.sentence)
    unknown = [one.question for one in verdict.answers if one.word == "not known"]
    return f"Not known: {', '.join(unknown)}." if unknown else ""


def grave_text(verdict: VerdictPart) -> str:
    """Return the answers that are no yes: ``printer no, shape look``; "" where there are none."""
    return ", ".join(f"{one.question} {one.word}" for one in verdict.answers if one.word != "yes")


def time_text(verdict: VerdictPart) -> str:
    """Return the time, marked where the machine does something in it whose time is not known."""
    return duration_text(verdict.time_s) + (" and more" if verdict.uncounted else "")


def end_text(row: Row, start: datetime) -> str:
    """Return when it would be done if it were begun at `start`; "" without a verdict."""
    return "" if row.verdict is None else clock_text(start, row.verdict.time_s)


def mass_text(verdict: VerdictPart) -> str:
    """Return the filament's mass."""
    return f"{number_text(verdict.mass_g)} g"


def height_text(verdict: VerdictPart) -> str:
    """Return the part's height; "" where there is no part."""
    return "" if verdict.height_mm is None else f"{size_text(verdict.height_mm)} mm"


def stated_text(verdict: VerdictPart) -> str:
    """Return what the program says that it was made for: ``PETG, nozzle 0.4 mm``; "" where it says nothing."""
    nozzle = None if verdict.nozzle_mm is None else f"nozzle {size_text(verdict.nozzle_mm)} mm"
    return ", ".join(word for word in (verdict.material, nozzle) if word)


def best_text(row: Row) -> str:
    """Return the printer that takes it best; ``none`` where no printer does, "" where none was tried."""
    if not row.fits:
        return ""
    return "none" if row.best is None else row.best.printer


def fits_text(fits: Iterable[FitPart]) -> str:
    """Return the printers that take it, parted by semicolons."""
    return "; ".join(fit.printer for fit in fits if fit.fits and not fit.stops)


def amounts_text(row: Row, start: datetime) -> str:
    """Return a row's amounts in one line: time, end, mass, cost, height, what it was made for, best printer."""
    verdict = row.verdict
    if verdict is None:
        return ""
    cost = "" if verdict.cost is None else money_text(verdict.cost, verdict.currency)
    told = (
        time_text(verdict),
        f"done at {end_text(row, start)}",
        mass_text(verdict),
        cost,
        height_text(verdict) and f"{height_text(verdict)} high",
        f"made for {stated}" if (stated := stated_text(verdict)) else "",
        _where_text(row),
    )
    return ", ".join(word for word in told if word)


def _where_text(row: Row) -> str:
    """Return on which printer it is best; what would fail on all of them is not said to fit on none."""
    if row.best is not None:
        return f"best on {row.best.printer}"
    if not row.fits:
        return ""
    return "on no printer as it is" if fits_text(row.fits) else "no printer takes it"


def head_text(programs: int, cards: Cards, start: datetime) -> str:
    """Return what the rows depend on: the cards, and when each program would be begun."""
    return (
        f"{counted_text(programs, 'program')} on {cards.printer.name} with {cards.filament.name}, {cards.workshop.name}; "
        f"done at: if begun on {start:%Y-%m-%d} at {start:%H:%M}."
    )


def twins_of(rows: Iterable[Row]) -> dict[str, str]:
    """Return, by its path, for each row whose bytes an earlier row has, the path of that one."""
    first: dict[str, str] = {}
    twins: dict[str, str] = {}
    for row in rows:
        if row.content is not None and (found := first.setdefault(row.content, row.path)) != row.path:
            twins[row.path] = found
    return twins


def totals_lines(totals: Totals) -> Iterator[tuple[str, str]]:
    """Yield the totals as names and values."""
    yield "programs", count_text(totals.programs)
    for word, count in totals.by_word.items():
        if count:
            yield word, f"{count_text(count)}, {MEANS[word]}"
    yield from sums_lines(totals)


def sums_lines(totals: Totals) -> Iterator[tuple[str, str]]:
    """Yield how many programs each printer takes best, and the sums; no sums where no program could be read."""
    for printer, count in totals.by_printer.items():
        yield f"best on {printer}", count_text(count)
    if totals.no_printer:
        yield "on no printer as it is", count_text(totals.no_printer)
    if totals.programs == totals.by_word[UNREAD]:
        return  # sums of nothing
    yield "time in all", duration_text(totals.time_s)
    yield "filament in all", f"{number_text(totals.mass_g)} g"
    yield (
        "cost in all",
        "not known of all" if totals.cost is None else money_text(totals.cost, totals.currency),
    )


def cautions_of(rows: Sequence[Row]) -> list[str]:
    """Return the usual cautions that belong to the worst findings of rows, each once."""
    hazards = {row.verdict.worst.hazard for row in rows if row.verdict and row.verdict.worst}
    return [CAUTIONS[hazard] for hazard in Hazard if hazard.value in hazards]
