"""One piece of work at a time in a thread beside the window; its outcome comes back as a signal."""

from __future__ import annotations

import threading
from collections.abc import Callable

from PySide6.QtCore import QObject, Signal

from viewer.errors import BeadlineError, Stopped

Stop = Callable[[], bool]
Work = Callable[[Stop], object]


class Background(QObject):
    """Runs the newest work; what was under way is told to stop, and its outcome is not heard any more."""

    done = Signal(object)
    """The outcome of the newest work."""
    failed = Signal(str)
    """The sentence of what went wrong with it."""
    _ended = Signal(int, object, str)

    def __init__(self, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._number = 0
        self._stop = threading.Event()
        self._thread: threading.Thread | None = None
        self._threads: list[threading.Thread] = []
        """All that may still run."""
        self._ended.connect(self._hear)

    @property
    def busy(self) -> bool:
        """Whether work is under way whose outcome is waited for."""
        return self._thread is not None

    def start(self, work: Work) -> None:
        """Do `work` in a thread; it is handed what says when to stop. What was under way ends by itself."""
        self.cancel()
        self._number += 1
        stop, number = threading.Event(), self._number
        self._stop = stop
        self._thread = threading.Thread(target=self._run, args=(work, number, stop), daemon=True)
        self._threads = [thread for thread in self._threads if thread.is_alive()]
        self._threads.append(self._thread)
        self._thread.start()

    def cancel(self) -> None:
        """Stop what is under way, without waiting for it: its outcome is not heard any more."""
        self._number += 1
        self._stop.set()
        self._thread = None

    def end(self) -> None:
        """Stop whatever is under way and wait for it: before this object goes."""
        self.cancel()
        for thread in self._threads:
            thread.join()
        self._threads.clear()

    def _run(self, work: Work, number: int, stop: threading.Event) -> None:
        outcome: object = None
        sentence = ""
        try:
            outcome = work(stop.is_set)
        except Stopped:
            return
        except BeadlineError as problem:
            sentence = str(problem)
        if not stop.is_set():  # else the window may be gone already
            self._ended.emit(number, outcome, sentence)

    def _hear(self, number: int, outcome: object, sentence: str) -> None:
        if number != self._number:
            return
        self._thread = None
        if sentence:
            self.failed.emit(sentence)
        else:
            self.done.emit(outcome)
