"""`NewestTask`: work in a thread beside the window, of which only the newest counts.

::

    window's thread                          worker's thread
    start, cancel  ---- work ------------->  one piece of work after another
    posted, done, failed  <---- queued ----  Run.post, the outcome, the failure

Whatever is asked for takes the place of what waits, and what is under way is told to stop. What an older piece of
work still posts or returns is dropped. The thread is started when there is work and ends when there is none.
"""

from __future__ import annotations

import logging
import threading
import time
import weakref
from collections.abc import Callable
from enum import Enum, auto

from PySide6.QtCore import QObject, Qt, Signal, Slot
from shiboken6 import isValid

from viewer.errors import BeadlineError, Stopped


class _Kind(Enum):
    POST = auto()
    DONE = auto()
    FAILED = auto()


class _Sender(QObject):
    """Sends for a worker, and belongs to the task and to its work alike.

    Qt may delete the task with its pane while a worker sends. A sender that is no more ends the process; a receiver that
    is no more hears nothing.
    """

    arrived = Signal(int, object, object)


class Run:
    """One piece of work under way: it asks whether to stop and hands over what it has by then."""

    def __init__(self, number: int, sender: _Sender) -> None:
        self.number = number
        self._sender = sender
        self._stopped = threading.Event()

    def stop(self) -> bool:
        """Whether something newer was asked for, or nothing any more: what comes of this work is dropped."""
        return self._stopped.is_set()

    def end(self) -> None:
        """Tell the work to stop; called in the window's thread."""
        self._stopped.set()

    def post(self, what: object) -> None:
        """Hand something over to the window's thread, where `NewestTask.posted` tells of it."""
        self.tell(_Kind.POST, what)

    def tell(self, kind: _Kind, what: object) -> None:
        """Send something to the window's thread, unless nobody waits for it: the window may be gone by then."""
        if not self.stop():
            self._sender.arrived.emit(self.number, kind, what)


Work = Callable[[Run], object]


_TASKS: weakref.WeakSet[NewestTask] = weakref.WeakSet()
"""All tasks that there are; used in the window's thread only."""


class NewestTask(QObject):
    """Does the newest work in a thread, one piece at a time; its signals arrive in the window's thread.

    Parameters
    ----------
    name
        Of the thread.
    """

    posted = Signal(object)
    """What the newest work has handed over before its end."""
    done = Signal(object)
    """The outcome of the newest work."""
    failed = Signal(object)
    """The exception with which the newest work ended."""

    def __init__(self, name: str, parent: QObject | None = None) -> None:
        super().__init__(parent)
        _TASKS.add(self)
        self._name = name
        self._numbers = 0
        self._expected: Run | None = None
        """The newest work, until its outcome has been heard."""
        self._lock = threading.Lock()
        self._waiting: tuple[Run, Work] | None = None
        self._thread: threading.Thread | None = None
        """Guarded by `_lock`, as `_waiting` is: the thread ends only where nothing waits."""
        self._sender = _Sender()
        self._sender.arrived.connect(self._hear, Qt.ConnectionType.QueuedConnection)

    @property
    def busy(self) -> bool:
        """Whether work is under way, or waits, whose outcome is waited for."""
        return self._expected is not None

    def start(self, work: Work) -> int:
        """Do `work` as soon as what is under way has stopped; return its number."""
        self.cancel()
        self._numbers += 1
        run = self._expected = Run(self._numbers, self._sender)
        with self._lock:
            self._waiting = (run, work)
            if self._thread is None:
                self._thread = threading.Thread(target=self._work, name=self._name, daemon=True)
                self._thread.start()
        return run.number

    def cancel(self) -> None:
        """Stop what is under way, without waiting for it, and drop what waits: neither is heard of any more."""
        with self._lock:
            self._waiting = None
        if self._expected is not None:
            self._expected.end()
            self._expected = None

    def wait(self, seconds: float | None = None) -> None:
        """Wait until the thread has ended; its outcome is still heard afterwards."""
        with self._lock:
            thread = self._thread
        if thread is not None:
            thread.join(seconds)

    def end(self, seconds: float | None = None) -> None:
        """Stop whatever is under way and wait for it, no longer than some seconds: before this object goes."""
        self.cancel()
        self.wait(seconds)

    def _work(self) -> None:
        while True:
            with self._lock:
                if self._waiting is None:
                    self._thread = None
                    return
                (run, work), self._waiting = self._waiting, None
            _do(run, work)

    @Slot(int, object, object)
    def _hear(self, number: int, kind: _Kind, what: object) -> None:
        if self._expected is None or number != self._expected.number:
            return
        if kind is _Kind.POST:
            self.posted.emit(what)
            return
        self._expected = None
        if kind is _Kind.DONE:
            self.done.emit(what)
        else:
            self.failed.emit(what)


def _do(run: Run, work: Work) -> None:
    """Do one piece of work; whatever it raises is carried to the window's thread."""
    try:
        outcome = work(run)
    except BaseException as problem:
        if run.stop() and not isinstance(problem, Stopped | BeadlineError):
            logging.getLogger(__name__).exception("in work that nobody waits for any more")
        run.tell(_Kind.FAILED, problem)
    else:
        run.tell(_Kind.DONE, outcome)


def end_work(window: QObject, seconds: float) -> None:
    """Stop all work beside a window and in its panes, and wait until it has ended, together no longer than `seconds`.

    Tasks are not looked for among Qt's objects: that would make an object of Python for each part of the window.
    """
    tasks = [task for task in _TASKS if isValid(task) and _is_within(task, window)]
    for task in tasks:
        task.cancel()
    until = time.monotonic() + seconds
    for task in tasks:
        task.wait(max(until - time.monotonic(), 0.0))


def _is_within(part: QObject | None, whole: QObject) -> bool:
    while part is not None and part is not whole:
        part = part.parent()
    return part is not None


def sentence_of(problem: BaseException) -> str:
    """Return the sentence of a failure that is expected; raise any other one again, in this thread."""
    if not isinstance(problem, BeadlineError):
        raise problem
    return str(problem)
