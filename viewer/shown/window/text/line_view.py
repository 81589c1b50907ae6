"""`LineView`: the lines of a program, numbered, of which only those in view are ever fetched."""

from __future__ import annotations

import math
from typing import Final

from PySide6.QtCore import QEvent, QPoint, QRect, Qt, Signal
from PySide6.QtGui import (
    QColor,
    QFont,
    QFontDatabase,
    QFontMetricsF,
    QHelpEvent,
    QKeyEvent,
    QMouseEvent,
    QPainter,
    QPaintEvent,
    QResizeEvent,
)
from PySide6.QtWidgets import QAbstractScrollArea, QToolTip, QWidget

from viewer.read.words import Word
from viewer.shown.window.style.inks import is_dark
from viewer.shown.window.style.tones import tone, tone_of
from viewer.shown.window.text.line_source import Line, LineSource
from viewer.shown.window.widgets.painting import painting

GAP: Final = 8
"""Pixels between the edge, the number and the text."""
WIDEST: Final = 4100
"""Columns that can be scrolled to."""
_STEPS: Final = {Qt.Key.Key_Up: -1, Qt.Key.Key_Down: 1}


class LineView(QAbstractScrollArea):
    """Numbered lines; the current one is marked, further ones can be chosen for copying."""

    current_changed = Signal(int)
    """A person made another line the current one."""
    word_wanted = Signal(int, int, QPoint)
    """The pointer rests on a line, at a place in its text, at a point of the screen."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.source: LineSource | None = None
        self.current = 0
        """The current line, 0: none."""
        self._anchor = 0
        self._measured: QFontMetricsF | None = None
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setProperty("keeps_keys", True)
        self.setAccessibleName("Lines of the program")
        self.setFrameShape(QAbstractScrollArea.Shape.NoFrame)
        self.viewport().setCursor(Qt.CursorShape.IBeamCursor)
        self._take_font()

    # what is shown ------------------------------------------------------------------------------------

    def show_source(self, source: LineSource | None) -> None:
        """Show other lines; where it is another view of as many lines, the place is kept."""
        kept = source is not None and 0 < self.current <= source.count
        self.source = source
        if not kept:
            self.current = self._anchor = 0
        self._set_ranges()
        if not kept:
            self.verticalScrollBar().setValue(0)
            self.horizontalScrollBar().setValue(0)
        self.viewport().update()

    def set_current(self, number: int, spare: int = 1) -> None:
        """Mark a line and bring it into view with `spare` lines round it; no signal is emitted."""
        if self.source is None or not 0 < number <= self.source.count:
            return
        self.current = self._anchor = number
        self._bring_into_view(number, spare)
        self.viewport().update()

    def clear_current(self) -> None:
        """Mark no line; the same lines stay in view."""
        self.current = self._anchor = 0
        self.viewport().update()

    def chosen(self) -> range:
        """Return the numbers of the chosen lines; the current one alone unless more were chosen."""
        lo, hi = sorted((self.current, self._anchor or self.current))
        return range(max(lo, 1), hi + 1) if self.current else range(0)

    @property
    def first(self) -> int:
        """The number of the topmost line."""
        return self.verticalScrollBar().value() + 1

    @property
    def rows(self) -> int:
        """How many whole lines fit."""
        return max(1, int(self.viewport().height() / self._row_height))

    # geometry ----------------------------------------------------------------------------------------

    def _take_font(self) -> None:
        font = QFontDatabase.systemFont(QFontDatabase.SystemFont.FixedFont)
        font.setPointSizeF(self.font().pointSizeF() if self.font().pointSizeF() > 0 else 10.0)
        self._fixed: QFont = font
        self._measured = QFontMetricsF(font)
        self._row_height = math.ceil(self._measured.height()) + 3
        self._column = self._measured.horizontalAdvance("0")

    def _margin(self) -> int:
        """Return the pixels that the numbers take."""
        digits = len(str(self.source.count)) if self.source else 1
        return int(digits * self._column) + 2 * GAP

    def _set_ranges(self) -> None:
        count = self.source.count if self.source else 0
        bar = self.verticalScrollBar()
        bar.setRange(0, max(0, count - self.rows))
        bar.setPageStep(self.rows)
        columns = int((self.viewport().width() - self._margin() - GAP) / self._column)
        widest = self._widest_in_view()
        side = self.horizontalScrollBar()
        side.setRange(0, max(0, widest - columns, min(side.value(), WIDEST)))
        side.setPageStep(max(1, columns))

    def _widest_in_view(self) -> int:
        if self.source is None:
            return 0
        last = min(self.first + self.rows, self.source.count)
        return max((len(self.source.line(n).text) for n in range(self.first, last + 1)), default=0)

    def _bring_into_view(self, number: int, spare: int = 1) -> None:
        bar = self.verticalScrollBar()
        if not self.first + spare <= number <= self.first + self.rows - 1 - spare:
            near = abs(number - self.first - self.rows / 2) < self.rows
            above = number <= self.first + self.rows / 2
            edge = number - 1 - spare if above else number - self.rows + spare
            bar.setValue(edge if near else number - 1 - self.rows // 2)

    def line_at(self, y: float) -> int:
        """Return the number of the line at a height of the viewport, 0 where there is none."""
        number = self.first + int(y // self._row_height)
        return number if self.source and 0 < number <= self.source.count else 0

    def _place_at(self, x: float, line: Line) -> int:
        """Return the place in a line's text at a width of the viewport, -1 where there is none."""
        left = x - self._margin() - GAP + self.horizontalScrollBar().value() * self._column
        if left < 0:
            return -1
        if line.text.isascii():
            place = int(left // self._column)
            return place if place < len(line.text) else -1
        assert self._measured is not None
        for place in range(len(line.text)):
            if self._measured.horizontalAdvance(line.text[: place + 1]) > left:
                return place
        return -1

    # painting ----------------------------------------------------------------------------------------

    def paintEvent(self, _event: QPaintEvent) -> None:
        """Paint the lines in view."""
        with painting(self.viewport()) as painter:
            self._paint(painter)

    def _paint(self, painter: QPainter) -> None:
        dark = is_dark(self.palette())
        painter.fillRect(self.viewport().rect(), tone("panel", dark))
        painter.setFont(self._fixed)
        if self.source is None:
            return
        chosen = self.chosen()
        for row in range(self.rows + 2):
            number = self.first + row
            if number > self.source.count:
                break
            line = self.source.line(number)
            self._paint_row(painter, row * self._row_height, number, line, number in chosen, dark)
        if self.source.problem:
            self._paint_problem(painter, dark)

    def _paint_row(
        self, painter: QPainter, top: int, number: int, line: Line, chosen: bool, dark: bool
    ) -> None:
        width, margin, height = self.viewport().width(), self._margin(), self._row_height
        current = number == self.current
        if chosen or current:
            painter.fillRect(0, top, width, height, tone("current" if current else "chosen", dark))
        painter.setClipRect(margin + 1, top, width, height)
        self._paint_words(painter, margin + GAP, top, line, dark)
        painter.setClipping(False)
        if current:
            painter.fillRect(0, top, 3, height, tone("accent", dark))
        painter.setPen(tone("text" if current else "faint", dark))
        box = QRect(0, top, margin - GAP, height)
        painter.drawText(box, Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter, str(number))

    def _paint_words(self, painter: QPainter, left: float, top: int, line: Line, dark: bool) -> None:
        skip = self.horizontalScrollBar().value()
        left -= skip * self._column
        assert self._measured is not None
        base = top + (self._row_height - self._measured.height()) / 2 + self._measured.ascent()
        for start, end, colour in _spans(line, dark):
            if end <= skip:
                continue
            before = start * self._column
            if not line.text.isascii():
                before = self._measured.horizontalAdvance(line.text[:start])
            x = left + before
            if x > self.viewport().width():
                break
            painter.setPen(colour)
            painter.drawText(round(x), round(base), line.text[start : min(end, start + WIDEST)])

    def _paint_problem(self, painter: QPainter, dark: bool) -> None:
        painter.setFont(self.font())
        painter.setPen(tone("stop", dark))
        assert self.source is not None
        room = self.viewport().rect().adjusted(self._margin() + GAP, GAP, -GAP, -GAP)
        flags = Qt.TextFlag.TextWordWrap | Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignTop
        painter.drawText(room, int(flags), self.source.problem)

    # a person's hands --------------------------------------------------------------------------------

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Fit the scroll bars."""
        super().resizeEvent(event)
        self._set_ranges()
        if self.current:
            self._bring_into_view(self.current)

    def scrollContentsBy(self, _dx: int, _dy: int) -> None:
        """Paint again: what comes into view is fetched by painting."""
        self._set_ranges()
        self.viewport().update()

    def changeEvent(self, event: QEvent) -> None:
        """Follow the size of text and light or dark."""
        super().changeEvent(event)
        if event.type() in (QEvent.Type.FontChange, QEvent.Type.ApplicationFontChange):
            self._take_font()
            self._set_ranges()
        self.viewport().update()

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Move the current line, or sideways."""
        target = self._target(event)
        side = self.horizontalScrollBar()
        if target is not None:
            self._go(target, bool(event.modifiers() & Qt.KeyboardModifier.ShiftModifier))
        elif event.key() in (Qt.Key.Key_Left, Qt.Key.Key_Right):
            side.setValue(side.value() + (8 if event.key() == Qt.Key.Key_Right else -8))
        else:
            event.ignore()

    def _target(self, event: QKeyEvent) -> int | None:
        """Return the line that a key goes to."""
        if self.source is None or not self.source.count:
            return None
        current = self.current or self.first
        page = max(1, self.rows - 1)
        targets = {
            Qt.Key.Key_Up: current - 1, Qt.Key.Key_Down: current + 1 if self.current else current,
            Qt.Key.Key_PageUp: current - page, Qt.Key.Key_PageDown: current + page,
            Qt.Key.Key_Home: 1, Qt.Key.Key_End: self.source.count,
        }  # fmt: skip
        target = targets.get(Qt.Key(event.key()))
        return None if target is None else min(max(target, 1), self.source.count)

    def mousePressEvent(self, event: QMouseEvent) -> None:
        """Make the line under the pointer the current one; with Shift choose up to it."""
        number = self.line_at(event.position().y())
        if number and event.button() == Qt.MouseButton.LeftButton:
            self._go(number, bool(event.modifiers() & Qt.KeyboardModifier.ShiftModifier), spare=0)

    def mouseMoveEvent(self, event: QMouseEvent) -> None:
        """Choose lines by dragging."""
        y = min(max(event.position().y(), 0.0), self.viewport().height() - 1.0)
        number = self.line_at(y)
        if number and number != self.current and event.buttons() & Qt.MouseButton.LeftButton:
            self._go(number, True, spare=0)

    def _go(self, number: int, further: bool, spare: int = 1) -> None:
        """Make a line the current one; what is clicked (`spare` 0) does not move away under the pointer."""
        anchor = self._anchor or number
        self.set_current(number, spare)
        if further:
            self._anchor = anchor
        self.current_changed.emit(number)

    def viewportEvent(self, event: QEvent) -> bool:
        """Ask for the meaning of the word under the resting pointer."""
        if event.type() == QEvent.Type.ToolTip and isinstance(event, QHelpEvent):
            number = self.line_at(event.pos().y())
            place = (
                self._place_at(event.pos().x(), self.source.line(number)) if self.source and number else -1
            )
            if place >= 0:
                self.word_wanted.emit(number, place, event.globalPos())
            else:
                QToolTip.hideText()
            return True
        return super().viewportEvent(event)


def _spans(line: Line, dark: bool) -> list[tuple[int, int, QColor]]:
    """Part a line into pieces of one colour; a word's letter stands out from its number."""
    spans: list[tuple[int, int, QColor]] = []
    for word in line.words:
        spans += _word_spans(word, dark)
    if len(line.text) > (spans[-1][1] if spans else 0) and line.text.endswith("…"):
        spans.append((len(line.text) - 1, len(line.text), tone("faint", dark)))
    return spans


def _word_spans(word: Word, dark: bool) -> list[tuple[int, int, QColor]]:
    colour = tone_of(word.kind, dark)
    if word.kind != "word":
        return [(word.start, word.end, colour)]
    return [(word.start, word.start + 1, tone("letter", dark)), (word.start + 1, word.end, colour)]
