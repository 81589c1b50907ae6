"""`ShortLabel`: one line of text that is shortened where it does not fit, and is then its own tooltip."""

from __future__ import annotations

from PySide6.QtCore import QSize, Qt
from PySide6.QtGui import QFontMetrics, QPaintEvent
from PySide6.QtWidgets import QLabel, QSizePolicy, QWidget

from viewer.shown.window.widgets.painting import painting


class ShortLabel(QLabel):
    """A label that may be narrower than its text."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setTextFormat(Qt.TextFormat.PlainText)
        self.setContentsMargins(8, 3, 8, 3)
        self.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Fixed)

    def minimumSizeHint(self) -> QSize:
        """Return no width: the text can always be shortened."""
        return QSize(0, super().sizeHint().height())

    def sizeHint(self) -> QSize:
        """Return room for one line, also while there is no text."""
        metrics, margins = self.fontMetrics(), self.contentsMargins()
        width = metrics.horizontalAdvance(self.text()) + margins.left() + margins.right() + 2
        return QSize(width if self.text() else 0, metrics.height() + margins.top() + margins.bottom())

    def paintEvent(self, event: QPaintEvent) -> None:
        """Paint as much as fits."""
        room = self.contentsRect()
        short = QFontMetrics(self.font()).elidedText(self.text(), Qt.TextElideMode.ElideRight, room.width())
        self.setToolTip(self.text() if short != self.text() else "")
        with painting(self) as painter:
            painter.setPen(self.palette().color(self.foregroundRole()))
            painter.drawText(room, self.alignment() | Qt.AlignmentFlag.AlignVCenter, short)
