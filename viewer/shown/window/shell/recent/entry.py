"""Entries of the start page: a program to open, with a small picture and its verdict where it was judged before."""

from __future__ import annotations

from pathlib import Path

from PySide6.QtCore import QEvent, QRect, QRectF, QSize, Qt
from PySide6.QtGui import QFontMetrics, QPainter, QPaintEvent, QPixmap
from PySide6.QtWidgets import QSizePolicy, QWidget

from viewer.shown.names import in_one_line
from viewer.shown.window.shell.recent.glance import PICTURE_PX, Glance
from viewer.shown.window.style.icons import icon
from viewer.shown.window.style.inks import is_dark
from viewer.shown.window.style.scale import CAPTION, TEXT, VALUE, sized_font, space
from viewer.shown.window.style.signs import SIGNS
from viewer.shown.window.style.tones import tone
from viewer.shown.window.widgets.painting import painting
from viewer.shown.window.widgets.return_button import ReturnButton

Line = tuple[str, float, str]
"""Text, its size in the type scale, and its colour ("" for that of text)."""


class Entry(ReturnButton):
    """A program to open: its name, and lines below in smaller print; too long a line is cut in its middle."""

    def __init__(self, name: str, below: str, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.name, self.below = in_one_line(name), in_one_line(below)
        self.setAccessibleName(name)
        self.setAccessibleDescription(below)
        self.setObjectName("entry")
        self.setFlat(True)
        self.setCursor(Qt.CursorShape.PointingHandCursor)
        self.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Fixed)
        self._fit()

    def lines(self) -> tuple[Line, ...]:
        """Return what stands here, from above."""
        return (self.name, TEXT, ""), (self.below, CAPTION, "faint")

    def changeEvent(self, event: QEvent) -> None:
        """Fit the lines again when the text's size changes."""
        super().changeEvent(event)
        if event.type() == QEvent.Type.FontChange:
            self._fit()

    def sizeHint(self) -> QSize:
        """Return the height that the lines need."""
        return QSize(200, self.needed_height())

    def needed_height(self) -> int:
        """Return the height that the lines need."""
        high = sum(QFontMetrics(sized_font(self, size)).height() for _, size, _ in self.lines())
        return high + len(self.lines()) + space(2)

    def _fit(self) -> None:
        self.setFixedHeight(self.needed_height())

    def paintEvent(self, event: QPaintEvent) -> None:
        """Paint ground and edge after the style sheet, then the lines."""
        super().paintEvent(event)
        with painting(self) as painter:
            self._paint(painter, self.rect().adjusted(space(3), space(1), -space(1), -space(1)))

    def _paint(self, painter: QPainter, room: QRect) -> None:
        dark, top = is_dark(self.window().palette()), room.top()
        for text, size, colour in self.lines():
            font = sized_font(self, size, strong=size >= VALUE)
            metrics = QFontMetrics(font)
            painter.setFont(font)
            painter.setPen(tone(colour, dark) if colour else self.palette().text().color())
            shown = metrics.elidedText(text, Qt.TextElideMode.ElideMiddle, room.width())
            painter.drawText(
                QRect(room.left(), top, room.width(), metrics.height()), Qt.AlignmentFlag.AlignLeft, shown
            )
            top += metrics.height() + 1


class GlanceEntry(Entry):
    """A program that was judged before: its picture, its worst answer as a sign and words, its time and cost."""

    def __init__(
        self, path: Path, glance: Glance, pictures: tuple[Path, Path], parent: QWidget | None = None
    ) -> None:
        self.glance = glance
        self._files = pictures
        self._drawn: dict[bool, QPixmap] = {}
        super().__init__(path.name, str(path.parent), parent)
        self.setAccessibleDescription(f"{glance.words}. {glance.amounts}. {path.parent}")

    def lines(self) -> tuple[Line, ...]:
        """Return name, answer, amounts and folder."""
        return (
            (self.name, TEXT, ""), (self.glance.words, CAPTION, ""), (self.glance.amounts, CAPTION, "faint"),
            (self.below, CAPTION, "faint"),
        )  # fmt: skip

    def picture(self, dark: bool) -> QPixmap:
        """Return the picture in one look, read when it is first shown; a null one where it is gone."""
        if dark not in self._drawn:
            self._drawn[dark] = QPixmap(str(self._files[dark]))
        return self._drawn[dark]

    def _paint(self, painter: QPainter, room: QRect) -> None:
        dark = is_dark(self.window().palette())
        high = room.height()
        wide = round(high * PICTURE_PX[0] / PICTURE_PX[1])
        picture = self.picture(dark)
        frame = QRectF(room.left(), room.top(), wide, high)
        if not picture.isNull():
            painter.setRenderHint(QPainter.RenderHint.SmoothPixmapTransform)
            painter.drawPixmap(frame, picture, QRectF(picture.rect()))
        painter.setPen(tone("grid", dark))
        painter.drawRect(frame)
        name, colour = SIGNS[self.glance.answer]
        text = room.adjusted(wide + space(3), 0, 0, 0)
        metrics = QFontMetrics(sized_font(self, TEXT))
        small = QFontMetrics(sized_font(self, CAPTION))
        sign = QRect(text.left(), text.top() + metrics.height() + 1, small.height(), small.height())
        icon(name, dark, colour).paint(painter, sign)
        self._lines_beside(painter, text, small.height() + space(1))

    def _lines_beside(self, painter: QPainter, room: QRect, indent: int) -> None:
        """Paint the lines; that of the answer stands behind its sign."""
        dark, top = is_dark(self.window().palette()), room.top()
        for k, (text, size, colour) in enumerate(self.lines()):
            left = room.left() + (indent if k == 1 else 0)
            metrics = QFontMetrics(sized_font(self, size))
            painter.setFont(sized_font(self, size))
            painter.setPen(tone(colour, dark) if colour else self.palette().text().color())
            wide = max(0, room.right() - left)
            way = Qt.TextElideMode.ElideRight if k in (1, 2) else Qt.TextElideMode.ElideMiddle
            shown = metrics.elidedText(text, way, wide)
            painter.drawText(QRect(left, top, wide, metrics.height()), Qt.AlignmentFlag.AlignLeft, shown)
            top += metrics.height() + 1
