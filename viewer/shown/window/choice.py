"""A choice that a hand on the wheel or on the arrow keys does not change by accident."""

from __future__ import annotations

from PySide6.QtCore import Signal
from PySide6.QtGui import QWheelEvent
from PySide6.QtWidgets import QComboBox, QWidget


class Choice(QComboBox):
    """Passes the wheel on, and says when a person has chosen, so that the focus can go back to the picture."""

    settled = Signal()
    """A person chose from the open list: the keys may go elsewhere again."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._was_open = False

    def showPopup(self) -> None:
        """Note that the list was opened: by keys on the closed field one goes through the choices, and stays."""
        self._was_open = True
        super().showPopup()

    def hidePopup(self) -> None:
        """Say that the choice is made, or that the person thought better of it."""
        super().hidePopup()
        if self._was_open:
            self._was_open = False
            self.settled.emit()

    def wheelEvent(self, event: QWheelEvent) -> None:
        """Leave the wheel to what lies around."""
        event.ignore()
