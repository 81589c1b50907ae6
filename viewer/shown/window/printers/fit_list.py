"""The list of the Printers pane: a row for each printer, and how it is painted."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any, Final, NamedTuple

from PySide6.QtCore import QAbstractListModel, QModelIndex, QPersistentModelIndex, QRect, QSize, Qt
from PySide6.QtGui import QFont, QFontMetrics, QPainter, QPalette
from PySide6.QtWidgets import QListView, QStyle, QStyledItemDelegate, QStyleOptionViewItem, QWidget

from viewer.shown.window.printers.fit_lines import FitLine
from viewer.shown.window.style.icons import icon
from viewer.shown.window.style.inks import is_dark
from viewer.shown.window.style.scale import CAPTION, VALUE, sized_font, space
from viewer.shown.window.style.signs import SIGNS
from viewer.shown.window.style.tones import tone

Index = QModelIndex | QPersistentModelIndex
LINE: Final = Qt.ItemDataRole.UserRole
_LEFT: Final = int(Qt.TextFlag.TextWordWrap | Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignTop)
_RIGHT: Final = int(Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignTop)


class FitRows(QAbstractListModel):
    """The printers that are shown."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.lines: tuple[FitLine, ...] = ()

    def show(self, lines: Sequence[FitLine]) -> None:
        """Show other printers."""
        self.beginResetModel()
        self.lines = tuple(lines)
        self.endResetModel()

    def rowCount(self, parent: Index = QModelIndex()) -> int:  # noqa: B008 - Qt's own signature
        """Return the number of printers."""
        return 0 if parent.isValid() else len(self.lines)

    def data(self, index: Index, role: int = Qt.ItemDataRole.DisplayRole) -> Any:
        """Return what a row holds."""
        line = self.lines[index.row()]
        if role == LINE:
            return line
        if role in (Qt.ItemDataRole.DisplayRole, Qt.ItemDataRole.AccessibleTextRole):
            return line.spoken
        return None


class _Text(NamedTuple):
    place: QRect
    text: str
    font: QFont
    colour: str
    """Of `colours.ui`; "": that of text."""
    flags: int


class FitPainter(QStyledItemDelegate):
    """Paints a row: sign, name and what keeps it on the left, time and cost on the right."""

    def __init__(self, view: QListView) -> None:
        super().__init__(view)
        self._view = view

    def sizeHint(self, option: QStyleOptionViewItem, index: Index) -> QSize:
        """Return the height that the texts need at the list's width."""
        width = self._width()
        bottom = max(text.place.bottom() for text in self._texts(index.data(LINE), width))
        return QSize(width, bottom + space(2))

    def _width(self) -> int:
        """Return the width of a row beside a scroll bar, also while there is none: heights must not follow it."""
        bar = self._view.style().pixelMetric(QStyle.PixelMetric.PM_ScrollBarExtent)
        return max(140, self._view.width() - bar - 2)

    def _texts(self, line: FitLine, width: int) -> list[_Text]:
        """Return the texts of a row with their places from its corner."""
        name, plain = sized_font(self._view, VALUE, strong=True), self._view.font()
        small = sized_font(self._view, CAPTION)
        right = [(line.time, sized_font(self._view, VALUE, strong=True), "")]
        right += [(text, small, "faint") for text in line.amounts]
        right += [("chosen", small, "accent")] if line.chosen else []
        aside = max(QFontMetrics(font).horizontalAdvance(text) for text, font, _ in right) + space(1)
        start, top = self._sign_side() + space(4), space(2)
        room = width - start - space(2)
        texts: list[_Text] = []
        below = top
        for text, font, colour in right:
            high = QFontMetrics(font).height()
            texts.append(
                _Text(QRect(width - space(2) - aside, below, aside, high), text, font, colour, _RIGHT)
            )
            below += high
        above = top
        for text, font, colour in (
            (line.name, name, ""),
            (line.fits, plain, ""),
            (line.found, small, "faint"),
        ):
            beside = room - aside - space(2)
            if above < below and QFontMetrics(font).horizontalAdvance(text) > beside:
                above = below  # in full width below time and cost, rather than in a narrow column
            wide = beside if above < below else room
            box = QFontMetrics(font).boundingRect(QRect(start, above, wide, 10_000), _LEFT, text)
            texts.append(_Text(QRect(start, above, wide, box.height()), text, font, colour, _LEFT))
            above += box.height() + 1
        return texts

    def _sign_side(self) -> int:
        return round(QFontMetrics(sized_font(self._view, VALUE, strong=True)).ascent() * 1.2)

    def paint(self, painter: QPainter, option: QStyleOptionViewItem, index: Index) -> None:
        """Paint a row."""
        line: FitLine = index.data(LINE)
        dark, corner = is_dark(self._view.palette()), option.rect.topLeft()
        painter.save()
        if option.state & QStyle.StateFlag.State_Selected:
            painter.fillRect(option.rect, tone("current", dark))
        if line.chosen:
            painter.fillRect(QRect(corner, QSize(3, option.rect.height())), tone("accent", dark))
        name, colour = SIGNS[line.word]
        side = self._sign_side()
        sign = QRect(corner.x() + space(2), corner.y() + space(2) + 1, side, side)
        icon(name, dark, colour).paint(painter, sign)
        for text in self._texts(line, self._width()):
            painter.setFont(text.font)
            plain = option.palette.color(QPalette.ColorRole.Text)
            painter.setPen(tone(text.colour, dark) if text.colour else plain)
            painter.drawText(text.place.translated(corner), text.flags, text.text)
        bottom = QRect(corner.x(), option.rect.bottom(), option.rect.width(), 1)
        painter.fillRect(bottom, tone("grid", dark))
        painter.restore()
