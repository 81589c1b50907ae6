"""`Loader`: programs are read and checked beside the window, so that it never freezes.

::

    window's thread                          worker's thread (`Loading`)
    open, change_cards, cancel  -- work -->  import, read, figures, checks
    previewed, loaded, checked  <-- post --

Only the newest request counts (`NewestTask`). Programs are handed over with their figures computed, so that nothing
is left to wait for.
"""

from __future__ import annotations

import logging
from collections.abc import Callable
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

from PySide6.QtCore import QObject, Qt, Signal, Slot

from viewer.errors import BeadlineError, NotAProgramError
from viewer.shown.window.model.card_names import CardNames
from viewer.shown.window.threads.loading import Loading, Shared
from viewer.shown.window.threads.newest_task import NewestTask
from viewer.shown.window.widgets.delayed_update import DelayedUpdate

if TYPE_CHECKING:  # the window is on screen before the engine is imported
    from viewer.program import Program
    from viewer.read.blocks import Source

PAINT_MS: Final = 60
"""After this time the panes have begun to paint a program that they were told of."""
END_S: Final = 20.0
"""Reading from a pipe that never ends cannot be stopped: the thread is left behind then, as the process ends."""
NO_MEMORY: Final = "This computer has not enough memory for it; close other programs and open it again."


class Loader(QObject):
    """Loads programs in the background; its signals arrive in the window's thread."""

    prepared = Signal()
    """The engine is imported: panes can be imported and made."""
    began = Signal(str)
    """Work began; the name of the file that it is about, "" for getting ready."""
    progress = Signal(str, float)
    """Name of the stage (a key of `STAGES`), and its share, 0 .. 1."""
    previewed = Signal(object)
    """The beginning of a program that is still being read."""
    loaded = Signal(object)
    """A whole `Program` with its figures."""
    offered = Signal(object)
    """A tuple of `viewer.verdict.offers.Offer`: cards that agree better with the program that was loaded."""
    checked = Signal(object)
    """A `viewer.checks.run.Report`, with what was measured of the shape."""
    recalled = Signal(object)
    """A `viewer.printlog.recall.Past`: what the print log says of the program; comes last."""
    failed = Signal(str, object)
    """A sentence for the person, and the path that was being read (None: something else was done)."""
    ended = Signal()
    """Nothing is under way any more."""
    _engine_is_there = Signal()

    def __init__(self, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._task = NewestTask("reading", self)
        self._task.posted.connect(self._receive)
        self._task.done.connect(self._end)
        self._task.failed.connect(self._fail)
        self._engine_is_there.connect(self._note_engine, Qt.ConnectionType.QueuedConnection)
        self._shared = Shared(self._engine_is_there.emit)
        self._number = 0
        """Of the newest work."""
        self._shown = DelayedUpdate(self._go_on, PAINT_MS, self)
        self._closed = False
        self.is_painting: Callable[[], bool] = lambda: False
        """Whether panes still wait to be painted; the worker leaves the interpreter to them."""
        self.is_prepared = False
        """The engine is imported."""
        self.busy = False
        self.path: Path | None = None
        """Of the program that is being read."""
        self.may_try_again = True
        """Reading may succeed another time; False: what failed last is a folder, or a file that holds no program."""

    def prepare(self) -> None:
        """Import the engine and run all of it once, so that its kernels are compiled."""
        self._ask(Loading.prepare, "")

    def open(self, path: Path, cards: CardNames, start: datetime | None = None) -> None:
        """Read, compute and check a program; first its beginning where it is large."""
        self._ask(lambda work: work.open(path, cards, start), path.name, path)

    def change_cards(self, program: Program, cards: CardNames, start: datetime | None = None) -> None:
        """Compute and check the same program under other cards."""
        self._ask(lambda work: work.change_cards(program, cards, start), program.path.name)

    def check(self, program: Program, start: datetime | None = None) -> None:
        """Check a program again."""
        self._ask(lambda work: work.check(program, start), program.path.name)

    def panes_are_made(self) -> None:
        """Let the worker go on, which waits so that the window can make its panes."""
        self._shared.panes.set()

    def cancel(self) -> None:
        """Stop what is under way."""
        self._task.cancel()
        self._end()

    def close(self) -> None:
        """Stop, wait for the worker and delete temporary copies; nothing is signalled any more."""
        if not self._closed:
            self._closed, self.busy, self.path = True, False, None
            self._shown.stop()
            self._task.end(END_S)
            for _, source in self._shared.sources:
                source.close()
            self._shared.sources.clear()

    def _ask(self, do: Callable[[Loading], object], about: str, path: Path | None = None) -> None:
        if self._closed:
            return
        self._number = self._task.start(lambda run: do(Loading(run, self._shared)))
        self.path = path
        self.busy = True
        self.began.emit(about)

    def _end(self) -> None:
        if self.busy:
            self.busy, self.path = False, None
            self.ended.emit()

    @Slot()
    def _note_engine(self) -> None:
        if not self._closed and not self.is_prepared:
            self.is_prepared = True
            self.prepared.emit()

    @Slot(object)
    def _receive(self, posted: tuple[str, Any]) -> None:
        kind, what = posted
        if kind == "progress":
            self.progress.emit(*what)
        elif kind == "previewed":
            self.previewed.emit(what)
            self._shown.start()
        elif kind == "loaded":
            self._forget_older(what.source)
            self.path = None
            self.loaded.emit(what)
            self._shown.start()
        elif kind == "offered":
            self.offered.emit(what)
        elif kind == "checked":
            self.checked.emit(what)
        else:
            self.recalled.emit(what)

    @Slot(object)
    def _fail(self, problem: BaseException) -> None:
        """Say in a sentence what went wrong; a fault of ours is logged, too, and the next program is read as ever."""
        if isinstance(problem, BeadlineError):
            sentence = str(problem)
        elif isinstance(problem, MemoryError):
            sentence = NO_MEMORY
        else:
            logging.getLogger(__name__).error("in the worker", exc_info=problem)
            sentence = (
                f"Beadline has a fault here ({type(problem).__name__}: {problem}); please tell its authors."
            )
        path = self.path
        self.may_try_again = not isinstance(problem, NotAProgramError)
        self._end()
        self.failed.emit(sentence, path)

    def _go_on(self) -> None:
        """Let the worker go on, which waits until a program is on the screen."""
        if self.is_painting() and not self._closed:
            self._shown.start()
        else:
            self._shared.shown.set()

    def _forget_older(self, kept: Source) -> None:
        """Delete the temporary copies of programs that are not shown any more."""
        for number, source in tuple(self._shared.sources):
            if number < self._number and source is not kept:
                source.close()
                self._shared.sources.remove((number, source))
