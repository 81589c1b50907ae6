"""A choice that a hand on the wheel or on the arrow keys does not change by accident."""

from __future__ import annotations

from PySide6.QtCore import QSize, Qt, Signal
from PySide6.QtGui import QPaintEvent, QWheelEvent
from PySide6.QtWidgets import QComboBox, QStyle, QStyleOptionComboBox, QStylePainter, QWidget

MIN_LETTERS = 7


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

    def showPopup(self) -> None:
        """Note that the list was opened: by keys on the closed field one goes through the choices, and stays."""
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
