"""Programs opened one after another, with cards that were read once; one bad file does not stop the others."""

from __future__ import annotations

import argparse
import math
import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING, Final

from viewer.cards import FilamentCard, PrinterCard, WorkshopCard, load_filament, load_printer, load_workshop
from viewer.cards.kinds import DEFAULTS, Kind
from viewer.errors import BeadlineError, ReadError
from viewer.failures import failure_told
from viewer.printlog.past import Past
from viewer.program import Program, open_program
from viewer.progress import Stop
from viewer.shown.clock_rows import start_of
from viewer.shown.console.progress import ProgressLine
from viewer.shown.console.streams import say
from viewer.shown.spool import grams_of

if TYPE_CHECKING:
    from viewer.printlog.past import ChosenSpool

PROGRAM_ENDINGS: Final = (
    ".gcode",
    ".gco",
    ".gc",
    ".g",
    ".nc",
    ".ngc",
    ".tap",
    ".gcode.gz",
    ".gco.gz",
    ".g.gz",
)
"""Files of a folder that are taken as programs (common practice, no source)."""


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
        diameter = diameter_asked(asked)
        workshop = load_workshop(_named(asked, "workshop"))
        spool = spool_named(asked, workshop)
        left = spool_asked(asked) if spool is None else max(spool.left_g, 0.0)
        filament = load_filament(_named(asked, "filament"))
        return cls(
            load_printer(_named(asked, "printer")).with_filament(diameter),
            filament.with_spool_left(left).with_diameter(diameter),
            workshop,
            stop,
            spool,
        )

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


def _named(asked: argparse.Namespace, kind: Kind) -> str:
    """Return the card that was asked for; an empty name (an unset variable of a script) is one that is not known."""
    name: str | None = getattr(asked, kind)
    return DEFAULTS[kind] if name is None else name


def _refuse_terminal(file: str) -> None:
    if file != "-":
        return
    if sys.stdin is None:
        raise ReadError("Standard input is closed; name a file, or send a program in with `< FILE`.")
    if sys.stdin.isatty():
        raise ReadError("Standard input is a terminal; name a file, or send a program in with `< FILE`.")


def programs_in(named: list[str]) -> tuple[list[str], list[str]]:
    """Return the programs that files and folders mean, and a sentence for each folder that has none."""
    files: list[str] = []
    sentences: list[str] = []
    for name in named:
        if name == "-" or not Path(name).is_dir():
            files.append(name)
            continue
        found = sorted(str(path) for path in Path(name).rglob("*") if _is_program(path))
        files += found
        if not found:
            endings = ", ".join(PROGRAM_ENDINGS[:5])
            sentences.append(
                f"{name} holds no program (a file that ends in {endings} ...); name another folder or a file."
            )
    return files, sentences


def _is_program(path: Path) -> bool:
    return path.name.lower().endswith(PROGRAM_ENDINGS) and not path.name.startswith(".") and path.is_file()


def start_asked(asked: argparse.Namespace) -> datetime | None:
    """Return the start that was asked for; None: none was.

    Raises
    ------
    BeadlineError
        It is no time of day.
    """
    text: str | None = asked.start
    return None if text is None else start_of(text)


def diameter_asked(asked: argparse.Namespace) -> float | None:
    """Return the filament's diameter that was asked for, mm; None: none was, or the command does not ask for it.

    Raises
    ------
    BeadlineError
        It is no diameter.
    """
    text: str | None = getattr(asked, "filament_diameter", None)
    if text is None:
        return None
    try:
        diameter = float(text.strip().lower().removesuffix("mm"))
    except ValueError:
        diameter = math.nan
    if not 0.5 <= diameter <= 10.0:
        raise BeadlineError(f"{text!r} is no diameter of filament; give it in mm, as 1.75 or 2.85.")
    return diameter


def spool_named(asked: argparse.Namespace, workshop: WorkshopCard) -> ChosenSpool | None:
    """Return the spool of the print log that was asked for; None: none was.

    Raises
    ------
    BeadlineError
        There is no such spool, or what is left on it was given, too.
    """
    label: str | None = getattr(asked, "spool", None)
    if label is None or not hasattr(asked, "spool_left"):
        return None
    if asked.spool_left is not None:
        raise BeadlineError(
            "The print log knows what is left on its spool; leave out either --spool or --spool-left."
        )
    from viewer.printlog.recall import spool_of

    return spool_of(label, workshop.print_log)


def spool_asked(asked: argparse.Namespace) -> float | None:
    """Return what was said to be left on the spool, g; None: nothing, or the command does not ask for it.

    Raises
    ------
    BeadlineError
        It is no amount of filament.
    """
    text: str | None = getattr(asked, "spool_left", None)
    return None if text is None else grams_of(text)
