"""What the worker's thread does to load a program: import, read, compute, check, and hand over."""

from __future__ import annotations

import subprocess
import sys
import threading
import time
from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING, Final

from viewer.errors import ReadError, Stopped
from viewer.shown.first_run import kernels_are_cached
from viewer.shown.window.model.card_names import CardNames
from viewer.shown.window.threads.imports import import_engine
from viewer.shown.window.threads.newest_task import Run

if TYPE_CHECKING:  # the window is on screen before the engine is imported
    from viewer.program import Program
    from viewer.read.blocks import Source

TELL_EVERY_S: Final = 0.05
"""Progress is told no oftener than this: the window's thread has better things to do."""
COMPILED_S: Final = 4.0
"""Reading that took longer than this has probably compiled kernels: then the rest is compiled, too, before panes
call them."""
PANES_S: Final = 3.0
"""How long the worker leaves the interpreter to the window while it makes its panes."""
LOOK_EVERY_S: Final = 0.02
"""How often the worker looks whether it is to stop, while it waits for the window."""
STAGES: Final = {
    "reading": "Reading",
    "comments": "Understanding the comments of",
    "layers": "Finding the layers of",
    "time": "Computing the time of",
    "figures": "Computing the figures of",
    "checks": "Checking",
    "engine": "Getting ready",
}
_warm = threading.Event()
"""All kernels are compiled or loaded."""
_elsewhere: list[subprocess.Popen[bytes]] = []
"""The process that compiles the kernels of roles, shape and checks while those of reading are compiled here."""


@dataclass(frozen=True, slots=True)
class Shared:
    """What the window's thread and the worker share."""

    engine_is_there: Callable[[], object]
    """Tells the window that panes can be made; also where newer work waits already."""
    shown: threading.Event = field(default_factory=threading.Event)
    """The program handed over last is on the screen."""
    panes: threading.Event = field(default_factory=threading.Event)
    """The panes are made."""
    sources: list[tuple[int, Source]] = field(default_factory=list)
    """Number of the work that opened each source whose temporary copy is to be deleted one day."""


class Loading:
    """One piece of the loader's work, in the worker's thread; it posts pairs of a kind and what it is.

    ``("progress", (stage, share))``, ``("previewed", program)``, ``("loaded", program)``, ``("offered", offers)``,
    ``("checked", report)``, ``("recalled", past)``.
    All methods raise `Stopped` where something newer was asked for.
    """

    def __init__(self, run: Run, shared: Shared) -> None:
        self._run, self._shared = run, shared
        self._told = ("", 0.0)
        """Stage that was told last, and when."""

    def prepare(self) -> None:
        """Import the engine and run all of it once, so that its kernels are compiled."""
        self._import_engine()
        self._tell("engine", 0.0)
        _compile_beside()
        self._wait_for_panes()
        _warm_up()

    def open(self, path: Path, cards: CardNames, start: datetime | None) -> None:
        """Read, compute and check a program; first its beginning where it is large."""
        self._import_engine()
        from viewer.program import open_program, preview

        self._tell("reading", 0.0)
        _compile_beside()
        self._wait_for_panes()
        _refuse_terminal(path)
        began = time.monotonic()
        used = cards.load()
        beginning = preview(path, *used, self._run.stop)
        if beginning is not None:
            if time.monotonic() - began > COMPILED_S:
                _warm_up()
            self._show("previewed", beginning)
        program = open_program(path, *used, self._tell, self._run.stop)
        self._show_whole(program, start, time.monotonic() - began > COMPILED_S)

    def change_cards(self, program: Program, cards: CardNames, start: datetime | None) -> None:
        """Compute and check a program that was read before under other cards."""
        from viewer.program import with_cards

        self._tell("time", 0.0)
        used = cards.load()
        self._show_whole(with_cards(program, *used), start)

    def check(self, program: Program, start: datetime | None) -> None:
        """Run the checks."""
        from viewer.checks.run import run_checks
        from viewer.printlog.recall import recall

        self._tell("checks", 0.0)
        report = run_checks(program, lambda _, share: self._tell("checks", share), self._run.stop, start)
        self._run.post(("checked", report))
        self._run.post(("recalled", recall(program, was_printed=True)))

    def _import_engine(self) -> None:
        import_engine()
        self._shared.engine_is_there()

    def _show_whole(self, program: Program, start: datetime | None, first_start: bool = False) -> None:
        """Hand a whole program over with its figures, then check it.

        At the first start the kernels of the figures are compiled by what is computed here, those of roles, shape and
        checks after the first layer is on the screen.
        """
        from viewer.shown.rows import layer_rows
        from viewer.shown.window.model.figure_rows import rows_of
        from viewer.verdict.offers import offers_of

        self._shared.sources.append((self._run.number, program.source))
        self._tell("figures", 0.0)
        rows_of(program)
        if first_start and len(program.layers):
            layer_rows(program, 1)
        self._show("loaded", program)
        self._run.post(("offered", offers_of(program)))
        if first_start:
            _warm_up()
        self.check(program, start)
        _warm_up()

    def _show(self, kind: str, program: Program) -> None:
        """Post a program or its beginning and wait until it is shown: array work would hold up its painting.

        The first time its drawing kernels are loaded here, not while the window makes its first picture.
        """
        if not _warm.is_set() and len(program.layers):
            from viewer.warm import warm_drawing

            warm_drawing(program)
        self._shared.shown.clear()
        self._run.post((kind, program))
        while not self._shared.shown.wait(LOOK_EVERY_S):
            self._stop_if_told()

    def _wait_for_panes(self) -> None:
        """Wait until the window has made its panes: imports and kernels that are loaded meanwhile would hold it up."""
        until = time.monotonic() + PANES_S
        while not self._shared.panes.wait(LOOK_EVERY_S) and time.monotonic() < until:
            self._stop_if_told()

    def _stop_if_told(self) -> None:
        if self._run.stop():
            raise Stopped

    def _tell(self, stage: str, share: float) -> None:
        """Say how far a stage is, 0 .. 1."""
        now = time.monotonic()
        if stage in STAGES and (stage != self._told[0] or now - self._told[1] >= TELL_EVERY_S):
            self._told = (stage, now)
            self._run.post(("progress", (stage, share)))


def _refuse_terminal(path: Path) -> None:
    """Refuse to wait for what somebody might type, which could not be stopped."""
    if str(path) == "-" and (sys.stdin is None or sys.stdin.isatty()):
        raise ReadError("Standard input is a terminal; pipe a program into it, or name a file.")


def _compile_beside() -> None:
    """At the first start, let the second core compile from the beginning what is needed last."""
    if not _warm.is_set() and not _elsewhere and not kernels_are_cached():
        from viewer.warm import compile_elsewhere

        process = compile_elsewhere()
        if process is not None:
            _elsewhere.append(process)


def _warm_up() -> None:
    """Compile what is not compiled yet: else a kernel that a pane calls would be, in the window's thread."""
    if not _warm.is_set():
        from viewer.warm import warm_up

        warm_up(_elsewhere.pop() if _elsewhere else None)
        _warm.set()
