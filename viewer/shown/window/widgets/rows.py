"""`Rows`: buttons or short texts beside one another, in as many rows as the width asks for."""

from __future__ import annotations

from PySide6.QtCore import QEvent
from PySide6.QtGui import QResizeEvent
from PySide6.QtWidgets import QHBoxLayout, QSizePolicy, QVBoxLayout, QWidget


class Rows(QWidget):
    """Never makes its pane wider: that would move what stands beside it, or be cut off where the pane scrolls."""

    def __init__(self, *widgets: QWidget, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._widgets, self._numbers = widgets, [0] * len(widgets)
        self._rows = [QHBoxLayout() for _ in widgets]
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        for row in self._rows:
            row.addStretch(1)
            column.addLayout(row)
        for widget in widgets:
            self._put(widget, 0)
        self.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Preferred)

    def row_of(self, widget: QWidget) -> int:
        """Return the row that a widget stands in, from 0."""
        return self._numbers[self._widgets.index(widget)]

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Fill the rows again."""
        super().resizeEvent(event)
        self._fill()

    def event(self, event: QEvent) -> bool:
        """Fill the rows again where a text became longer or shorter."""
        handled = super().event(event)
        if event.type() == QEvent.Type.LayoutRequest:
            self._fill()
        return handled

    def _fill(self) -> None:
        numbers, row, used = [], 0, 0
        for widget in self._widgets:
            wide = widget.sizeHint().width()
            if used and used + wide > self.width():
                row, used = row + 1, 0
            used += wide + self._rows[0].spacing()
            numbers.append(row)
        if numbers != self._numbers:
            self._numbers = numbers
            for widget, number in zip(self._widgets, numbers, strict=True):
                self._put(widget, number)

    def _put(self, widget: QWidget, number: int) -> None:
        for row in self._rows:
            row.removeWidget(widget)
        self._rows[number].insertWidget(self._rows[number].count() - 1, widget)
