"""The picture of the steps from the expected to the actual time."""

from __future__ import annotations

from typing import Final

from PySide6.QtCore import QEvent, QRect, QRectF, QSize, Qt, Signal
from PySide6.QtGui import (
    QColor,
    QFontMetrics,
    QFontMetricsF,
    QHelpEvent,
    QMouseEvent,
    QPainter,
    QPaintEvent,
    QResizeEvent,
)
from PySide6.QtWidgets import QSizePolicy, QToolTip, QWidget

from viewer.shown.cause_words import GROUP_OF
from viewer.shown.pictures.colours import cause_rgb
from viewer.shown.window.overrun.waterfall_bars import WaterfallBar, spoken
from viewer.shown.window.style.inks import Inks, inks_of
from viewer.shown.window.widgets.painting import painting

_NAMES: Final = 0.5
"""Most of the width that names beside the bars may have; wider ones stand above their bars, in lines of their own."""
_GAP: Final = 6.0
_THIN: Final = 2.0
"""Least width of a bar, logical pixels."""
_TRACK: Final = 7.0
"""Height of a bar below its name."""


class Waterfall(QWidget):
    """Bars below one another, each where the one before ends; names to the left or above, times to the right."""

    pressed = Signal(str)
    """A step was pressed on: its cause of the time ledger."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.bars: tuple[WaterfallBar, ...] = ()
        policy = QSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
        policy.setHeightForWidth(True)
        self.setSizePolicy(policy)
        self.setAccessibleName("from expected to actual")

    def show_bars(self, bars: tuple[WaterfallBar, ...]) -> None:
        """Show other bars."""
        self.bars = bars
        self.setAccessibleDescription(spoken(bars))
        self._fit()
        self.update()

    def _fit(self) -> None:
        high = self.heightForWidth(self.width())
        if high != self.minimumHeight():
            self.setFixedHeight(high)

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Break names into as many lines as the new width asks for."""
        super().resizeEvent(event)
        self._fit()

    def hasHeightForWidth(self) -> bool:
        """Say that the height follows from the width."""
        return True

    def heightForWidth(self, width: int) -> int:
        """Return the height at which no name is cut off."""
        lines = self._lines(width)
        return int(lines[-1].bottom() + _GAP) if lines else 0

    def sizeHint(self) -> QSize:
        """Return a usual width, and the height for it."""
        return QSize(240, self.heightForWidth(max(self.width(), 160)))

    # ---- where things stand

    def _widths(self, width: float) -> tuple[float, float, bool]:
        """Return the widths of the column of times and of that of names, and whether names stand above the bars."""
        metrics = QFontMetricsF(self.font())
        times = max((metrics.horizontalAdvance(bar.text) for bar in self.bars), default=0.0) + _GAP
        names = max((metrics.horizontalAdvance(bar.title) for bar in self.bars), default=0.0) + 2.0 * _GAP
        return times, names, names > _NAMES * (width - times)

    def _lines(self, width: float) -> list[QRectF]:
        """Return the box of each bar with its texts, from above."""
        times, _, above = self._widths(width)
        metrics = QFontMetrics(self.font())
        boxes: list[QRectF] = []
        top = 0.0
        for bar in self.bars:
            high = metrics.height() + _GAP
            if above:
                room = QRect(0, 0, max(int(width - times), 40), 9999)
                high = (
                    metrics.boundingRect(room, int(Qt.TextFlag.TextWordWrap), bar.title).height()
                    + _TRACK
                    + _GAP
                )
            boxes.append(QRectF(0.0, top, width, high))
            top += high
        return boxes

    def _row_at(self, y: float) -> int | None:
        return next(
            (row for row, box in enumerate(self._lines(self.width())) if box.top() <= y < box.bottom()), None
        )

    def event(self, event: QEvent) -> bool:
        """Say a bar in full where the pointer rests."""
        if event.type() == QEvent.Type.ToolTip and isinstance(event, QHelpEvent):
            row = self._row_at(event.pos().y())
            if row is not None:
                bar = self.bars[row]
                hint = (
                    "\nClick: colours, strip and costliest places show this cause alone." if bar.cause else ""
                )
                QToolTip.showText(event.globalPos(), f"{bar.title}: {bar.text}{hint}", self)
            return True
        return super().event(event)

    def mousePressEvent(self, event: QMouseEvent) -> None:
        """Tell which cause was pressed on."""
        row = self._row_at(event.position().y())
        if row is not None and self.bars[row].cause:
            self.pressed.emit(self.bars[row].cause)

    # ---- painting

    def paintEvent(self, _event: QPaintEvent) -> None:
        """Draw all bars."""
        with painting(self) as painter:
            inks = inks_of(self.palette())
            width = float(self.width())
            times, names, above = self._widths(width)
            left = 0.0 if above else names
            track = max(width - times - left, 10.0)
            most = max((max(bar.begin_s, bar.end_s) for bar in self.bars), default=1.0) or 1.0
            for bar, line in zip(self.bars, self._lines(width), strict=True):
                self._paint_texts(painter, bar, line, times, inks)
                at = left + track * min(bar.begin_s, bar.end_s) / most
                wide = max(track * abs(bar.end_s - bar.begin_s) / most, _THIN)
                top, high = line.top() + 0.15 * (line.height() - _GAP), 0.7 * (line.height() - _GAP)
                if above:
                    top, high = line.bottom() - _TRACK - 0.5 * _GAP, _TRACK
                painter.fillRect(QRectF(at, top, wide, high), _ink(bar, inks))

    def _paint_texts(
        self, painter: QPainter, bar: WaterfallBar, line: QRectF, times: float, inks: Inks
    ) -> None:
        painter.setPen(inks.text)
        upper = Qt.AlignmentFlag.AlignTop
        name = line.adjusted(0.0, 0.0, -times, 0.0)
        painter.drawText(
            name, int(Qt.AlignmentFlag.AlignLeft | upper) | int(Qt.TextFlag.TextWordWrap), bar.title
        )
        painter.drawText(line, Qt.AlignmentFlag.AlignRight | upper, bar.text)


def _ink(bar: WaterfallBar, inks: Inks) -> QColor:
    if bar.cause:
        return QColor(*cause_rgb(inks.dark)[GROUP_OF[bar.cause]])
    return {
        "told": inks.bar, "more": inks.accent, "less": inks.faint, "computed": inks.text, "unknown": inks.warn,
        "took": inks.text,
    }[bar.kind]  # fmt: skip
