"""`beadline sheet`: the job sheet as an HTML page."""

from __future__ import annotations

import argparse

from viewer.checks.run import run_checks
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
            page = job_sheet(program, report, start, part=part_image(program))
            failed = {*(one.sentence for one in report.failed), *program.figures.failures.values()}
            progress.clear()
            for sentence in sorted(failed):
                say(sentence)
        if asked.output == "-":
            emit([page])
        else:
            spare(asked.output, asked.file)
            write_whole(asked.output, [page])
    return 2 if failed else 0
