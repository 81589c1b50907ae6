"""`Legend`: under the plot, what its colours mean; wraps to as many rows as it needs and covers no bead."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
from PySide6.QtCore import QEvent, QPointF, QRectF, QSize, Qt, Signal
from PySide6.QtGui import (
    QBrush,
    QColor,
    QFocusEvent,
    QFontMetricsF,
    QHelpEvent,
    QImage,
    QKeyEvent,
    QMouseEvent,
    QPainter,
    QPaintEvent,
    QPen,
    QPolygonF,
    QResizeEvent,
)
from PySide6.QtWidgets import QSizePolicy, QToolTip, QWidget

from viewer.lesson.words import find_word
from viewer.shown.pictures.area_picture import INKS
from viewer.shown.pictures.bead_values import Span
from viewer.shown.pictures.colours import Rgb, ui
from viewer.shown.pictures.legend_texts import key_text, swatch_text, tick_texts
from viewer.shown.pictures.scene import ColourKey
from viewer.shown.window.model.word_tip import word_tip
from viewer.shown.window.plot.layer_texts import HATCHED
from viewer.shown.window.widgets.painting import painting

DIMMED: Final = 0.35
"""Opacity of entries whose beads are dimmed."""
GAP = 16.0
PAD = 8.0
PALE = {"layer below": "shadow", "not laid yet": "later"}
"""Marks that look like beads, and their colours."""


@dataclass(frozen=True, slots=True)
class _Place:
    """Where one entry stands."""

    row: int
    left: float
    sign: Rgb | str | None
    text: str
    name: str
    """Of the role or mark; "" of the title."""
    wide: float


_Entry = tuple[Rgb | str | None, str, str]
_STEPS: Final = {Qt.Key.Key_Left: -1, Qt.Key.Key_Right: 1}


class Legend(QWidget):
    """Swatches of roles with their lengths, or a colour bar with ticks and unit; its entries can be pressed."""

    pressed = Signal(str)
    """Name of the role or mark that was pressed."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._key: ColourKey | None = None
        self._marks: tuple[str, ...] = ()
        self._colours: dict[str, Rgb] = ui(False)
        self._lit: frozenset[str] = frozenset()
        self._chosen = 0
        """The entry that Return presses, counted from 0, the title left out."""
        self.setFocusPolicy(Qt.FocusPolicy.TabFocus)
        self.setProperty("keeps_keys", True)
        self.setMouseTracking(True)
        policy = QSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
        policy.setHeightForWidth(True)
        self.setSizePolicy(policy)

    def show_key(self, key: ColourKey | None, marks: tuple[str, ...], dark: bool) -> None:
        """Show what colours mean now, and which marks are drawn (`scene.drawn_marks`)."""
        if key is self._key and marks == self._marks and ui(dark) == self._colours and key is not None:
            return  # only the view or the moment is another
        self._key, self._marks, self._colours = key, marks, ui(dark)
        self.setAccessibleName("Legend")
        self.setAccessibleDescription(key_text(key))
        self._fit()
        self.update()

    def light(self, names: frozenset[str]) -> None:
        """Show the entries of other roles dimmed, as their beads are; none: all are bright."""
        if names != self._lit:
            self._lit = names
            self.update()

    def entry_at(self, place: QPointF) -> str:
        """Return the name of the role or mark that stands at a place; "" where none does."""
        found = next((entry for entry in self._named() if self._box(entry).contains(place)), None)
        return "" if found is None else found.name

    def place_of(self, name: str) -> QRectF:
        """Return where an entry stands; an empty rectangle where it does not."""
        return next((self._box(entry) for entry in self._named() if entry.name == name), QRectF())

    def _named(self) -> list[_Place]:
        return [place for place in self._places(self.width()) if place.name]

    def _box(self, place: _Place) -> QRectF:
        line = QFontMetricsF(self.font()).height()
        return QRectF(place.left - 3.0, self._top(place), place.wide + 6.0, line)

    def _top(self, place: _Place) -> float:
        return self._bar_height() + 0.5 * PAD + place.row * (QFontMetricsF(self.font()).height() + 4.0)

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
        """Return the height that shows everything."""
        line = QFontMetricsF(self.font()).height()
        rows = 1 + max((place.row for place in self._places(width)), default=-1)
        return round(self._bar_height() + rows * (line + 4.0) + PAD)

    def _bar_height(self) -> float:
        has_bar = self._key is not None and self._key.span is not None
        return 2.5 * QFontMetricsF(self.font()).height() if has_bar else 0.0

    def sizeHint(self) -> QSize:
        """Return a usual width and the height for it."""
        return QSize(480, self.heightForWidth(max(self.width(), 240)))

    def minimumSizeHint(self) -> QSize:
        """Return the least useful size."""
        return QSize(160, self.heightForWidth(max(self.width(), 160)))

    def _entries(self) -> list[_Entry]:
        """Return sign (a colour or the name of a mark), text and name of each entry, the title first."""
        if self._key is None:
            return []
        marks: list[_Entry] = [(name, name, name) for name in self._marks]
        if self._key.span is not None:
            return marks
        swatches = [(s.rgb, swatch_text(s), s.name) for s in self._key.swatches]
        none = "" if swatches else " no bead is shown"
        return [(None, f"{self._key.title}:{none}", ""), *swatches, *marks]

    def _places(self, width: float) -> list[_Place]:
        """Return the place of each entry, wrapped."""
        metrics = QFontMetricsF(self.font())
        row, left = 0, PAD
        places = []
        for sign, text, name in self._entries():
            wide = metrics.horizontalAdvance(text) + (metrics.height() * 1.1 if sign is not None else 0.0)
            if left > PAD and left + wide > width - PAD:
                row, left = row + 1, PAD
            places.append(_Place(row, left, sign, text, name, wide))
            left += wide + GAP
        return places

    def paintEvent(self, event: QPaintEvent) -> None:
        """Paint the key."""
        with painting(self) as painter:
            self._paint(painter)

    def _paint(self, painter: QPainter) -> None:
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        ink = QColor(*self._colours["text"])
        painter.setPen(ink)
        if self._key is not None and self._key.span is not None:
            self._paint_bar(painter, self._key, self._key.span)
        metrics = QFontMetricsF(self.font())
        line = metrics.height()
        named = self._named()
        for place in self._places(self.width()):
            top, left = self._top(place), place.left
            dimmed = self._lit and not isinstance(place.sign, str) and place.name not in self._lit
            painter.setOpacity(DIMMED if dimmed and place.name else 1.0)
            if place.sign is not None:
                box = QRectF(
                    left, top + 0.5 * line - 0.42 * metrics.ascent(), 0.9 * line, 0.84 * metrics.ascent()
                )
                paint_sign(painter, box, place.sign, self._colours)
                left += line * 1.1
            painter.setPen(ink)
            painter.drawText(QPointF(left, top + metrics.ascent()), place.text)
            painter.setOpacity(1.0)
        if self.hasFocus() and named:
            painter.setPen(QColor(*self._colours["accent"]))
            painter.setBrush(Qt.BrushStyle.NoBrush)
            painter.drawRoundedRect(self._box(named[min(self._chosen, len(named) - 1)]), 3.0, 3.0)

    # ---- pointer and keys

    def event(self, event: QEvent) -> bool:
        """Tell the word of the entry under the pointer."""
        if event.type() == QEvent.Type.ToolTip and isinstance(event, QHelpEvent):
            word = find_word(self.entry_at(QPointF(event.pos())))
            QToolTip.showText(
                event.globalPos(), key_text(self._key) if word is None else word_tip(word), self
            )
            return True
        return super().event(event)

    def mouseMoveEvent(self, event: QMouseEvent) -> None:
        """Show what can be pressed."""
        shape = (
            Qt.CursorShape.PointingHandCursor
            if self.entry_at(event.position())
            else Qt.CursorShape.ArrowCursor
        )
        self.setCursor(shape)

    def mousePressEvent(self, event: QMouseEvent) -> None:
        """Press an entry."""
        name = self.entry_at(event.position())
        if name and event.button() == Qt.MouseButton.LeftButton:
            self._choose([entry.name for entry in self._named()].index(name))
            self.pressed.emit(name)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Go to another entry, or press the chosen one."""
        named = self._named()
        if event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter) and named:
            self.pressed.emit(named[min(self._chosen, len(named) - 1)].name)
        elif event.key() in _STEPS and named:
            step = _STEPS[Qt.Key(event.key())]
            self._choose(min(max(self._chosen + step, 0), len(named) - 1))
        else:
            super().keyPressEvent(event)

    def _choose(self, entry: int) -> None:
        self._chosen = entry
        self.setAccessibleName(f"Legend: {self._named()[entry].text}")
        self.update()

    def focusInEvent(self, event: QFocusEvent) -> None:
        """Show which entry Return presses."""
        super().focusInEvent(event)
        self.update()

    def focusOutEvent(self, event: QFocusEvent) -> None:
        """Show none."""
        super().focusOutEvent(event)
        self.setAccessibleName("Legend")
        self.update()

    def _paint_bar(self, painter: QPainter, key: ColourKey, span: Span) -> None:
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
        painter.setPen(QPen(QColor(*self._colours["text"]), 1.0))
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


def paint_sign(painter: QPainter, box: QRectF, sign: Rgb | str, colours: dict[str, Rgb]) -> None:
    """Paint a swatch in the shape of a bead, or a mark as it looks in the plot."""
    painter.save()
    middle, r = box.center(), 0.5 * box.height()
    if not isinstance(sign, str) or sign in PALE:
        painter.setPen(Qt.PenStyle.NoPen)
        painter.setBrush(QColor(*(colours[PALE[sign]] if isinstance(sign, str) else sign)))
        painter.drawRoundedRect(box, r, r)
    elif sign in HATCHED:
        colour = QColor(*colours[INKS[HATCHED[sign]]])
        painter.setPen(QPen(colour, 1.2))
        rises = sign == next(iter(HATCHED))
        painter.setBrush(QBrush(colour, Qt.BrushStyle.BDiagPattern if rises else Qt.BrushStyle.FDiagPattern))
        painter.drawRect(box)
    elif sign in ("retract", "prime"):
        up = 1.0 if sign == "prime" else -1.0
        painter.setPen(QPen(QColor(*colours[sign]), 1.5))
        corners = [
            QPointF(-0.8 * r, 0.65 * r * up),
            QPointF(0.8 * r, 0.65 * r * up),
            QPointF(0.0, -0.8 * r * up),
        ]
        painter.drawPolygon(QPolygonF([middle + corner for corner in corners]))
    elif sign == "travel":
        painter.setPen(QPen(QColor(*colours["travel"]), 1.2))
        painter.drawLine(box.bottomLeft(), box.topRight())
    elif sign == "nozzle":
        painter.setPen(QPen(QColor(*colours["selection"]), 1.6))
        painter.drawEllipse(middle, 0.6 * r, 0.6 * r)
        painter.drawLine(middle - QPointF(r, 0.0), middle + QPointF(r, 0.0))
        painter.drawLine(middle - QPointF(0.0, r), middle + QPointF(0.0, r))
    else:
        painter.setBrush(QColor(*colours["selection"]))
        painter.setPen(QPen(QColor(*colours["halo"]), 1.5))
        painter.drawEllipse(middle, 0.7 * r, 0.7 * r)
    painter.restore()


def _strip(scale: np.ndarray[tuple[int, ...], np.dtype[np.uint8]], single: bool) -> QImage:
    """Return the scale as a picture one pixel high."""
    row = np.ascontiguousarray(np.repeat(scale[:1], 255, axis=0) if single else scale[:255])
    return QImage(row.data, len(row), 1, 4 * len(row), QImage.Format.Format_RGBA8888).copy()
