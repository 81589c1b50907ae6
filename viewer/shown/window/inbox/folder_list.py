"""`FolderList`: the watched folders, each with what is in it or why it cannot be read."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from PySide6.QtCore import QEvent, QSize, Qt, Signal
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import QHBoxLayout, QListWidget, QListWidgetItem, QPushButton, QVBoxLayout, QWidget

from viewer.numerals import counted_text
from viewer.shown.window.inbox.folder_look import FolderState
from viewer.shown.window.style.icons import icon
from viewer.shown.window.style.inks import is_dark
from viewer.shown.window.style.scale import space
from viewer.shown.window.style.tones import tone

NONE: Final = "No folder is watched yet."
LINES: Final = 3
"""Folders that are seen without scrolling."""


class _Folders(QListWidget):
    unwanted = Signal()
    """The chosen folder is not to be watched any more."""

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Take the chosen folder away on Delete."""
        if event.key() == Qt.Key.Key_Delete:
            self.unwanted.emit()
        else:
            super().keyPressEvent(event)

    def sizeHint(self) -> QSize:
        """Return room for a few lines."""
        return QSize(400, LINES * (self.fontMetrics().height() + space(1)) + 2 * self.frameWidth() + space(1))


class FolderList(QWidget):
    """Shows the folders; what is wanted of them is told by signals."""

    add_wanted = Signal()
    remove_wanted = Signal(str)
    """A folder."""

    def __init__(self, parent: QWidget) -> None:
        super().__init__(parent)
        self.states: Sequence[FolderState] = ()
        self.folders = _Folders(self)
        self.folders.setAccessibleName("watched folders")
        self.folders.setWordWrap(True)
        self.folders.setSpacing(1)
        self.folders.setVerticalScrollMode(QListWidget.ScrollMode.ScrollPerPixel)
        self.folders.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.add, self.remove = QPushButton("Watch a folder…", self), QPushButton("Stop watching", self)
        buttons = QVBoxLayout()
        buttons.setSpacing(space(1))
        buttons.addWidget(self.add)
        buttons.addWidget(self.remove)
        buttons.addStretch(1)
        row = QHBoxLayout(self)
        row.setContentsMargins(0, 0, 0, 0)
        row.setSpacing(space(2))
        row.addWidget(self.folders, 1)
        row.addLayout(buttons)
        self.folders.unwanted.connect(self._remove_chosen)
        self.folders.currentRowChanged.connect(self._follow)
        self.add.clicked.connect(self.add_wanted)
        self.remove.clicked.connect(self._remove_chosen)
        self.setMaximumHeight(self.sizeHint().height())
        self._follow()

    def changeEvent(self, event: QEvent) -> None:
        """Follow light and dark."""
        super().changeEvent(event)
        if event.type() in (QEvent.Type.PaletteChange, QEvent.Type.StyleChange) and hasattr(self, "folders"):
            self.fill()

    def show_states(self, states: Sequence[FolderState]) -> None:
        """Show the folders as they are now; the chosen one stays chosen."""
        if list(states) == list(self.states) and self.folders.count():
            return
        row = self.folders.currentRow()
        self.states = tuple(states)
        self.fill()
        self.folders.setCurrentRow(min(row, len(states) - 1))
        self._follow()

    def fill(self) -> None:
        """Write the list, in the colours of light or dark."""
        row, dark = self.folders.currentRow(), is_dark(self.palette())
        high = self.folders.fontMetrics().height()
        self.folders.setIconSize(QSize(high, high))
        self.folders.clear()
        for state in self.states:
            item = QListWidgetItem(text_of(state))
            if state.sentence:
                item.setIcon(icon("severity_look", dark, "warn"))
                item.setForeground(tone("warn", dark))
            self.folders.addItem(item)
        if not self.states:
            none = QListWidgetItem(NONE)
            none.setFlags(Qt.ItemFlag.NoItemFlags)
            self.folders.addItem(none)
        self.folders.setCurrentRow(row)

    def _follow(self, *_: object) -> None:
        self.remove.setEnabled(0 <= self.folders.currentRow() < len(self.states))

    def _remove_chosen(self) -> None:
        row = self.folders.currentRow()
        if 0 <= row < len(self.states):
            self.remove_wanted.emit(self.states[row].folder)


def text_of(state: FolderState) -> str:
    """Return what stands of a folder."""
    if state.sentence and not state.programs:
        return state.sentence
    programs = counted_text(state.programs, "program")
    return f"{state.folder}   {programs}" + (f".   {state.sentence}" if state.sentence else "")
