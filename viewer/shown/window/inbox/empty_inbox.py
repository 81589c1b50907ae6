"""`EmptyInbox`: what stands in place of the programs where none is there, and where to begin."""

from __future__ import annotations

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QPushButton, QVBoxLayout, QWidget

from viewer.shown.window.style.scale import space
from viewer.shown.window.widgets.texts import wrapped


class EmptyInbox(QWidget):
    """A sentence in the middle and, until a folder is watched, the button that watches one."""

    def __init__(self, parent: QWidget) -> None:
        super().__init__(parent)
        self.sentence = wrapped("", faint=True)
        self.sentence.setAlignment(Qt.AlignmentFlag.AlignCenter)
        self.add = QPushButton("Watch a folder…", self)
        column = QVBoxLayout(self)
        column.setSpacing(space(3))
        column.addStretch(1)
        column.addWidget(self.sentence)
        column.addWidget(self.add, 0, Qt.AlignmentFlag.AlignHCenter)
        column.addStretch(1)

    def say(self, sentence: str, *, add: bool) -> None:
        """Show a sentence, and whether the button stands below it."""
        self.sentence.setText(sentence)
        self.add.setVisible(add)
