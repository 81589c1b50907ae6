"""`beadline why`: where the hours go, by what limits them, and what would help."""

from __future__ import annotations

import argparse

from viewer.program import Program
from viewer.progress import Stop
from viewer.shown.console.opening import Opener
from viewer.shown.console.progress import ProgressLine, prepare_first_run
from viewer.shown.console.stopping import interruptible
from viewer.shown.console.streams import emit
from viewer.shown.console.tables import table, width


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
    from viewer.why.ledger import bookings_of
    from viewer.why.trials import levers

    bookings, outcomes = bookings_of(program), levers(program, progress, stop)
    if asked.json:
        from viewer.shown.data import json_text, why_object

        return json_text(why_object(program, bookings, outcomes), indented=len(asked.files) == 1)
    from viewer.shown.why_rows import ledger_rows, lever_rows

    return "".join(table([*ledger_rows(bookings), *lever_rows(outcomes)], width()))
