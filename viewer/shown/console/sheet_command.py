"""`beadline sheet` and `beadline lesson`: pages for paper, the job sheet and the handout, as HTML."""

from __future__ import annotations

import argparse

from viewer.checks.run import run_checks
from viewer.errors import BeadlineError
from viewer.shown.console.opening import Opener, start_asked
from viewer.shown.console.progress import prepare_first_run
from viewer.shown.console.stopping import interruptible
from viewer.shown.console.streams import emit, say
from viewer.shown.paper.job_sheet import job_sheet
from viewer.shown.paper.part_image import part_image
from viewer.written import spare, write_whole


def sheet(asked: argparse.Namespace) -> int:
    """Write the job sheet; return the exit status: 0, or 2 where a check or a figure failed of itself and is missing.

    Raises
    ------
    BeadlineError
        The program could not be read, a card is not valid, or the sheet could not be written.
    """
    start = start_asked(asked)
    with interruptible() as stop:
        opener = Opener.of(asked, stop)
        prepare_first_run()
        with opener.opened(asked.file) as (program, progress):
            report = run_checks(program, progress, stop, start)
            page = job_sheet(program, report, start, part=part_image(program), past=opener.past(program))
            failed = {*(one.sentence for one in report.failed), *program.figures.failures.values()}
            progress.clear()
            for sentence in sorted(failed):
                say(sentence)
        _hand_over(asked, page)
    return 2 if failed else 0


def lesson(asked: argparse.Namespace) -> int:
    """Write the handout of a lesson, or the lesson as JSON; return the exit status 0.

    Raises
    ------
    BeadlineError
        The program could not be read or has no layers, a card is not valid, or the page could not be written.
    """
    from viewer.lesson.lesson import lesson_of
    from viewer.shape.walk import shape_of
    from viewer.shown.json_text import json_text
    from viewer.shown.lesson_data import lesson_object
    from viewer.shown.paper.handout import handout

    with interruptible() as stop:
        opener = Opener.of(asked, stop)
        prepare_first_run()
        with opener.opened(asked.file) as (program, progress):
            if not len(program.layers):
                raise BeadlineError(
                    f"{asked.file} lays no layer, so there is nothing to teach with it; take another."
                )
            shape = shape_of(
                program.shape_columns, on_progress=lambda share: progress("shape", share), stop=stop
            )
            made = lesson_of(program, shape)
            page = (
                json_text(lesson_object(program, made), indented=True)
                if asked.json
                else handout(program, made, asked.answers)
            )
            progress.clear()
        _hand_over(asked, page)
    return 0


def _hand_over(asked: argparse.Namespace, page: str) -> None:
    """Write a page to where it was asked for."""
    if asked.output == "-":
        emit([page])
    else:
        spare(asked.output, asked.file)
        write_whole(asked.output, [page])
