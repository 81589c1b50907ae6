"""Bars of what one program takes longer than another, by cause: to the right where it takes longer."""

from __future__ import annotations

from typing import Final

from PySide6.QtCore import QEvent, QPointF, QRectF, QSize, Qt, Signal
from PySide6.QtGui import QColor, QFontMetricsF, QHelpEvent, QMouseEvent, QPainter, QPaintEvent, QPen
from PySide6.QtWidgets import QSizePolicy, QToolTip, QWidget

from viewer.shown.cause_words import GROUP_OF
from viewer.shown.pictures.colours import cause_rgb
from viewer.shown.window.beside.beside_rows import SAME_S, CauseLine
from viewer.shown.window.style.inks import Inks, inks_of
from viewer.shown.window.widgets.painting import painting

_GAP: Final = 6.0
_TRACK: Final = 8.0
"""Height of a bar."""
_THIN: Final = 2.0
"""Least width of a bar, logical pixels."""


class DifferenceBars(QWidget):
    """Two lines a cause: its name with the difference, and the bar of that about the middle."""

    pressed = Signal(str)
    """A cause of the time ledger was pressed on."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.lines: tuple[CauseLine, ...] = ()
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
        self.setAccessibleName("difference of the time by cause")

    def show_lines(self, lines: tuple[CauseLine, ...]) -> None:
        """Show other causes."""
        self.lines = lines
        self.setAccessibleDescription("; ".join(f"{line.title}: {line.times}, {line.more}" for line in lines))
        self.setFixedHeight(self.sizeHint().height())
        self.update()

    @property
    def _line(self) -> float:
        return QFontMetricsF(self.font()).height() + _TRACK + _GAP

    def sizeHint(self) -> QSize:
        """Return the height of all lines."""
        return QSize(200, int(self._line * len(self.lines)))

    def _at(self, y: float) -> CauseLine | None:
        row = int(y // self._line)
        return self.lines[row] if 0 <= row < len(self.lines) else None

    def event(self, event: QEvent) -> bool:
        """Say both times where the pointer rests."""
        if event.type() == QEvent.Type.ToolTip and isinstance(event, QHelpEvent):
            line = self._at(event.pos().y())
            if line is not None:
                QToolTip.showText(event.globalPos(), f"{line.title}: {line.times}; {line.more}", self)
            return True
        return super().event(event)

    def mousePressEvent(self, event: QMouseEvent) -> None:
        """Tell which cause was pressed on."""
        line = self._at(event.position().y())
        if line is not None and line.cause:
            self.pressed.emit(line.cause)

    def paintEvent(self, _event: QPaintEvent) -> None:
        """Draw all lines."""
        with painting(self) as painter:
            inks = inks_of(self.palette())
            most = max((abs(line.more_s) for line in self.lines), default=0.0) or 1.0
            for row, line in enumerate(self.lines):
                self._paint(painter, line, row * self._line, most, inks)

    def _paint(self, painter: QPainter, line: CauseLine, top: float, most: float, inks: Inks) -> None:
        metrics, width = QFontMetricsF(self.font()), float(self.width())
        box = QRectF(0.0, top, width, metrics.height())
        painter.setPen(inks.text)
        painter.drawText(box, Qt.AlignmentFlag.AlignRight, line.more)
        room = width - metrics.horizontalAdvance(line.more) - 2.0 * _GAP
        name = metrics.elidedText(line.title, Qt.TextElideMode.ElideRight, room)
        painter.drawText(box, Qt.AlignmentFlag.AlignLeft, name)
        middle, apart = 0.5 * width, line.more_s
        if abs(apart) < SAME_S:
            apart = 0.0  # said to be the same: no bar
        wide = max(abs(apart) / most * (middle - 1.0), _THIN) if apart else 0.0
        bar = QRectF(middle if apart > 0.0 else middle - wide, box.bottom() + 1.0, wide, _TRACK - 2.0)
        painter.fillRect(bar, QColor(*cause_rgb(inks.dark)[GROUP_OF[line.cause]]) if line.cause else inks.bar)
        painter.setPen(QPen(inks.bar, 1.0))
        painter.drawLine(QPointF(middle, box.bottom()), QPointF(middle, box.bottom() + _TRACK))
