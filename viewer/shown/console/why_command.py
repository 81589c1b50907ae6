"""`beadline why`: where the hours go, by what limits them, and what would help."""

from __future__ import annotations

import argparse

from viewer.printlog.past import Past
from viewer.printlog.recall import recall
from viewer.program import Program
from viewer.progress import Stop
from viewer.shown.console.opening import Opener
from viewer.shown.console.progress import ProgressLine, prepare_first_run
from viewer.shown.console.stopping import interruptible
from viewer.shown.console.streams import emit, in_one_line
from viewer.shown.console.tables import paragraph, table, width
from viewer.shown.durations import seconds_of
from viewer.shown.log_text import took_text
from viewer.shown.overrun_rows import headline


def why(asked: argparse.Namespace) -> int:
    """Print why programs take so long; return the exit status.

    Raises
    ------
    BeadlineError
        A card is not valid, or a time that was given is none.
    """
    with interruptible() as stop:
        opener = Opener.of(asked, stop)
        prepare_first_run()
        printed = 0

        def work(program: Program, progress: ProgressLine) -> None:
            nonlocal printed
            text = _text(program, asked, progress, stop)
            progress.clear()
            emit(["\n\n" if printed and not asked.json else "", text])
            printed += 1

        opener.each(asked.files, work)
        return 2 if opener.failed else 0


def _text(program: Program, asked: argparse.Namespace, progress: ProgressLine, stop: Stop) -> str:
    from viewer.why.report import why as computed

    expected, took = (None if text is None else seconds_of(text) for text in (asked.expected, asked.took))
    past = Past() if took is not None else recall(program, was_printed=True)
    if past.took is not None:
        took = past.took.seconds
    found = computed(program, expected, took, progress, stop)
    if asked.json:
        from viewer.shown.json_text import json_text
        from viewer.shown.why_data import why_object

        return json_text(why_object(program, found, past), indented=len(asked.files) == 1)
    from viewer.shown.why_rows import why_rows

    head = f"{in_one_line(str(program.path))} on {program.printer.name}: {headline(found.overrun)}\n"
    if said := took_text(past):
        head += paragraph(said, width())
    return f"{head}\n" + "".join(table(why_rows(program, found), width()))
