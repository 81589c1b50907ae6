"""`InTurn`: parts of a window that are painted one after another, each in a turn of the event loop of its own."""

from __future__ import annotations

from collections.abc import Iterable

from PySide6.QtCore import QCoreApplication, QEvent, QObject, Qt, Signal, Slot
from PySide6.QtWidgets import QWidget
from shiboken6 import isValid

from viewer.shown.window.widgets.delayed_update import DelayedUpdate

TURN_MS = 1
"""With 0 several turns can come in one: a timer that is due again at once is served beside others that are."""


class InTurn(QObject):
    """Paints all parts again without stopping the window for as long as all of them take.

    What changes in a part that still waits is painted together with it, once.
    """

    _on_show = Signal(QWidget)
    """The window of a part that may be painted now."""

    def __init__(self, parent: QObject) -> None:
        super().__init__(parent)
        self._on_show.connect(self._ask, Qt.ConnectionType.QueuedConnection)
        self._waiting: list[QWidget] = []
        self._timer = DelayedUpdate(self._next, TURN_MS, self)

    @property
    def busy(self) -> bool:
        """Whether parts wait for their turn."""
        return bool(self._waiting) or self._timer.isActive()

    def paint(self, parts: Iterable[QWidget]) -> None:
        """Paint these in their order, after what is being done now; what still waits from before stays at its place.

        What others lie in goes before them, or they stay as they are until it is painted.
        """
        for part in parts:
            if part not in self._waiting:
                part.setUpdatesEnabled(False)
                self._waiting.append(part)
        self._timer.start()

    def _next(self) -> None:
        if self._waiting:
            part = self._waiting.pop(0)
            part.setUpdatesEnabled(True)
            self._on_show.emit(part.window())
            self._timer.start()

    @Slot(QWidget)
    def _ask(self, window: QWidget) -> None:
        """Ask a window to paint; Qt does by itself only where nothing of it was to be painted before that was held back.

        The event is sent, not posted: one that Python makes and Qt deletes would be one object with two owners.
        """
        if isValid(window):
            QCoreApplication.sendEvent(window, QEvent(QEvent.Type.UpdateRequest))
