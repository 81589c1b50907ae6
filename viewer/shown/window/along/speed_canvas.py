"""The picture of the speed: the curve, the commanded speed above it, what is held back shaded, the moment."""

from __future__ import annotations

from typing import Final

from PySide6.QtCore import QLineF, QPointF, QRectF, QSize, Qt, Signal
from PySide6.QtGui import (
    QFontMetricsF,
    QKeyEvent,
    QMouseEvent,
    QPainter,
    QPaintEvent,
    QPen,
    QPolygonF,
    QResizeEvent,
)
from PySide6.QtWidgets import QSizePolicy, QWidget

from viewer.numerals import number_text
from viewer.shown.window.along.speed_curve import SpeedCurve
from viewer.shown.window.style.inks import Inks, inks_of, mixed, small_font
from viewer.shown.window.widgets.painting import painting

_SIDE: Final = 6.0
_LEAST: Final = QSize(160, 60)


class SpeedCanvas(QWidget):
    """Draws a curve; says where the pointer is and where it was pressed, in elapsed s."""

    pointed = Signal(float)
    pressed = Signal(float)
    stepped = Signal(int)
    """To the next move (1), or the one before (-1)."""
    resized = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.curve: SpeedCurve | None = None
        self.moment_s: float | None = None
        self.setMouseTracking(True)
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Expanding)

    def sizeHint(self) -> QSize:
        """Return a small size: it takes what there is."""
        return _LEAST

    def show_curve(self, curve: SpeedCurve | None, moment_s: float | None) -> None:
        """Show another curve, and the chosen moment, elapsed s."""
        self.curve, self.moment_s = curve, moment_s
        self.update()

    @property
    def _track(self) -> QRectF:
        """Return where the curve lies: right of the scale, above the lower edge."""
        scale = QFontMetricsF(small_font(self)).horizontalAdvance("0000 ")
        return QRectF(self.rect()).adjusted(_SIDE + scale, _SIDE, -_SIDE, -_SIDE)

    @property
    def columns(self) -> int:
        """How many columns fit."""
        return max(int(self._track.width()), 1)

    def _at(self, x: float) -> float:
        assert self.curve is not None
        track, curve = self._track, self.curve
        share = min(max((x - track.left()) / track.width(), 0.0), 1.0)
        return curve.begin_s + share * (curve.end_s - curve.begin_s)

    def mouseMoveEvent(self, event: QMouseEvent) -> None:
        """Say at which moment the pointer is."""
        if self.curve is not None:
            self.pointed.emit(self._at(event.position().x()))

    def mousePressEvent(self, event: QMouseEvent) -> None:
        """Say which moment was pressed on."""
        if self.curve is not None and event.button() == Qt.MouseButton.LeftButton:
            self.pressed.emit(self._at(event.position().x()))

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Go along the moves with the arrow keys."""
        step = {Qt.Key.Key_Right: 1, Qt.Key.Key_Left: -1}.get(Qt.Key(event.key()))
        if step is None or self.curve is None:
            super().keyPressEvent(event)
        else:
            self.stepped.emit(step)

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Ask for a curve of as many columns as fit now."""
        super().resizeEvent(event)
        self.resized.emit()

    def paintEvent(self, _event: QPaintEvent) -> None:
        """Draw scale, shades, curve, commanded speed and moment."""
        with painting(self) as painter:
            inks, curve = inks_of(self.palette()), self.curve
            painter.fillRect(self.rect(), inks.base)
            if curve is None:
                return
            track = self._track
            self._paint_scale(painter, curve, track, inks)
            self._paint_shades(painter, curve, track, inks)
            self._paint_curve(painter, curve, track, inks)
            self._paint_commanded(painter, curve, track, inks)
            if self.moment_s is not None and curve.end_s > curve.begin_s:
                share = (self.moment_s - curve.begin_s) / (curve.end_s - curve.begin_s)
                x = track.left() + share * track.width()
                painter.setPen(QPen(inks.text, 1.0))
                painter.drawLine(QLineF(x, track.top(), x, track.bottom()))

    def _paint_scale(self, painter: QPainter, curve: SpeedCurve, track: QRectF, inks: Inks) -> None:
        painter.setFont(small_font(self))
        for share in (0.0, 0.5, 1.0):
            y = track.bottom() - share * track.height()
            painter.setPen(QPen(inks.grid, 1.0))
            painter.drawLine(QLineF(track.left(), y, track.right(), y))
            painter.setPen(inks.faint)
            box = QRectF(0.0, y - 10.0, track.left() - 4.0, 20.0)
            box.moveTop(min(max(box.top(), 0.0), self.height() - box.height()))
            text = number_text(share * curve.top_mm_s, 2)
            painter.drawText(box, Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter, text)

    def _paint_shades(self, painter: QPainter, curve: SpeedCurve, track: QRectF, inks: Inks) -> None:
        """Shade the columns in which a limit holds the speed back."""
        shade, wide = mixed(inks.warn, inks.base, 0.25), track.width() / len(curve.limiter)
        for column in curve.limiter.nonzero()[0].tolist():
            painter.fillRect(QRectF(track.left() + column * wide, track.top(), wide, track.height()), shade)

    def _paint_curve(self, painter: QPainter, curve: SpeedCurve, track: QRectF, inks: Inks) -> None:
        wide, high = track.width() / len(curve.low_mm_s), track.height() / curve.top_mm_s
        xs = [track.left() + (k + 0.5) * wide for k in range(len(curve.low_mm_s))]
        upper = [
            QPointF(x, track.bottom() - high * v) for x, v in zip(xs, curve.high_mm_s.tolist(), strict=True)
        ]
        lower = [
            QPointF(x, track.bottom() - high * v) for x, v in zip(xs, curve.low_mm_s.tolist(), strict=True)
        ]
        painter.setPen(QPen(inks.accent, 1.0))
        painter.setBrush(mixed(inks.accent, inks.base, 0.5))
        painter.drawPolygon(QPolygonF([*upper, *reversed(lower)]))

    def _paint_commanded(self, painter: QPainter, curve: SpeedCurve, track: QRectF, inks: Inks) -> None:
        """Draw the commanded speed as a dashed line; where none is commanded, or it waits, nothing."""
        wide = track.width() / len(curve.commanded_mm_s)
        painter.setPen(QPen(inks.text, 1.0, Qt.PenStyle.DashLine))
        begin = 0
        values = [*curve.commanded_mm_s.tolist(), -1.0]
        for column in range(1, len(values)):
            if values[column] != values[begin]:
                if values[begin] > 0.0:
                    share = min(values[begin] / curve.top_mm_s, 1.0)
                    y = track.bottom() - share * track.height()
                    left, right = track.left() + begin * wide, track.left() + column * wide
                    painter.drawLine(QLineF(left, y, right, y))
                begin = column
