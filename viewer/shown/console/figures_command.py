"""`beadline figures`: a table for people, JSON, or the layers as CSV."""

from __future__ import annotations

import argparse
from collections.abc import Callable
from datetime import datetime
from typing import Any

import msgspec

from viewer.errors import BeadlineError
from viewer.program import Program, figures_object
from viewer.shown.clock_rows import clock_rows
from viewer.shown.console.opening import Bench, start_asked
from viewer.shown.console.plain import json_text, layers_csv
from viewer.shown.console.progress import Progress, prepare_first_run
from viewer.shown.console.stopping import interruptible
from viewer.shown.console.streams import emit
from viewer.shown.console.tables import table, width
from viewer.shown.rows import Row, program_rows
from viewer.written import spare, write_whole


def figures(asked: argparse.Namespace) -> int:
    """Print figures; give the exit status.

    Raises
    ------
    BeadlineError
        A card is not valid, or a result could not be written.
    """
    if asked.layers_csv is not None and len(asked.files) > 1:
        raise BeadlineError("--layers-csv writes the layers of one program; name one FILE.")
    start = start_asked(asked)
    with interruptible() as stop:
        bench = Bench.of(asked, stop)
        prepare_first_run()
        printed = 0

        def work(program: Program, progress: Progress) -> None:
            nonlocal printed
            if asked.layers_csv is not None:
                _write_layers(program, asked.layers_csv, progress)
                return
            if asked.json:
                text = json_text(_object(program, progress, stop, start), indented=len(asked.files) == 1)
            else:
                text = ("\n\n" if printed else "") + people_table(program, start)
            progress.clear()
            emit([text])
            printed += 1

        bench.each(asked.files, work)
        return 2 if bench.failed else 0


def _write_layers(program: Program, out: str, progress: Progress) -> None:
    progress.clear()
    pieces = layers_csv(program)
    if out == "-":
        emit(pieces)
    else:
        spare(out, program.path)
        write_whole(out, pieces)


def _object(
    program: Program, progress: Progress, stop: Callable[[], bool], start: datetime | None
) -> dict[str, Any]:
    """Return the figures and the findings, as ``figures --json`` prints them."""
    from viewer.checks.run import run_checks
    from viewer.figures.clock_times import clock_times
    from viewer.shown.console.vet_command import report_object

    figures_alone = figures_object(program)
    report = report_object(program, run_checks(program, progress, stop, start))
    clock = None if start is None else msgspec.to_builtins(clock_times(program.figures.time, start))
    return {
        **figures_alone,
        "clock": clock,
        "findings": report["findings"],
        "not_checked": report["not_checked"],
    }


def people_table(program: Program, start: datetime | None = None) -> str:
    """Return the figures of a program as a table; causes of the ledger that took no time are left out."""
    rows = [row for row in program_rows(program) if _is_worth_a_line(row)]
    clock = () if start is None else clock_rows(program, start)
    return "".join(table([*clock, *rows], width()))


def _is_worth_a_line(row: Row) -> bool:
    return not (row.group in ("Time ledger", "Moves") and row.value == 0)
