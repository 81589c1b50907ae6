"""`beadline figures`: a table for people, JSON, or the layers as CSV."""

from __future__ import annotations

import argparse
from datetime import datetime

from viewer.checks.run import run_checks
from viewer.errors import BeadlineError
from viewer.program import Program
from viewer.shown.clock_rows import clock_rows
from viewer.shown.console.layers_csv import layers_csv
from viewer.shown.console.opening import Opener, start_asked
from viewer.shown.console.progress import ProgressLine, prepare_first_run
from viewer.shown.console.stopping import interruptible
from viewer.shown.console.streams import emit, in_one_line
from viewer.shown.console.tables import table, width
from viewer.shown.console.verdict_lines import offer_pieces, verdict_pieces
from viewer.shown.data import figures_object
from viewer.shown.json_text import json_text
from viewer.shown.rows import Row, program_rows
from viewer.verdict import verdict_of
from viewer.verdict.offers import offers_of
from viewer.written import spare, write_whole


def figures(asked: argparse.Namespace) -> int:
    """Print figures; return the exit status.

    Raises
    ------
    BeadlineError
        A card is not valid, or a result could not be written.
    """
    if asked.layers_csv is not None and len(asked.files) > 1:
        raise BeadlineError("--layers-csv writes the layers of one program; name one FILE.")
    start = start_asked(asked)
    with interruptible() as stop:
        opener = Opener.of(asked, stop)
        prepare_first_run()
        printed = failed = 0

        def work(program: Program, progress: ProgressLine) -> None:
            nonlocal printed, failed
            if asked.layers_csv is not None:
                _write_layers(program, asked.layers_csv, progress)
                return
            if asked.json:
                report = run_checks(program, progress, stop, start)
                plain = figures_object(program, report, start, opener.past(program))
                failed += sum(one["failed"] for one in plain["not_checked"])
                pieces = [json_text(plain, indented=len(asked.files) == 1)]
            else:
                report = run_checks(program, progress, stop, start)
                failed += len(report.failed)
                pieces = ["\n\n"] if printed else []
                cards = f"on {program.printer.name} with {program.filament.name}"
                pieces.append(f"{in_one_line(str(program.path))} {cards}\n\n")
                pieces += verdict_pieces(verdict_of(program, report, past=opener.past(program)), width())
                pieces += [*offer_pieces(offers_of(program), width()), "\n"]
                pieces.append(people_table(program, start))
            failed += len(program.figures.failures)
            progress.clear()
            emit(pieces)
            printed += 1

        opener.each(asked.files, work)
        return 2 if opener.failed or failed else 0


def _write_layers(program: Program, out: str, progress: ProgressLine) -> None:
    progress.clear()
    pieces = layers_csv(program)
    if out == "-":
        emit(pieces)
    else:
        spare(out, program.path)
        write_whole(out, pieces)


def people_table(program: Program, start: datetime | None = None) -> str:
    """Return the figures of a program as a table; causes of the ledger that took no time are left out."""
    rows = [row for row in program_rows(program) if _is_worth_a_line(row)]
    clock = () if start is None else clock_rows(program, start)
    return "".join(table([*clock, *rows], width()))


def _is_worth_a_line(row: Row) -> bool:
    return not (row.group in ("Time ledger", "Moves") and row.value == 0)
