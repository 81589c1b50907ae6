"""`LogTask`: the print log, read and written in a thread beside the window."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

from PySide6.QtCore import QObject, Signal

from viewer.shown.window.threads.newest_task import NewestTask, Run, sentence_of

if TYPE_CHECKING:  # the window is on screen before the engine is imported
    from pathlib import Path

    from viewer.printlog.store import PrintLog

Workshop = Callable[[], str]
"""Returns name or path of the workshop card, which may say where the log lies."""


class LogTask(QObject):
    """One piece of work with the log at a time; another process that writes never stops the window.

    Parameters
    ----------
    workshop
        Is asked at each piece of work.
    name
        Of the thread.
    """

    done = Signal(object)
    """What the work has returned."""
    failed = Signal(str)
    """The sentence of why the log could not be read or written: nothing was changed then."""

    def __init__(self, workshop: Workshop, name: str, parent: QObject) -> None:
        super().__init__(parent)
        self.workshop = workshop
        self._task = NewestTask(name, self)
        self._task.done.connect(self.done)
        self._task.failed.connect(self._fail)

    @property
    def busy(self) -> bool:
        """Whether work is under way."""
        return self._task.busy

    def write(self, work: Callable[[PrintLog], object]) -> None:
        """Do work with the log, which is made where there is none; not while other work is under way."""
        card = self.workshop()

        def run(_run: Run) -> object:
            return _with_log(_path(card), work)

        self._task.start(run)

    def read(self, work: Callable[[PrintLog], object], empty: object) -> None:
        """Do work that only reads, instead of what is under way; where there is no log yet it returns `empty`."""
        card = self.workshop()

        def run(_run: Run) -> object:
            path = _path(card)
            return _with_log(path, work) if path.exists() else empty

        self._task.start(run)

    def end(self) -> None:
        """Wait for what is being written, before the window goes."""
        self._task.end(15.0)

    def _fail(self, problem: BaseException) -> None:
        self.failed.emit(sentence_of(problem))


def _path(workshop: str) -> Path:
    from viewer.cards import load_workshop
    from viewer.printlog.store import log_path

    return log_path(load_workshop(workshop).print_log)


def _with_log(path: Path, work: Callable[[PrintLog], object]) -> object:
    from viewer.printlog.store import PrintLog

    with PrintLog(path) as log:
        return work(log)
