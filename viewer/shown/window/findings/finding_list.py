"""The list of the Findings pane: findings by severity, then what was not checked, and how a row is painted."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Final

from PySide6.QtCore import QAbstractListModel, QModelIndex, QPersistentModelIndex, QRect, QSize, Qt
from PySide6.QtGui import QFont, QFontMetrics, QPainter, QPalette
from PySide6.QtWidgets import QListView, QStyle, QStyledItemDelegate, QStyleOptionViewItem, QWidget

from viewer.checks.finding import Finding, NotChecked, Passed, Severity
from viewer.shown.finding_text import readable
from viewer.shown.window.findings.finding_page import SEVERITY_COLOURS, where_text
from viewer.shown.window.style.icons import icon
from viewer.shown.window.style.inks import is_dark
from viewer.shown.window.style.scale import CAPTION, TEXT, VALUE, sized_font
from viewer.shown.window.style.tones import tone

Index = QModelIndex | QPersistentModelIndex
ENTRY: Final = Qt.ItemDataRole.UserRole
_WRAP: Final = int(Qt.TextFlag.TextWordWrap | Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignTop)


@dataclass(frozen=True, slots=True)
class FindingEntry:
    """One row: a finding, something not checked, or the heading of the second section."""

    about: Finding | NotChecked | Passed | None
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
        first = "passed" if isinstance(self.about, Passed) else first
        slug = self.about.slug if self.about else ""
        return ". ".join(part for part in (first, self.title, self.sentence, self.where, slug) if part)


class Entries(QAbstractListModel):
    """The rows that are shown."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.entries: tuple[FindingEntry, ...] = ()

    def show(self, entries: tuple[FindingEntry, ...]) -> None:
        """Show other rows."""
        self.beginResetModel()
        self.entries = entries
        self.endResetModel()

    def rowCount(self, parent: Index = QModelIndex()) -> int:  # noqa: B008 - Qt's own signature
        """Return the number of rows."""
        return 0 if parent.isValid() else len(self.entries)

    def data(self, index: Index, role: int = Qt.ItemDataRole.DisplayRole) -> Any:
        """Return what a row holds."""
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


Laid = tuple[tuple[QRect, str], tuple[QRect, str], tuple[QRect, str]]
"""Title, sentence and where of a row, and their places from the row's corner."""


class EntryPainter(QStyledItemDelegate):
    """Paints a row: icon and word of the severity, the title, the sentence, where."""

    def __init__(self, view: QListView) -> None:
        super().__init__(view)
        self._view = view
        self._laid: dict[FindingEntry, Laid] = {}
        self._laid_for: tuple[int, QFont] | None = None
        view.model().modelReset.connect(self._forget)

    def sizeHint(self, option: QStyleOptionViewItem, index: Index) -> QSize:
        """Return the height that the texts need at the list's width."""
        width = self._width()
        return QSize(width, self._lay_out(option, index.data(ENTRY), width)[-1][0].bottom() + 8)

    def _width(self) -> int:
        """Return the width of a row beside a scroll bar, also while there is none.

        The bar comes and goes with the rows' heights, and these must not come and go with the bar.
        """
        bar = self._view.style().pixelMetric(QStyle.PixelMetric.PM_ScrollBarExtent)
        return max(120, self._view.width() - bar - 2)

    def _forget(self) -> None:
        self._laid = {}

    def _lay_out(self, option: QStyleOptionViewItem, entry: FindingEntry, width: int) -> Laid:
        """Return the places of a row's texts, kept for as long as rows, width and font are the same."""
        if (width, option.font) != self._laid_for:
            self._laid, self._laid_for = {}, (width, QFont(option.font))
        laid = self._laid.get(entry)
        if laid is None:
            laid = self._laid[entry] = _laid_out(self._view, entry, width)
        return laid

    def paint(self, painter: QPainter, option: QStyleOptionViewItem, index: Index) -> None:
        """Paint a row."""
        entry: FindingEntry = index.data(ENTRY)
        dark = is_dark(self._view.palette())
        painter.save()
        if option.state & QStyle.StateFlag.State_Selected:
            painter.fillRect(option.rect, tone("current", dark))
            painter.fillRect(
                QRect(option.rect.topLeft(), QSize(3, option.rect.height())), tone("accent", dark)
            )
        corner = option.rect.topLeft()
        title, sentence, where = (
            (place.translated(corner), text) for place, text in self._lay_out(option, entry, self._width())
        )
        if entry.severity is not None:
            colour = SEVERITY_COLOURS[entry.severity]
            drawn = icon(f"severity_{entry.severity.value}", dark, colour)
            drawn.paint(painter, QRect(option.rect.left() + 8, title[0].top() - 1, 20, 20))
        elif isinstance(entry.about, Passed):
            middle = QRect(option.rect.left() + 10, sentence[0].top(), 16, 16)
            icon("answer_yes", dark, "good").paint(painter, middle)
        painter.setFont(_title_font(self._view, entry))
        named = SEVERITY_COLOURS[entry.severity] if entry.severity else "faint"
        painter.setPen(tone(named, dark))
        painter.drawText(title[0], _WRAP, title[1])
        painter.setFont(option.font)
        painter.setPen(option.palette.color(QPalette.ColorRole.Text))
        painter.drawText(sentence[0], _WRAP, sentence[1])
        painter.setFont(sized_font(self._view, CAPTION))
        painter.setPen(tone("faint", dark))
        painter.drawText(where[0], _WRAP, where[1])
        painter.restore()


def _laid_out(view: QListView, entry: FindingEntry, width: int) -> Laid:
    left, top = (34, 7) if entry.about is not None else (10, 14)
    if isinstance(entry.about, Passed):
        top = 3
    room = QRect(0, 0, width, 10_000).adjusted(left, top, -10, 0)

    def below(text: str, metrics: QFontMetrics) -> tuple[QRect, str]:
        place = metrics.boundingRect(room, _WRAP, text) if text else QRect(room.topLeft(), QSize(1, 0))
        room.setTop(place.bottom() + 2)
        return place, text

    title = below(_title(entry), QFontMetrics(_title_font(view, entry)))
    sentence = below(entry.sentence, QFontMetrics(view.font()))
    return title, sentence, below(entry.where, QFontMetrics(sized_font(view, CAPTION)))


def _title(entry: FindingEntry) -> str:
    return f"{entry.severity.value}: {entry.title}" if entry.severity else entry.title


def _title_font(view: QListView, entry: FindingEntry) -> QFont:
    """Return the font of a title; a heading is larger."""
    return sized_font(view, VALUE if entry.about is None else TEXT, strong=True)
