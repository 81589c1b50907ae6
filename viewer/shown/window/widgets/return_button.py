"""`ReturnButton`: a button that Return presses."""

from __future__ import annotations

from PySide6.QtCore import Qt
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import QPushButton


class ReturnButton(QPushButton):
    """A button that Return presses, too, wherever it stands."""

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Press it on Return and Enter."""
        if event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter):
            self.click()
        else:
            super().keyPressEvent(event)
