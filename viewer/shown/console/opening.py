"""Programs opened one after another, with cards that were read once; one bad file does not stop the others."""

from __future__ import annotations

import argparse
import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING

from viewer.cards import FilamentCard, PrinterCard, WorkshopCard
from viewer.errors import ReadError
from viewer.failures import failure_told
from viewer.printlog.past import Past
from viewer.program import Program, open_program
from viewer.progress import Stop
from viewer.shown.clock_rows import start_of
from viewer.shown.console.cards_asked import cards_and_spool
from viewer.shown.console.progress import ProgressLine
from viewer.shown.console.streams import say

if TYPE_CHECKING:
    from viewer.printlog.past import ChosenSpool


@dataclass(slots=True)
class Opener:
    """The cards, and what is needed while programs are opened with them."""

    printer: PrinterCard
    filament: FilamentCard
    workshop: WorkshopCard
    stop: Stop
    spool: ChosenSpool | None = None
    """The one of the print log that was named."""
    failed: list[str] = field(default_factory=list)
    """Files that could not be read."""

    @classmethod
    def of(cls, asked: argparse.Namespace, stop: Stop) -> Opener:
        """Read the cards that were asked for, else the default ones.

        Raises
        ------
        CardError
            There is no such card, or it is not valid.
        BeadlineError
            What is said to be left on the spool is no amount, the spool is not in the print log, or the filament's
            diameter is none.
        """
        cards, spool = cards_and_spool(asked)
        return cls(cards.printer, cards.filament, cards.workshop, stop, spool)

    def past(self, program: Program) -> Past:
        """Return what the print log says of a program, and of the spool that was named."""
        from viewer.printlog.recall import recall

        return recall(program, self.spool)

    @contextmanager
    def opened(self, file: str) -> Iterator[tuple[Program, ProgressLine]]:
        """Return a program and its progress line; both are gone at the end.

        Raises
        ------
        ReadError
            The program could not be read.
        """
        _refuse_terminal(file)
        progress = ProgressLine(Path(file).name)
        try:
            program = open_program(file, self.printer, self.filament, self.workshop, progress, self.stop)
            try:
                yield program, progress
            finally:
                program.close()
        finally:
            progress.clear()

    def each(self, files: list[str], work: Callable[[Program, ProgressLine], None]) -> None:
        """Do `work` for every file; one that cannot be read, or fails of itself, gets its sentence; the others go on."""
        for file in files:
            try:
                with self.opened(file) as (program, progress):
                    work(program, progress)
            except ReadError as problem:
                say(str(problem))
                self.failed.append(file)
            except Exception as problem:  # noqa: BLE001 - told, logged, and raised in tests
                say(failure_told("computed", f"what was made of {file}", problem))
                self.failed.append(file)


def _refuse_terminal(file: str) -> None:
    if file != "-":
        return
    if sys.stdin is None:
        raise ReadError("Standard input is closed; name a file, or send a program in with `< FILE`.")
    if sys.stdin.isatty():
        raise ReadError("Standard input is a terminal; name a file, or send a program in with `< FILE`.")


def start_asked(asked: argparse.Namespace) -> datetime | None:
    """Return the start that was asked for; None: none was.

    Raises
    ------
    BeadlineError
        It is no time of day.
    """
    text: str | None = asked.start
    return None if text is None else start_of(text)
