"""`Legend`: under the plot, what its colours mean; wraps to as many rows as it needs and covers no bead."""

from __future__ import annotations

import numpy as np
from PySide6.QtCore import QPointF, QRectF, QSize, Qt
from PySide6.QtGui import QColor, QFontMetricsF, QImage, QPainter, QPaintEvent, QPen, QResizeEvent
from PySide6.QtWidgets import QSizePolicy, QWidget

from viewer.shown.window.bead_values import Span
from viewer.shown.window.colours import Rgb, ui
from viewer.shown.window.scene import Key

GAP = 16.0
PAD = 8.0


class Legend(QWidget):
    """Swatches of roles with their lengths, or a colour bar with ticks and unit."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._key: Key | None = None
        self._text: Rgb = ui(False)["text"]
        policy = QSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
        policy.setHeightForWidth(True)
        self.setSizePolicy(policy)

    def show_key(self, key: Key | None, dark: bool) -> None:
        """Show what colours mean now."""
        self._key, self._text = key, ui(dark)["text"]
        self.setAccessibleName("Legend")
        self.setAccessibleDescription(key_text(key))
        self.setToolTip(key_text(key))
        self._fit()
        self.update()

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Take as many rows as the new width asks for."""
        super().resizeEvent(event)
        self._fit()

    def _fit(self) -> None:
        height = self.heightForWidth(self.width())
        if height != self.height() or self.minimumHeight() != height:
            self.setFixedHeight(height)

    def hasHeightForWidth(self) -> bool:
        """Say that the height follows from the width."""
        return True

    def heightForWidth(self, width: int) -> int:
        """Give the height that shows everything."""
        line = QFontMetricsF(self.font()).height()
        if self._key is not None and self._key.span is not None:
            return round(2.6 * line + PAD)
        places = self._places(width)
        rows = 1 + max((row for row, _, _ in places), default=0)
        return round(rows * (line + 4.0) + PAD)

    def sizeHint(self) -> QSize:
        """Give a usual width and the height for it."""
        return QSize(480, self.heightForWidth(max(self.width(), 240)))

    def minimumSizeHint(self) -> QSize:
        """Give the least useful size."""
        return QSize(160, self.heightForWidth(max(self.width(), 160)))

    def _entries(self) -> list[tuple[Rgb | None, str]]:
        """Give colour and text of each swatch, the title first."""
        if self._key is None:
            return []
        return [
            (None, f"{self._key.title}:"),
            *((s.rgb, f"{s.name} {length_text(s.length_mm)}") for s in self._key.swatches),
        ]

    def _places(self, width: float) -> list[tuple[int, float, float]]:
        """Give row, left and width of each entry, wrapped."""
        metrics = QFontMetricsF(self.font())
        row, left = 0, PAD
        places = []
        for colour, text in self._entries():
            wide = metrics.horizontalAdvance(text) + (metrics.height() * 1.1 if colour else 0.0)
            if left > PAD and left + wide > width - PAD:
                row, left = row + 1, PAD
            places.append((row, left, wide))
            left += wide + GAP
        return places

    def paintEvent(self, event: QPaintEvent) -> None:
        """Paint the key."""
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        painter.setPen(QColor(*self._text))
        if self._key is not None and self._key.span is not None:
            self._paint_bar(painter, self._key, self._key.span)
        else:
            self._paint_swatches(painter)
        painter.end()

    def _paint_swatches(self, painter: QPainter) -> None:
        metrics = QFontMetricsF(self.font())
        line, size = metrics.height(), metrics.ascent() * 0.85
        for (colour, text), (row, left, _) in zip(self._entries(), self._places(self.width()), strict=True):
            top = 0.5 * PAD + row * (line + 4.0)
            if colour is not None:
                painter.save()
                painter.setPen(Qt.PenStyle.NoPen)
                painter.setBrush(QColor(*colour))
                painter.drawRoundedRect(
                    QRectF(left, top + 0.5 * (line - size), size * 1.2, size), size / 2, size / 2
                )
                painter.restore()
                left += line * 1.1
            painter.drawText(QPointF(left, top + metrics.ascent()), text)

    def _paint_bar(self, painter: QPainter, key: Key, span: Span) -> None:
        metrics = QFontMetricsF(self.font())
        line = metrics.height()
        title = f"{key.title}, {key.unit}"
        ends = tick_texts(span)
        left = PAD + metrics.horizontalAdvance(title) + GAP + 0.5 * metrics.horizontalAdvance(ends[0])
        right = self.width() - PAD - 0.5 * metrics.horizontalAdvance(ends[-1])
        bar = QRectF(left, 0.5 * PAD + 0.15 * line, min(right - left, 420.0), 0.9 * line)
        painter.drawText(QPointF(PAD, bar.center().y() + 0.35 * metrics.ascent()), title)
        if bar.width() < 2.0 * line or key.scale is None:
            return
        painter.drawImage(bar, _strip(key.scale, span.low == span.high))
        painter.setPen(QPen(QColor(*self._text), 1.0))
        painter.drawRect(bar)
        self._paint_ticks(painter, bar, span, metrics)

    def _paint_ticks(self, painter: QPainter, bar: QRectF, span: Span, metrics: QFontMetricsF) -> None:
        used = -1e9
        texts = tick_texts(span)
        for tick, text in zip(span.ticks, texts, strict=True):
            share = (tick - span.low) / (span.high - span.low) if span.high > span.low else 0.5
            x, wide = bar.left() + share * bar.width(), metrics.horizontalAdvance(text)
            painter.drawLine(QPointF(x, bar.bottom()), QPointF(x, bar.bottom() + 4.0))
            if x - 0.5 * wide > used:
                painter.drawText(QPointF(x - 0.5 * wide, bar.bottom() + 5.0 + metrics.ascent()), text)
                used = x + 0.5 * wide + 6.0


def tick_texts(span: Span) -> tuple[str, ...]:
    """Give the text of each tick, with as many digits as tell them apart; ends say where there is more."""
    step = span.ticks[1] - span.ticks[0] if len(span.ticks) > 1 else max(abs(span.low), 1e-3) / 10.0
    digits = max(0, -int(np.floor(np.log10(step) + 1e-9)))
    texts = [f"{tick:.{digits}f}" for tick in span.ticks]
    if span.below:
        texts[0] = f"≤ {texts[0]}"
    if span.above:
        texts[-1] = f"≥ {texts[-1]}"
    return tuple(texts)


def length_text(mm: float) -> str:
    """Give a length in mm, or in m where it is long."""
    return f"{mm / 1000.0:.2f} m" if mm >= 1000.0 else f"{mm:.1f} mm" if mm < 100.0 else f"{mm:.0f} mm"


def key_text(key: Key | None) -> str:
    """Give the key in words, for those who do not see it."""
    if key is None:
        return "nothing is drawn"
    if key.span is not None:
        texts = tick_texts(key.span)
        return f"{key.title}: {texts[0]} to {texts[-1]} {key.unit}"
    return f"{key.title}: " + ", ".join(f"{s.name} {length_text(s.length_mm)}" for s in key.swatches)


def _strip(scale: np.ndarray[tuple[int, ...], np.dtype[np.uint8]], single: bool) -> QImage:
    """Give the scale as a picture one pixel high."""
    row = np.ascontiguousarray(np.repeat(scale[:1], 255, axis=0) if single else scale[:255])
    return QImage(row.data, len(row), 1, 4 * len(row), QImage.Format.Format_RGBA8888).copy()
