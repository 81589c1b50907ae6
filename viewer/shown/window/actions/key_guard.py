"""`KeyGuard`: moving keys stay with the list, text or field that has the focus."""

from __future__ import annotations

from typing import Final

from PySide6.QtCore import QEvent, QObject, Qt
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import (
    QAbstractButton,
    QAbstractItemView,
    QAbstractSlider,
    QAbstractSpinBox,
    QApplication,
    QComboBox,
    QLineEdit,
    QPlainTextEdit,
    QTabBar,
    QTextEdit,
    QWidget,
)

_MOVING: Final = frozenset(
    {Qt.Key.Key_Up, Qt.Key.Key_Down, Qt.Key.Key_PageUp, Qt.Key.Key_PageDown, Qt.Key.Key_Home, Qt.Key.Key_End,
     Qt.Key.Key_Left, Qt.Key.Key_Right, Qt.Key.Key_Space}
)  # fmt: skip


_TEXT_KEEPERS: Final = (QLineEdit, QAbstractSpinBox, QPlainTextEdit, QTextEdit)


_KEEPERS: Final = (*_TEXT_KEEPERS, QAbstractItemView, QAbstractSlider)


class KeyGuard(QObject):
    """Leaves moving keys to the list, text or field that has the focus, before they become shortcuts.

    A widget of another kind says that it wants them by a property ``keeps_keys`` that is true.
    """

    def __init__(self, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self.passed: frozenset[Qt.Key] = frozenset()
        """Keys that are shortcuts wherever nothing is written: those of a clicker while a lesson runs."""

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        """Accept the question whether a key is to be kept, when it has come up to the window or dock unanswered."""
        if event.type() == QEvent.Type.ShortcutOverride and isinstance(event, QKeyEvent):
            focus = QApplication.focusWidget()
            passed = focus is not None and event.key() in self.passed and not _is_written_in(focus)
            if focus is not None and not passed and _keeps(focus, event):
                event.accept()
                return True
        return False


def _keeps(widget: QWidget, event: QKeyEvent) -> bool:
    plain = event.modifiers() & ~(Qt.KeyboardModifier.KeypadModifier | Qt.KeyboardModifier.ShiftModifier)
    if plain != Qt.KeyboardModifier.NoModifier:
        return False
    if isinstance(widget, QAbstractButton):
        return event.key() == Qt.Key.Key_Space
    if isinstance(widget, QComboBox) and not widget.isEditable():
        return event.key() == Qt.Key.Key_Space  # it opens the list; arrows are the picture's
    if isinstance(widget, QTabBar):
        return event.key() in (Qt.Key.Key_Left, Qt.Key.Key_Right)
    moves = event.key() in _MOVING
    if event.key() == Qt.Key.Key_Space and not _is_written_in(widget):
        return False
    writes = _is_written_in(widget) and bool(event.text()) and event.text().isprintable()
    return (moves or writes) and (
        isinstance(widget, (*_KEEPERS, QComboBox)) or bool(widget.property("keeps_keys"))
    )


def _is_written_in(widget: QWidget) -> bool:
    """Whether a person can write text there: a text that is only read leaves letters to be shortcuts."""
    if isinstance(widget, QComboBox):
        return widget.isEditable()
    return isinstance(widget, _TEXT_KEEPERS) and not widget.isReadOnly()
