"""The plot of estimates against real times, painted."""

from __future__ import annotations

from typing import Final

from PySide6.QtCore import QEvent, QPointF, QRectF, QSize, Qt, Signal
from PySide6.QtGui import QFontMetricsF, QHelpEvent, QKeyEvent, QMouseEvent, QPainter, QPaintEvent, QPen
from PySide6.QtWidgets import QSizePolicy, QToolTip, QWidget

from viewer.numerals import counted_text
from viewer.printlog.against import Point
from viewer.shown.numbers import duration_text
from viewer.shown.window.prints.estimate_chart import EstimateChart
from viewer.shown.window.style.inks import Inks, inks_of, mixed, small_font
from viewer.shown.window.widgets.painting import painting

_DOT: Final = 4.0
_BAR: Final = 7.0
_EDGE: Final = 14.0
_NEAR: Final = 14.0
"""How near a click must be to a point, logical pixels."""


class EstimatePlot(QWidget):
    """A dot a print at its real time, a bar for the interval that the other prints give.

    ::

        +20 % |        |       ^          dot in its bar: as expected
              |   |    o       |   beyond   dot outside of it: coloured
        as    |---o----|-------+-------   hollow: not believed
              +----------------------->  computed time
    """

    opened = Signal(int)
    """The number of a print that a person wants to see."""

    def __init__(self, parent: QWidget) -> None:
        super().__init__(parent)
        self.chart = EstimateChart()
        self.at = -1
        """The place of the chosen point, -1 for none."""
        self.setAccessibleName("real times against estimates")
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Expanding)

    def show_chart(self, chart: EstimateChart) -> None:
        """Show other points."""
        self.chart, self.at = chart, -1
        self.setAccessibleDescription(counted_text(len(chart.points), "print"))
        self.update()

    def sizeHint(self) -> QSize:
        """Return a usual size."""
        return QSize(560, 320)

    def place_of(self, point: Point) -> QPointF:
        """Return where a point is drawn."""
        room, chart = self._room, self.chart
        return QPointF(
            room.left() + chart.x(point.computed_s) * room.width(), room.bottom() - chart.y(point.real) * room.height()
        )  # fmt: skip

    # events ------------------------------------------------------------------------------------------

    def event(self, event: QEvent) -> bool:
        """Say the point under the pointer."""
        if event.type() == QEvent.Type.ToolTip and isinstance(event, QHelpEvent):
            at = self._nearest(QPointF(event.pos()))
            QToolTip.showText(event.globalPos(), said(self.chart.points[at]) if at >= 0 else "", self)
            return True
        return super().event(event)

    def mousePressEvent(self, event: QMouseEvent) -> None:
        """Choose the point at the pointer."""
        self._choose(self._nearest(event.position()))

    def mouseDoubleClickEvent(self, event: QMouseEvent) -> None:
        """Open the point at the pointer."""
        del event
        self._open()

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Go through the points; open one."""
        step = {Qt.Key.Key_Left: -1, Qt.Key.Key_Right: 1}.get(Qt.Key(event.key()))
        if step is not None and self.chart.points:
            self._choose(min(max(self.at + step, 0), len(self.chart.points) - 1))
        elif event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter) and self.at >= 0:
            self._open()
        else:
            super().keyPressEvent(event)

    def _choose(self, at: int) -> None:
        self.at = at
        if at >= 0:
            self.setAccessibleDescription(said(self.chart.points[at]))
        self.update()

    def _open(self) -> None:
        if self.at >= 0:
            self.opened.emit(self.chart.points[self.at].number)

    def _nearest(self, place: QPointF) -> int:
        away = [(self.place_of(point) - place).manhattanLength() for point in self.chart.points]
        at = min(range(len(away)), key=away.__getitem__, default=-1)
        return at if at >= 0 and away[at] <= _NEAR else -1

    # painted -----------------------------------------------------------------------------------------

    @property
    def _room(self) -> QRectF:
        metrics = QFontMetricsF(small_font(self))
        left = (
            max((metrics.horizontalAdvance(text) for _share, text in self.chart.share_ticks), default=40.0)
            + 12.0
        )
        low = 2.0 * metrics.height() + 12.0
        return QRectF(self.rect()).adjusted(left, _EDGE, -_EDGE, -low)

    def paintEvent(self, _event: QPaintEvent) -> None:
        """Draw axes, bars and dots."""
        with painting(self) as painter:
            inks, room = inks_of(self.palette()), self._room
            painter.fillRect(self.rect(), inks.base)
            painter.setRenderHint(QPainter.RenderHint.Antialiasing)
            self._paint_axes(painter, room, inks)
            for point in self.chart.points:
                self._paint_bar(painter, point, room, inks)
            for at, point in enumerate(self.chart.points):
                self._paint_dot(painter, point, inks, at == self.at)
            if 0 <= self.at < len(self.chart.points):
                painter.setPen(inks.text)
                top = Qt.AlignmentFlag.AlignTop | Qt.AlignmentFlag.AlignRight
                painter.drawText(room, top, said(self.chart.points[self.at]))

    def _paint_axes(self, painter: QPainter, room: QRectF, inks: Inks) -> None:
        painter.setFont(small_font(self))
        high = QFontMetricsF(painter.font()).height()
        right = Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter
        for share, text in self.chart.share_ticks:
            y = room.bottom() - self.chart.y(share) * room.height()
            painter.setPen(QPen(inks.text if share == 1.0 else inks.grid, 1.0))
            painter.drawLine(QPointF(room.left(), y), QPointF(room.right(), y))
            painter.setPen(inks.faint)
            painter.drawText(QRectF(0.0, y - high, room.left() - 6.0, 2.0 * high), right, text)
        centre = Qt.AlignmentFlag.AlignHCenter
        free = room.left()
        for seconds, text in self.chart.time_ticks:
            x = room.left() + self.chart.x(seconds) * room.width()
            if x < free:
                continue
            free = x + QFontMetricsF(painter.font()).horizontalAdvance(text) + 12.0
            painter.setPen(inks.grid)
            painter.drawLine(QPointF(x, room.bottom()), QPointF(x, room.bottom() + 4.0))
            painter.setPen(inks.faint)
            painter.drawText(QRectF(x - 60.0, room.bottom() + 5.0, 120.0, high), centre, text)
        painter.drawText(
            QRectF(room.left(), room.bottom() + 5.0 + high, room.width(), high), centre, "computed time"
        )

    def _paint_bar(self, painter: QPainter, point: Point, room: QRectF, inks: Inks) -> None:
        x = self.place_of(point).x()
        low, high = (room.bottom() - self.chart.y(share) * room.height() for share in (point.low, point.high))
        painter.fillRect(QRectF(x - 0.5 * _BAR, high, _BAR, low - high), mixed(inks.accent, inks.base, 0.28))

    def _paint_dot(self, painter: QPainter, point: Point, inks: Inks, chosen: bool) -> None:
        ink = inks.faint if not point.believed else inks.text if point.held else inks.stop
        painter.setPen(QPen(ink, 1.6))
        painter.setBrush(ink if point.believed else inks.base)
        painter.drawEllipse(self.place_of(point), _DOT, _DOT)
        if chosen:
            painter.setPen(QPen(inks.accent, 2.0))
            painter.setBrush(Qt.BrushStyle.NoBrush)
            painter.drawEllipse(self.place_of(point), _DOT + 4.0, _DOT + 4.0)


def said(point: Point) -> str:
    """Return one print in words."""
    real, low, high = (
        duration_text(share * point.computed_s) for share in (point.real, point.low, point.high)
    )
    text = f"Print {point.number}: computed {duration_text(point.computed_s)}, likely {low} to {high}, took {real}"
    return text if point.believed else f"{text}; left out"
