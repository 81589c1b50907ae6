"""The picture of the steps from the expected to the actual time."""

from __future__ import annotations

from typing import Final

from PySide6.QtCore import QEvent, QRectF, QSize, Qt
from PySide6.QtGui import QColor, QFontMetricsF, QHelpEvent, QPainter, QPaintEvent
from PySide6.QtWidgets import QSizePolicy, QToolTip, QWidget

from viewer.shown.window.overrun.waterfall_bars import WaterfallBar, spoken
from viewer.shown.window.style.inks import Inks, elided, inks_of
from viewer.shown.window.widgets.painting import painting

_NAMES: Final = 0.42
"""Share of the width that names have."""
_SIDE: Final = 8.0
_GAP: Final = 6.0
_THIN: Final = 2.0
"""Least width of a bar, logical pixels."""


class Waterfall(QWidget):
    """Bars below one another, each where the one before ends; names to the left, times to the right."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.bars: tuple[WaterfallBar, ...] = ()
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
        self.setAccessibleName("from expected to actual")

    def show_bars(self, bars: tuple[WaterfallBar, ...]) -> None:
        """Show other bars."""
        self.bars = bars
        self.setAccessibleDescription(spoken(bars))
        self.updateGeometry()
        self.update()

    @property
    def _line(self) -> float:
        return QFontMetricsF(self.font()).height() + _GAP

    def sizeHint(self) -> QSize:
        """Return the height of all bars."""
        return QSize(200, int(self._line * len(self.bars) + _GAP))

    def minimumSizeHint(self) -> QSize:
        """Return the same: no bar is cut off."""
        return self.sizeHint()

    def event(self, event: QEvent) -> bool:
        """Say a bar in full where the pointer rests."""
        if event.type() == QEvent.Type.ToolTip and isinstance(event, QHelpEvent):
            row = int(event.pos().y() // self._line)
            if 0 <= row < len(self.bars):
                QToolTip.showText(event.globalPos(), f"{self.bars[row].title}: {self.bars[row].text}", self)
            return True
        return super().event(event)

    def paintEvent(self, _event: QPaintEvent) -> None:
        """Draw all bars."""
        with painting(self) as painter:
            inks = inks_of(self.palette())
            metrics = QFontMetricsF(self.font())
            times = max((metrics.horizontalAdvance(bar.text) for bar in self.bars), default=0.0) + _GAP
            room = QRectF(self.rect()).adjusted(_SIDE, 0.0, -_SIDE, 0.0)
            names = _NAMES * room.width()
            track = max(room.width() - names - times, 10.0)
            most = max((max(bar.begin_s, bar.end_s) for bar in self.bars), default=1.0) or 1.0
            for row, bar in enumerate(self.bars):
                line = QRectF(room.left(), row * self._line, room.width(), self._line)
                self._paint_texts(painter, bar, line, names, inks)
                left = line.left() + names + track * min(bar.begin_s, bar.end_s) / most
                wide = max(track * abs(bar.end_s - bar.begin_s) / most, _THIN)
                box = QRectF(left, line.top() + 0.2 * self._line, wide, 0.6 * self._line)
                painter.fillRect(box, _ink(bar, inks))

    def _paint_texts(
        self, painter: QPainter, bar: WaterfallBar, line: QRectF, names: float, inks: Inks
    ) -> None:
        painter.setPen(inks.text)
        name = elided(bar.title, self.font(), names - _GAP)
        painter.drawText(line, Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter, name)
        painter.drawText(line, Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter, bar.text)


def _ink(bar: WaterfallBar, inks: Inks) -> QColor:
    return {
        "told": inks.bar, "more": inks.accent, "less": inks.faint, "computed": inks.text, "unknown": inks.warn,
        "took": inks.text,
    }[bar.kind]  # fmt: skip
