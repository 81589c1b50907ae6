"""`end_work`: before the window goes, the work beside it is ended."""

from __future__ import annotations

import time

from PySide6.QtCore import QObject

from viewer.shown.window.threads.newest_task import NewestTask


def end_work(window: QObject, seconds: float) -> None:
    """Stop all work beside a window and in its panes, and wait until it has ended, together no longer than `seconds`."""
    tasks = window.findChildren(NewestTask)
    for task in tasks:
        task.cancel()
    until = time.monotonic() + seconds
    for task in tasks:
        task.wait(max(until - time.monotonic(), 0.0))
