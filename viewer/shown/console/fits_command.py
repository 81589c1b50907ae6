"""`beadline fits`: which printers take a program, with its time and cost on each."""

from __future__ import annotations

import argparse
from collections.abc import Iterator

from viewer.checks.finding import Severity
from viewer.program import Program
from viewer.shown.console.cards_asked import diameter_asked
from viewer.shown.console.opening import Opener, start_asked
from viewer.shown.console.progress import ProgressLine, prepare_first_run
from viewer.shown.console.stopping import interruptible
from viewer.shown.console.streams import emit, in_one_line, say
from viewer.shown.console.tables import paragraph, width
from viewer.shown.finding_text import readable
from viewer.shown.fit_text import counts_text, fit_object, fit_text
from viewer.shown.json_text import json_text
from viewer.shown.numbers import clock_text, duration_text, money_text
from viewer.verdict.fits import Fit, fits_of, known_printers


def fits(asked: argparse.Namespace) -> int:
    """Print which printers take each program; return the exit status: 0, or 2 where a file or a card was not readable.

    Raises
    ------
    BeadlineError
        A card that was named is not valid, or the result could not be written.
    """
    start = start_asked(asked)
    known, broken = known_printers(diameter_asked(asked))
    printers = [card for _, card in known]
    for sentence in broken:
        say(sentence)
    asked.printer = None
    with interruptible() as stop:
        opener = Opener.of(asked, stop)
        prepare_first_run()

        def work(program: Program, progress: ProgressLine) -> None:
            found = list(fits_of(program, printers, start))
            progress.clear()
            if asked.json:
                one = {"path": str(program.path), "filament": program.filament.name}
                plain = {**one, "printers": [fit_object(fit) for fit in found]}
                emit([json_text(plain, indented=len(asked.files) == 1)])
            else:
                emit(_pieces(program, found))

        opener.each(asked.files, work)
        return 2 if opener.failed or broken else 0


def _pieces(program: Program, found: list[Fit]) -> Iterator[str]:
    columns = width()
    yield f"{in_one_line(str(program.path))} with {program.filament.name}\n"
    names = max((len(fit.printer.name) for fit in found), default=0)
    for fit in found:
        yield f"\n  {fit.printer.name:<{names}}  {fit_text(fit)}\n"
        yield paragraph(f"{_amounts(fit)}; {counts_text(fit)}", columns, " " * (names + 4))
        for one in fit.findings:
            if one.severity is not Severity.NOTE:
                yield paragraph(f"{one.severity.value}: {readable(one.sentence)}", columns, " " * (names + 4))
    yield "\n"


def _amounts(fit: Fit) -> str:
    done = "" if fit.start is None else f", done at {clock_text(fit.start, fit.time_s)}"
    return f"{duration_text(fit.time_s)}{done}, {money_text(fit.cost, fit.currency)}"
