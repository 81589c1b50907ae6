"""`DelayedUpdate`: something that is done a moment later, once, however often it was asked for meanwhile."""

from __future__ import annotations

from collections.abc import Callable

from PySide6.QtCore import QObject, QTimer


class DelayedUpdate(QTimer):
    """Calls `update` a while after the last `start`; `stop` takes that back, `isActive` says whether it is to come.

    Parameters
    ----------
    update
        What to do, in the window's thread.
    milliseconds
        How long after `start`; 0: in the next turn of the event loop.
    parent
        The timer ends with it.
    """

    def __init__(self, update: Callable[[], object], milliseconds: int, parent: QObject) -> None:
        super().__init__(parent, singleShot=True, interval=milliseconds)
        self.timeout.connect(update)

    def postpone(self) -> None:
        """Count from now on again where the update is still to come."""
        if self.isActive():
            self.start()
