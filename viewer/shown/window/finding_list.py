"""The list of the Findings pane: findings by severity, then what was not checked, and how a row is painted."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Final

from PySide6.QtCore import QAbstractListModel, QModelIndex, QPersistentModelIndex, QRect, QSize, Qt
from PySide6.QtGui import QFont, QFontMetrics, QPainter, QPalette
from PySide6.QtWidgets import QListView, QStyle, QStyledItemDelegate, QStyleOptionViewItem, QWidget

from viewer.checks.finding import Finding, NotChecked, Severity
from viewer.shown.finding_text import readable
from viewer.shown.window.finding_page import SEVERITY_COLOURS, where_text
from viewer.shown.window.icons import icon
from viewer.shown.window.tones import is_dark, tone

Index = QModelIndex | QPersistentModelIndex
ENTRY: Final = Qt.ItemDataRole.UserRole
_WRAP: Final = int(Qt.TextFlag.TextWordWrap | Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignTop)


@dataclass(frozen=True, slots=True)
class Entry:
    """One row: a finding, something not checked, or the heading of the second section."""

    about: Finding | NotChecked | None
    """None: a heading."""
    title: str
    """Of the check, a few words; or the heading."""

    @property
    def severity(self) -> Severity | None:
        """Of a finding, else None."""
        return self.about.severity if isinstance(self.about, Finding) else None

    @property
    def sentence(self) -> str:
        """What was found, or why it was not looked for."""
        return readable(self.about.sentence) if self.about is not None else ""

    @property
    def where(self) -> str:
        """Layer, place and line."""
        return where_text(self.about) if isinstance(self.about, Finding) else ""

    @property
    def spoken(self) -> str:
        """All of it as one text: for screen readers and for the filter."""
        first = self.severity.value if self.severity else "not checked" if self.about else ""
        slug = self.about.slug if self.about else ""
        return ". ".join(part for part in (first, self.title, self.sentence, self.where, slug) if part)


class Entries(QAbstractListModel):
    """The rows that are shown."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.entries: tuple[Entry, ...] = ()

    def show(self, entries: tuple[Entry, ...]) -> None:
        """Show other rows."""
        self.beginResetModel()
        self.entries = entries
        self.endResetModel()

    def rowCount(self, parent: Index = QModelIndex()) -> int:  # noqa: B008 - Qt's own signature
        """Give the number of rows."""
        return 0 if parent.isValid() else len(self.entries)

    def data(self, index: Index, role: int = Qt.ItemDataRole.DisplayRole) -> Any:
        """Give what a row holds."""
        entry = self.entries[index.row()]
        if role == ENTRY:
            return entry
        if role in (Qt.ItemDataRole.DisplayRole, Qt.ItemDataRole.AccessibleTextRole):
            return entry.spoken
        return None

    def flags(self, index: Index) -> Qt.ItemFlag:
        """Let all but headings be chosen."""
        if self.entries[index.row()].about is None:
            return Qt.ItemFlag.NoItemFlags
        return Qt.ItemFlag.ItemIsEnabled | Qt.ItemFlag.ItemIsSelectable


class EntryPainter(QStyledItemDelegate):
    """Paints a row: icon and word of the severity, the title, the sentence, where."""

    def __init__(self, view: QListView) -> None:
        super().__init__(view)
        self._view = view

    def sizeHint(self, option: QStyleOptionViewItem, index: Index) -> QSize:
        """Give the height that the texts need at the list's width."""
        width = self._width()
        entry: Entry = index.data(ENTRY)
        return QSize(width, self._lay_out(option, entry, QRect(0, 0, width, 10_000))[-1].bottom() + 8)

    def _width(self) -> int:
        """Give the width of a row beside a scroll bar, also while there is none.

        The bar comes and goes with the rows' heights, and these must not come and go with the bar.
        """
        bar = self._view.style().pixelMetric(QStyle.PixelMetric.PM_ScrollBarExtent)
        return max(120, self._view.width() - bar - 2)

    def _lay_out(self, option: QStyleOptionViewItem, entry: Entry, box: QRect) -> tuple[QRect, ...]:
        """Give the places of title, sentence and where."""
        left = 34 if entry.about is not None else 10
        room = box.adjusted(left, 7 if entry.about is not None else 14, -10, 0)
        bold = QFontMetrics(_bold(option.font))
        plain = option.fontMetrics
        title = bold.boundingRect(room, _WRAP, _title(entry))
        room.setTop(title.bottom() + 2)
        nothing = QSize(1, 0)
        sentence = QRect(room.topLeft(), nothing)
        if entry.sentence:
            sentence = plain.boundingRect(room, _WRAP, entry.sentence)
        room.setTop(sentence.bottom() + 2)
        where = QRect(room.topLeft(), nothing)
        if entry.where:
            where = plain.boundingRect(room, _WRAP, entry.where)
        return title, sentence, where

    def paint(self, painter: QPainter, option: QStyleOptionViewItem, index: Index) -> None:
        """Paint a row."""
        entry: Entry = index.data(ENTRY)
        dark = is_dark(self._view)
        painter.save()
        if option.state & QStyle.StateFlag.State_Selected:
            painter.fillRect(option.rect, tone("current", dark))
            painter.fillRect(
                QRect(option.rect.topLeft(), QSize(3, option.rect.height())), tone("accent", dark)
            )
        title, sentence, where = self._lay_out(
            option, entry, QRect(option.rect.topLeft(), QSize(self._width(), option.rect.height()))
        )
        if entry.severity is not None:
            colour = SEVERITY_COLOURS[entry.severity]
            drawn = icon(f"severity_{entry.severity.value}", dark, colour)
            drawn.paint(painter, QRect(option.rect.left() + 8, title.top() - 1, 20, 20))
        painter.setFont(_bold(option.font))
        named = SEVERITY_COLOURS[entry.severity] if entry.severity else "faint"
        painter.setPen(tone(named, dark))
        painter.drawText(title, _WRAP, _title(entry))
        painter.setFont(option.font)
        painter.setPen(option.palette.color(QPalette.ColorRole.Text))
        painter.drawText(sentence, _WRAP, entry.sentence)
        painter.setPen(tone("faint", dark))
        painter.drawText(where, _WRAP, entry.where)
        painter.restore()


def _title(entry: Entry) -> str:
    return f"{entry.severity.value}: {entry.title}" if entry.severity else entry.title


def _bold(font: QFont) -> QFont:
    bold = QFont(font)
    bold.setBold(True)
    return bold
