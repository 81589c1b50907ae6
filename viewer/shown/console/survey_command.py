"""`beadline survey`: many programs, one row each, what needs a person first."""

from __future__ import annotations

import argparse
from collections.abc import Iterable, Iterator, Sequence
from contextlib import closing
from datetime import datetime

from viewer.cards.kinds import Cards
from viewer.errors import BeadlineError
from viewer.numerals import count_text, counted_text
from viewer.shown.clock_rows import NOW, start_of
from viewer.shown.console.cards_asked import cards_asked, diameter_asked
from viewer.shown.console.colour import painted
from viewer.shown.console.progress import ProgressLine, prepare_first_run
from viewer.shown.console.stopping import STATUS, interruptible
from viewer.shown.console.streams import emit, in_one_line, say
from viewer.shown.console.tables import paragraph, width
from viewer.shown.json_text import json_text
from viewer.shown.paper.survey_page import About, survey_page
from viewer.shown.pictures.small_picture import small_picture
from viewer.shown.survey.data import survey_csv, survey_object
from viewer.shown.survey.text import (
    amounts_text,
    cautions_of,
    decisive_text,
    grave_text,
    head_text,
    totals_lines,
    twins_of,
)
from viewer.survey.cluster import Cluster
from viewer.survey.files import programs_in
from viewer.survey.parts import code_version
from viewer.survey.processes import Processes, cores
from viewer.survey.row import Row, in_order, totals_of
from viewer.survey.run import Survey, Wanted, without_repeats
from viewer.survey.store import Remembered, survey_path
from viewer.survey.work import Done, Engine, Work
from viewer.verdict.fits import known_printers
from viewer.written import write_whole


def survey(asked: argparse.Namespace) -> int:
    """Survey programs; return the exit status: 0 all have a verdict, 2 not all could be read, 130 stopped.

    Raises
    ------
    BeadlineError
        A card is not valid, or the result could not be written.
    """
    start = start_of(NOW if asked.start is None else asked.start)
    if asked.json and asked.csv == "-":
        raise BeadlineError("--json and --csv - both write to standard output; name a file for the table.")
    if "-" in asked.files:
        raise BeadlineError("A survey is of files and folders; `beadline vet -` reads standard input.")
    engine = _engine(asked)
    paths, sentences = programs_in(asked.files)
    known, broken = known_printers(diameter_asked(asked))
    printers = [card for _, card in known]
    for sentence in (*sentences, *broken):
        say(sentence)
    cards = cards_asked(asked)
    draw = None if asked.html is None else small_picture
    wanted = Wanted(cards=cards, printers=tuple(printers), draw=draw)
    with Remembered(survey_path(), code_version()) as store:
        rows, complete = _rows(Survey(wanted, store, engine), without_repeats(paths))
    if not complete:
        return STATUS
    rows = in_order(rows)
    if asked.html is not None:
        about = About(named=asked.files, cards=cards, start=start, code=code_version())
        write_whole(asked.html, survey_page(rows, about))
    _write(asked, rows, cards, start)
    return 2 if sentences or broken or any(row.verdict is None for row in rows) else 0


def _engine(asked: argparse.Namespace) -> Engine:
    """Return who does the work.

    Raises
    ------
    BeadlineError
        What was asked for is no number of programs, or does not go together.
    """
    if asked.on is None:
        return _ThisMachine(_jobs(asked.jobs))
    if asked.jobs is not None:
        raise BeadlineError("--jobs is for this machine and --on for others; leave one of them out.")
    return Cluster(asked.on)


def _jobs(text: str | None) -> int:
    """Return how many programs are to be worked on at a time.

    Raises
    ------
    BeadlineError
        It is no number of programs.
    """
    if text is None:
        return cores()
    if not text.isdecimal() or not 1 <= int(text) <= 1024:
        raise BeadlineError(f"{text!r} is no number of programs to work on at a time; write one from 1 on.")
    return int(text)


class _ThisMachine(Processes):
    """The workers of this machine, once the kernels are compiled: else each of them would compile all."""

    def run(self, works: Iterable[Work]) -> Iterator[tuple[Work, Done]]:
        """Do all works and yield each once with what came of it."""
        prepare_first_run()
        yield from super().run(works)


def _rows(survey: Survey, paths: list[str]) -> tuple[list[Row], bool]:
    """Return the rows that were done, and whether all are."""
    rows: list[Row] = []
    progress = ProgressLine("survey")
    with interruptible():
        try:
            with closing(survey.rows(paths)) as coming:
                for row in coming:
                    rows.append(row)
                    progress(f"{count_text(len(rows))} of {count_text(len(paths))}", len(rows) / len(paths))
        except KeyboardInterrupt:
            progress.clear()
            say(
                f"Stopped: {count_text(len(rows))} of {counted_text(len(paths), 'program')} done and remembered; "
                "the same command goes on from there."
            )
            return rows, False
    progress.clear()
    return rows, True


def _write(asked: argparse.Namespace, rows: Sequence[Row], cards: Cards, start: datetime) -> None:
    """Write the rows in the forms that were asked for.

    Raises
    ------
    OutputError
        One of them could not be written.
    """
    if asked.csv is not None and asked.csv != "-":
        write_whole(asked.csv, survey_csv(rows, start))
    if asked.json:
        emit([json_text(survey_object(rows, start), indented=True)])
    elif asked.csv == "-":
        emit(survey_csv(rows, start))
    else:
        emit(_pieces(rows, cards, start))


def _pieces(rows: Sequence[Row], cards: Cards, start: datetime) -> Iterator[str]:
    columns = width()
    yield paragraph(head_text(len(rows), cards, start), columns)
    yield "\n"
    indent = " " * 11
    twins = twins_of(rows)
    for row in rows:
        yield painted(f"{row.word:<9}  {in_one_line(row.path)}\n", row.word)
        if row.verdict is not None and (grave := grave_text(row.verdict)):
            yield paragraph(grave, columns, indent)
        if decisive := decisive_text(row):
            yield paragraph(in_one_line(decisive), columns, indent)
        if amounts := amounts_text(row, start):
            yield paragraph(amounts, columns, indent)
        if row.path in twins:
            yield paragraph(f"The same bytes as {in_one_line(twins[row.path])}.", columns, indent)
    yield "\n"
    totals = list(totals_lines(totals_of(rows)))
    names = max(len(name) for name, _ in totals)
    for name, value in totals:
        yield f"{name:<{names}}  {value}\n"
    for caution in cautions_of(rows):
        yield "\n"
        yield paragraph(f"Caution: {caution}", columns)
