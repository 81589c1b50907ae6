"""Programs are read and checked beside the window, so that it never freezes.

::

    window's thread                          worker's thread
    open, change_cards, cancel  -- job -->   import, read, figures, checks
    previewed, loaded, checked  <-- post --

One worker takes one job at a time, and only the newest counts: an older one is told to stop, and what it still
posts is dropped. Programs are handed over with their figures computed, so that nothing is left to wait for.
"""

from __future__ import annotations

import logging
import sys
import threading
import time
from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

from PySide6.QtCore import QObject, Qt, QTimer, Signal, Slot

from viewer.errors import BeadlineError, ReadError, Stopped

if TYPE_CHECKING:
    from viewer.cards import FilamentCard, PrinterCard, WorkshopCard
    from viewer.program import Program
    from viewer.read.blocks import Source

TELL_EVERY_S: Final = 0.05
"""Progress is told no oftener than this: the window's thread has better things to do."""
COMPILED_S: Final = 4.0
"""Reading that took longer than this has probably compiled kernels: then the rest is compiled, too, before panes
call them."""
PAINT_MS: Final = 60
"""After so long the panes have begun to paint a program that they were told of."""
PANES_S: Final = 3.0
"""So long the worker leaves the interpreter to the window, which makes its panes."""
END_S: Final = 20.0
"""Reading from a pipe that never ends cannot be stopped: the thread is left behind then, as the process ends."""
STAGES: Final = {
    "reading": "Reading",
    "comments": "Understanding the comments of",
    "layers": "Finding the layers of",
    "time": "Computing the time of",
    "figures": "Computing the figures of",
    "checks": "Checking",
    "engine": "Getting ready",
}


@dataclass(frozen=True, slots=True)
class CardNames:
    """Names or paths of the cards to use, and what a person knows better."""

    printer: str
    filament: str
    workshop: str
    spool_left_g: float | None = None
    """Goes before the filament card's."""

    def load(self) -> tuple[PrinterCard, FilamentCard, WorkshopCard]:
        """Read the cards.

        Raises
        ------
        CardError
        """
        from viewer.cards import load_filament, load_printer, load_workshop

        filament = load_filament(self.filament).with_spool_left(self.spool_left_g)
        return load_printer(self.printer), filament, load_workshop(self.workshop)


class Desk:
    """What a job has to do with the window: it asks whether to stop, tells how far it is, posts results."""

    def __init__(self, worker: Worker, number: int) -> None:
        self._worker, self.number = worker, number
        self._told = ("", 0.0)

    def stop(self) -> bool:
        """Whether a newer job waits or the window closes."""
        return self._worker.newest != self.number

    def tell(self, stage: str, share: float) -> None:
        """Say how far a stage is, 0 .. 1."""
        now = time.monotonic()
        if stage in STAGES and (stage != self._told[0] or now - self._told[1] >= TELL_EVERY_S):
            self._told = (stage, now)
            self.post("progress", (stage, share))

    def post(self, kind: str, what: object) -> None:
        """Hand something over to the window's thread."""
        self._worker.posted.emit(self.number, kind, what)

    def wait_until_shown(self) -> None:
        """Wait until the window shows the program: the checks' array work would hold up its painting.

        Raises
        ------
        Stopped
        """
        while not self._worker.shown.wait(0.02):
            if self.stop():
                raise Stopped

    def wait_for_panes(self) -> None:
        """Wait until the window has made its panes: imports and kernels that are loaded meanwhile would hold it up.

        Raises
        ------
        Stopped
        """
        until = time.monotonic() + PANES_S
        while not self._worker.panes.wait(0.02) and time.monotonic() < until:
            if self.stop():
                raise Stopped

    def hand_over(self, kind: str, program: Program) -> None:
        """Post a program or its beginning and wait until it is shown.

        The first time its drawing kernels are loaded here, not while the window makes its first picture.
        """
        if not _warm.is_set() and len(program.layers):
            from viewer.warm import warm_drawing

            warm_drawing(program)
        self._worker.shown.clear()
        self.post(kind, program)
        self.wait_until_shown()

    def keep(self, source: Source) -> None:
        """Note a source whose temporary copy is to be deleted one day."""
        self._worker.sources.append((self.number, source))


Job = Callable[[Desk], None]


class Worker(QObject):
    """The one thread beside the window's."""

    posted = Signal(int, str, object)

    def __init__(self, parent: QObject) -> None:
        super().__init__(parent)
        self.newest = 0
        self.sources: list[tuple[int, Source]] = []
        self.shown = threading.Event()
        """The program handed over last is on the screen."""
        self.panes = threading.Event()
        """The panes are made."""
        self._condition = threading.Condition()
        self._job: Job | None = None
        self._ending = False
        self._thread: threading.Thread | None = None

    def ask(self, job: Job | None) -> int:
        """Return a job to do, in place of whatever is under way; None: only stop that."""
        if self._thread is None:
            self._thread = threading.Thread(target=self._run, name="reading", daemon=True)
            self._thread.start()
        with self._condition:
            self.newest += 1
            self._job = job
            self._condition.notify()
            return self.newest

    def end(self) -> None:
        """Stop and wait for the thread's end."""
        with self._condition:
            self.newest += 1
            self._job, self._ending = None, True
            self._condition.notify()
        if self._thread is not None:
            self._thread.join(END_S)

    def _run(self) -> None:
        """Do one job after another."""
        while True:
            with self._condition:
                self._condition.wait_for(lambda: self._ending or self._job is not None)
                if self._ending or self._job is None:
                    return
                job, self._job = self._job, None
                desk = Desk(self, self.newest)
            _do(job, desk)


def _do(job: Job, desk: Desk) -> None:
    try:
        job(desk)
    except Stopped:
        desk.post("stopped", None)
    except BeadlineError as problem:
        desk.post("failed", str(problem))
    except MemoryError:
        desk.post(
            "failed", "This computer has not enough memory for it; close other programs and open it again."
        )
    except Exception as problem:  # the window must say so, and the thread go on
        logging.getLogger(__name__).exception("in the worker")
        sentence = (
            f"Beadline has a fault here ({type(problem).__name__}: {problem}); please tell its authors."
        )
        desk.post("failed", sentence)
    else:
        desk.post("done", None)


class Loader(QObject):
    """Loads programs in the background; its signals arrive in the window's thread."""

    prepared = Signal()
    """The engine is imported: panes can be built."""
    began = Signal(str)
    """A job began; what it is about."""
    progress = Signal(str, float)
    previewed = Signal(object)
    """The beginning of a program that is still being read."""
    loaded = Signal(object)
    """A whole `Program` with its figures."""
    checked = Signal(object)
    failed = Signal(str, object)
    """A sentence for the person, and the path that was being read (None: something else was done)."""
    ended = Signal()
    """Nothing is under way any more."""

    def __init__(self, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._worker = Worker(self)
        self._worker.posted.connect(self._receive, Qt.ConnectionType.QueuedConnection)
        self._closed = False
        self.is_painting: Callable[[], bool] = lambda: False
        """Whether panes still wait to be painted; the worker leaves the interpreter to them."""
        self.is_prepared = False
        """The engine is imported."""
        self.busy = False
        self.path: Path | None = None
        """Of the program that is being read."""

    def prepare(self) -> None:
        """Import the engine and run all of it once, so that its kernels are compiled."""
        self._ask(_prepare, "")

    def open(self, path: Path, cards: CardNames, start: datetime | None = None) -> None:
        """Read, compute and check a program; first its beginning where it is large."""
        self._ask(lambda desk: _open(desk, path, cards, start), path.name, path)

    def change_cards(self, program: Program, cards: CardNames, start: datetime | None = None) -> None:
        """Compute and check the same program under other cards."""
        self._ask(lambda desk: _change_cards(desk, program, cards, start), program.path.name)

    def check(self, program: Program, start: datetime | None = None) -> None:
        """Check a program again."""
        self._ask(lambda desk: _check(desk, program, start), program.path.name)

    def panes_are_made(self) -> None:
        """Let the worker go on, which waits so that the window can make its panes."""
        self._worker.panes.set()

    def cancel(self) -> None:
        """Stop what is under way."""
        self._worker.ask(None)
        self._end()

    def close(self) -> None:
        """Stop, wait for the worker and delete temporary copies; nothing is signalled any more."""
        if not self._closed:
            self._closed, self.busy, self.path = True, False, None
            self._worker.end()
            for _, source in self._worker.sources:
                source.close()
            self._worker.sources.clear()

    def _ask(self, job: Job, about: str, path: Path | None = None) -> None:
        if self._closed:
            return
        self._worker.ask(job)
        self.path = path
        self.busy = True
        self.began.emit(about)

    def _end(self) -> None:
        if self.busy:
            self.busy, self.path = False, None
            self.ended.emit()

    @Slot(int, str, object)
    def _receive(self, number: int, kind: str, what: Any) -> None:
        if kind == "prepared" and not self._closed and not self.is_prepared:  # whoever asked for it
            self.is_prepared = True
            self.prepared.emit()
        if self._closed or number != self._worker.newest or kind == "prepared":
            return
        if kind == "progress":
            self.progress.emit(*what)
        elif kind == "previewed":
            self.previewed.emit(what)
            self._tell_when_shown()
        elif kind == "loaded":
            self._forget_older(number, what.source)
            self.path = None
            self.loaded.emit(what)
            self._tell_when_shown()
        elif kind == "checked":
            self.checked.emit(what)
        else:
            path = self.path
            self._end()
            if kind == "failed":
                self.failed.emit(what, path)

    def _tell_when_shown(self) -> None:
        QTimer.singleShot(PAINT_MS, self._worker, self._go_on)

    def _go_on(self) -> None:
        """Let the worker go on, which waits until a program is on the screen."""
        if self.is_painting() and not self._closed:
            self._tell_when_shown()
        else:
            self._worker.shown.set()

    def _forget_older(self, number: int, kept: Source) -> None:
        """Delete the temporary copies of programs that are not shown any more."""
        for entry in tuple(self._worker.sources):
            if entry[0] < number and entry[1] is not kept:
                entry[1].close()
                self._worker.sources.remove(entry)


def _prepare(desk: Desk) -> None:
    import viewer.shown.window.shell.panes  # noqa: F401 - the window's thread finds it imported then

    desk.post("prepared", None)
    desk.tell("engine", 0.0)
    desk.wait_for_panes()
    _warm_up()


def _open(desk: Desk, path: Path, cards: CardNames, start: datetime | None) -> None:
    import viewer.shown.window.shell.panes  # noqa: F401
    from viewer.program import open_program, preview

    desk.post("prepared", None)
    desk.tell("reading", 0.0)
    desk.wait_for_panes()
    _refuse_terminal(path)
    began = time.monotonic()
    used = cards.load()
    beginning = preview(path, *used, desk.stop)
    if beginning is not None:
        if time.monotonic() - began > COMPILED_S:
            _warm_up()
        desk.hand_over("previewed", beginning)
    program = open_program(path, *used, desk.tell, desk.stop)
    if time.monotonic() - began > COMPILED_S:
        _warm_up()
    _hand_over(desk, program, start)


def _refuse_terminal(path: Path) -> None:
    """Refuse to wait for what somebody might type, which could not be stopped."""
    if str(path) == "-" and (sys.stdin is None or sys.stdin.isatty()):
        raise ReadError("Standard input is a terminal; pipe a program into it, or name a file.")


_warm = threading.Event()


def _warm_up() -> None:
    """Compile what is not compiled yet: else a kernel that a pane calls would be, in the window's thread."""
    if not _warm.is_set():
        from viewer.warm import warm_up

        warm_up()
        _warm.set()


def _change_cards(desk: Desk, program: Program, cards: CardNames, start: datetime | None) -> None:
    from viewer.program import with_cards

    desk.tell("time", 0.0)
    used = cards.load()
    _hand_over(desk, with_cards(program, *used), start)


def _hand_over(desk: Desk, program: Program, start: datetime | None) -> None:
    from viewer.shown.window.model.figure_rows import rows_of

    desk.keep(program.source)
    desk.tell("figures", 0.0)
    rows_of(program)
    desk.hand_over("loaded", program)
    _check(desk, program, start)
    _warm_up()


def _check(desk: Desk, program: Program, start: datetime | None) -> None:
    from viewer.checks.run import run_checks

    desk.tell("checks", 0.0)
    report = run_checks(program, lambda _, share: desk.tell("checks", share), desk.stop, start)
    desk.post("checked", report)
