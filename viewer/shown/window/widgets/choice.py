"""A choice that the wheel and the arrow keys do not change: only what is chosen from the open list counts."""

from __future__ import annotations

from PySide6.QtCore import QSize, Qt, Signal
from PySide6.QtGui import QKeyEvent, QPaintEvent, QWheelEvent
from PySide6.QtWidgets import QComboBox, QStyle, QStyleOptionComboBox, QStylePainter, QWidget

MIN_LETTERS = 7
_ALONG = frozenset({Qt.Key.Key_Up, Qt.Key.Key_Down, Qt.Key.Key_PageUp, Qt.Key.Key_PageDown})
"""Keys that would go through the choices of a closed field."""
_OPENING = frozenset({Qt.Key.Key_Space, Qt.Key.Key_Select, Qt.Key.Key_F4})


class Choice(QComboBox):
    """Passes the wheel on, and says when a person has chosen, so that the focus can go back to the picture."""

    settled = Signal()
    """A person chose from the open list: the keys may go elsewhere again."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._was_open = False

    def minimumSizeHint(self) -> QSize:
        """Return room for a few letters: a longer text is cut where there is no more, and the panes keep their places."""
        hint = super().minimumSizeHint()
        if self.isEditable():
            return hint
        arrow = self.style().pixelMetric(QStyle.PixelMetric.PM_ScrollBarExtent, None, self)
        letters = MIN_LETTERS * self.fontMetrics().averageCharWidth()
        return QSize(min(hint.width(), letters + arrow), hint.height())

    def paintEvent(self, event: QPaintEvent) -> None:
        """Draw the choice; a text without room ends in an ellipsis."""
        if self.isEditable():
            super().paintEvent(event)
            return
        painter, option = QStylePainter(self), QStyleOptionComboBox()
        self.initStyleOption(option)
        style, kind = self.style(), QStyle.ComplexControl.CC_ComboBox
        painter.drawComplexControl(kind, option)
        room = style.subControlRect(kind, option, QStyle.SubControl.SC_ComboBoxEditField, self).width() - 4
        text = option.currentText
        option.currentText = self.fontMetrics().elidedText(text, Qt.TextElideMode.ElideRight, room)
        painter.drawControl(QStyle.ControlElement.CE_ComboBoxLabel, option)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Open the list, or write; arrows and letters never choose another entry of the closed list."""
        opens = event.key() in _OPENING or (
            event.key() in _ALONG and bool(event.modifiers() & Qt.KeyboardModifier.AltModifier)
        )
        returns = event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter)
        if opens or (self.isEditable() and event.key() not in _ALONG):
            super().keyPressEvent(event)
        elif returns:
            self.settled.emit()
        elif event.key() in _ALONG and self.isEditable():
            event.accept()  # a hand that writes does not want another layer either
        else:
            event.ignore()

    def showPopup(self) -> None:
        """Note that the list was opened."""
        self._was_open = True
        super().showPopup()

    def hidePopup(self) -> None:
        """Say that the choice is made, or was cancelled."""
        super().hidePopup()
        if self._was_open:
            self._was_open = False
            self.settled.emit()

    def wheelEvent(self, event: QWheelEvent) -> None:
        """Leave the wheel to what lies around."""
        event.ignore()
