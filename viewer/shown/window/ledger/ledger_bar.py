"""The stacked bar of the time ledger: causes told apart by group colour, pattern and label, not by colour alone."""

from __future__ import annotations

from typing import Final

from PySide6.QtCore import QEvent, QPointF, QRectF, QSize, Qt, Signal
from PySide6.QtGui import (
    QBrush,
    QColor,
    QFontMetricsF,
    QIcon,
    QMouseEvent,
    QPainter,
    QPaintEvent,
    QPen,
    QPixmap,
)
from PySide6.QtWidgets import QSizePolicy, QToolTip, QWidget

from viewer.arrays import F64
from viewer.shown.cause_words import CAUSE_WORDS, GROUP_OF
from viewer.shown.numbers import share_text
from viewer.shown.pictures.colours import cause_rgb
from viewer.shown.window.ledger.ledger_parts import SHORT, BarPart, bar_parts, cause_text
from viewer.shown.window.style.inks import Inks, inks_of, mixed, small_font
from viewer.shown.window.widgets.painting import painting

_SOLID, _LINES = Qt.BrushStyle.SolidPattern, Qt.BrushStyle.BDiagPattern
_COUNTER, _CROSS = Qt.BrushStyle.FDiagPattern, Qt.BrushStyle.DiagCrossPattern
_UPRIGHT, _LEVEL, _DOTS = Qt.BrushStyle.VerPattern, Qt.BrushStyle.HorPattern, Qt.BrushStyle.Dense6Pattern

PATTERNS: Final[dict[str, Qt.BrushStyle]] = {
    "laying": _SOLID,
    "held back": _LINES,
    "speeding up and braking": _CROSS,
    "travel": _SOLID,
    "retract and prime": _DOTS,
    "height changes": _UPRIGHT,
    "dwell": _DOTS,
    "heating": _SOLID,
    "homing and levelling": _UPRIGHT,
    "tool changes": _CROSS,
    "pauses": _LEVEL,
}
"""Of each cause; its group (`GROUP_OF`) has the colour, the same as in the layer strip."""


def paint_fill(painter: QPainter, cause: str, box: QRectF, inks: Inks) -> QColor:
    """Fill a box as a cause looks; return the ink that stands out from its ground."""
    pattern = PATTERNS[cause]
    colour = QColor(*cause_rgb(inks.dark)[GROUP_OF[cause]])
    if pattern == _SOLID:
        painter.fillRect(box, colour)
        return inks.base
    ground = mixed(colour, inks.base, 0.22)
    painter.fillRect(box, ground)
    painter.setBrushOrigin(box.topLeft())
    painter.fillRect(box, QBrush(colour, pattern))
    painter.setPen(QPen(colour, 1.0))
    painter.setBrush(Qt.BrushStyle.NoBrush)
    painter.drawRect(box.adjusted(0.5, 0.5, -0.5, -0.5))
    return inks.text


def cause_icon(cause: str, inks: Inks, size: int, ratio: float) -> QIcon:
    """Return a small square that looks as the cause does on the bar."""
    picture = QPixmap(round(size * ratio), round(size * ratio))
    picture.setDevicePixelRatio(ratio)
    picture.fill(inks.base)
    painter = QPainter(picture)
    paint_fill(painter, cause, QRectF(0.0, 0.0, size, size), inks)
    painter.end()
    icon = QIcon(picture)
    icon.addPixmap(picture, QIcon.Mode.Selected)  # else the style would tint it
    return icon


class LedgerBar(QWidget):
    """Where the time of the program, or of the layer, went."""

    pressed = Signal(str)
    """A cause was pressed on."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._seconds: F64 | None = None
        self.setMouseTracking(True)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)

    def show_seconds(self, seconds: F64 | None) -> None:
        """Show other times: (causes,), or none."""
        self._seconds = seconds
        self.setAccessibleDescription("; ".join(self._text(part) for part in self.parts()))
        self.update()

    def parts(self) -> tuple[BarPart, ...]:
        """Return the parts of the bar as wide as it is now."""
        return () if self._seconds is None else bar_parts(self._seconds, float(self.width()))

    def sizeHint(self) -> QSize:
        """Be as high as a label and a little."""
        return QSize(240, self.fontMetrics().height() + 8)

    def _text(self, part: BarPart) -> str:
        assert self._seconds is not None
        return cause_text(part.cause, part.seconds, float(self._seconds.sum()))

    def paintEvent(self, _event: QPaintEvent) -> None:
        """Paint the parts and label those that have room."""
        with painting(self) as painter:
            self._paint(painter)

    def _paint(self, painter: QPainter) -> None:
        inks = inks_of(self.palette())
        painter.setFont(small_font(self))
        parts = self.parts()
        if not parts:
            painter.setPen(QPen(inks.bar, 1.0, Qt.PenStyle.DashLine))
            painter.drawRect(QRectF(0.5, 0.5, self.width() - 1.0, self.height() - 1.0))
        for part in parts:
            gap = 1.0 if part.right - part.left > 3.0 else 0.0
            box = QRectF(QPointF(part.left, 0.0), QPointF(part.right - gap, float(self.height())))
            ink = paint_fill(painter, part.cause, box, inks)
            self._label(painter, part, box, ink, inks)

    def _label(self, painter: QPainter, part: BarPart, box: QRectF, ink: QColor, inks: Inks) -> None:
        """Write the cause, or else its share, where it fits."""
        assert self._seconds is not None
        metrics = QFontMetricsF(painter.font())
        share = share_text(part.seconds / float(self._seconds.sum()))
        for text in (
            f"{SHORT.get(part.cause, part.cause)} {share}",
            SHORT.get(part.cause, part.cause),
            share,
        ):
            wide = metrics.horizontalAdvance(text)
            if wide + 10.0 <= box.width():
                if PATTERNS[part.cause] != _SOLID:  # letters on a pattern need a ground of their own
                    plate = QRectF(0.0, 0.0, wide + 6.0, metrics.height())
                    plate.moveCenter(box.center())
                    painter.fillRect(plate, inks.base)
                painter.setPen(ink)
                painter.drawText(box, Qt.AlignmentFlag.AlignCenter, text)
                return

    def part_at(self, x: float) -> BarPart | None:
        """Return the part at a place along the bar."""
        return next((part for part in self.parts() if part.left <= x < part.right), None)

    def mouseMoveEvent(self, event: QMouseEvent) -> None:
        """Tell what lies under the pointer."""
        part = self.part_at(event.position().x())
        if part is not None:
            text = f"{self._text(part)}\n{CAUSE_WORDS[part.cause][1]}"
            QToolTip.showText(event.globalPosition().toPoint(), text, self)

    def mousePressEvent(self, event: QMouseEvent) -> None:
        """Tell which cause was pressed on."""
        part = self.part_at(event.position().x())
        if part is not None:
            self.pressed.emit(part.cause)

    def leaveEvent(self, event: QEvent) -> None:
        """Take the tooltip away."""
        QToolTip.hideText()
        super().leaveEvent(event)
