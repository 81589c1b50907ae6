"""`beadline compare`: two programs beside each other, or one under two printer cards."""

from __future__ import annotations

import argparse
from contextlib import ExitStack

from viewer.cards import load_printer
from viewer.errors import BeadlineError
from viewer.program import Program, with_cards
from viewer.shown.console.opening import Opener
from viewer.shown.console.progress import prepare_first_run
from viewer.shown.console.stopping import interruptible
from viewer.shown.console.streams import emit, in_one_line
from viewer.shown.console.tables import table, width


def compare(asked: argparse.Namespace) -> int:
    """Print two programs beside each other; return the exit status.

    Raises
    ------
    BeadlineError
        A card is not valid, a program could not be read, or there is nothing to compare it with.
    """
    if len(asked.files) > 2 or (len(asked.files) == 1) == (asked.printer_b is None):
        raise BeadlineError("Name two programs, or one program and a second card with --printer-b CARD.")
    with interruptible() as stop, ExitStack() as stack:
        opener = Opener.of(asked, stop)
        prepare_first_run()
        programs = [stack.enter_context(opener.opened(file))[0] for file in asked.files]
        if len(programs) == 1:
            programs.append(with_cards(programs[0], load_printer(asked.printer_b)))
        emit([_text(programs[0], programs[1], json=asked.json)])
    return 0


def _text(a: Program, b: Program, *, json: bool) -> str:
    from viewer.why.compare import compare as compared

    found = compared(a, b)
    if json:
        from viewer.shown.json_text import json_text
        from viewer.shown.why_data import compare_object

        return json_text(compare_object(a, b, found), indented=True)
    from viewer.shown.compare_rows import compare_rows

    head = "".join(
        f"{name}: {in_one_line(str(program.path))} on {program.printer.name}\n"
        for name, program in (("A", a), ("B", b))
    )
    return head + "\n" + "".join(table(compare_rows(found), width()))
