"""Ctrl-C: the work is told to stop, and if it cannot listen the process ends all the same."""

from __future__ import annotations

import os
import signal
import socket
import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from types import FrameType
from typing import Final

from viewer.shown.console.streams import say
from viewer.written import unfinished

STOPPED: Final = "Stopped before the end; nothing was left half-written."
STATUS: Final = 130
"""128 + the number of SIGINT, as shells have it."""
PATIENCE_S: Final = 0.25
"""A kernel on a large program, or the compiler, answers no signal until it is done; 0.5 s is the promise."""


@contextmanager
def interruptible() -> Iterator[Callable[[], bool]]:
    """Return a `stop` that turns true on Ctrl-C; the main thread is interrupted as well (`KeyboardInterrupt`).

    A signal's handler runs only when the interpreter does. So a second thread hears of the signal from the
    system at once, waits for `PATIENCE_S` and then removes unfinished files and ends the process.
    Outside the main thread nothing is changed, and `stop` stays false.
    """
    asked = threading.Event()
    if threading.current_thread() is not threading.main_thread():
        yield asked.is_set
        return

    def on_signal(_number: int, _frame: FrameType | None) -> None:
        asked.set()
        raise KeyboardInterrupt

    ours, theirs = socket.socketpair()
    ours.setblocking(False)
    done = threading.Event()
    watcher = threading.Thread(target=_watch, args=(theirs, done), name="ctrl-c", daemon=True)
    watcher.start()
    before = signal.signal(signal.SIGINT, on_signal)
    woken = signal.set_wakeup_fd(ours.fileno(), warn_on_full_buffer=False)
    try:
        yield asked.is_set
    finally:
        done.set()
        signal.set_wakeup_fd(woken)
        signal.signal(signal.SIGINT, before)
        ours.close()
        watcher.join()
        theirs.close()


def _watch(signals: socket.socket, done: threading.Event) -> None:
    """End the process `PATIENCE_S` after a SIGINT, unless the work is `done` by then."""
    while numbers := signals.recv(64):
        if signal.SIGINT in numbers and not done.wait(PATIENCE_S):
            for path in tuple(unfinished):
                path.unlink(missing_ok=True)
            say(STOPPED)
            os._exit(STATUS)
