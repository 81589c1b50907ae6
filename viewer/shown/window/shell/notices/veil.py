"""`Veil`: greys what is on show while it is not what the person asked for last: another program could not be opened."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from typing import Final

from PySide6.QtCore import QEvent, QObject, QPoint, QRect, Qt
from PySide6.QtGui import QPaintEvent
from PySide6.QtWidgets import QWidget

from viewer.shown.window.widgets.painting import painting

SHARE: Final = 0.62
"""Of the window's colour: what lies below can be made out, and is plainly not the answer."""


class Veil(QWidget):
    """Lies over parts of a window and lets the mouse and the keys through.

    Parameters
    ----------
    window
        What it lies over.
    parts
        Returns the parts that are greyed; those that are hidden, or float, are left out.
    """

    def __init__(self, window: QWidget, parts: Callable[[], Iterable[QWidget]]) -> None:
        super().__init__(window)
        self._window, self._parts = window, parts
        self.setAttribute(Qt.WidgetAttribute.WA_TransparentForMouseEvents)
        self.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        window.installEventFilter(self)
        self.hide()

    def cover(self, on: bool) -> None:
        """Grey the parts, or not."""
        if on:
            self.setGeometry(self._window.rect())
            self.raise_()
        self.setVisible(on)

    def covered(self) -> list[QRect]:
        """Return what is greyed, in the window's pixels."""
        return [
            QRect(part.mapTo(self._window, QPoint(0, 0)), part.size())
            for part in self._parts()
            if part.isVisible() and part.window() is self._window
        ]

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        """Follow the window's size."""
        if event.type() == QEvent.Type.Resize and self.isVisible():
            self.setGeometry(self._window.rect())
        return super().eventFilter(watched, event)

    def paintEvent(self, event: QPaintEvent) -> None:
        """Paint over the parts."""
        grey = self.palette().window().color()
        grey.setAlphaF(SHARE)
        with painting(self) as painter:
            for part in self.covered():
                painter.fillRect(part, grey)
