"""The table of the inbox: rows that are written when they are seen, with their small pictures."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any, Final

from PySide6.QtCore import (
    QAbstractTableModel,
    QModelIndex,
    QObject,
    QPersistentModelIndex,
    QRect,
    QRectF,
    Qt,
    Signal,
)
from PySide6.QtGui import QFontMetrics, QKeyEvent, QPainter, QPalette, QResizeEvent
from PySide6.QtWidgets import (
    QAbstractItemView,
    QHeaderView,
    QStyle,
    QStyledItemDelegate,
    QStyleOptionViewItem,
    QTableView,
    QWidget,
)

from viewer.shown.pictures.small_picture import PICTURE_SHAPE
from viewer.shown.survey.text import MEANS
from viewer.shown.window.inbox.inbox_rows import COLUMNS, DECIDES, PART, PROGRAM, VERDICT, InboxRow, spoken
from viewer.shown.window.inbox.small_pictures import SmallPictures
from viewer.shown.window.style.icons import icon
from viewer.shown.window.style.inks import inks_of, is_dark
from viewer.shown.window.style.scale import CAPTION, TEXT, sized_font, space
from viewer.shown.window.style.signs import SIGNS
from viewer.shown.window.widgets.columns import alignment

Index = QModelIndex | QPersistentModelIndex
MIN_LETTERS: Final = 34
"""What decides is never narrower; below that the table scrolls sideways."""
INDENT: Final = "\N{EN SPACE}"
"""Beside titles, so that they stand above the texts of their cells."""
DIMMED: Final = 0.8
"""Opacity of pictures, which are drawn on a light ground, on a dark one."""
ROW: Final = Qt.ItemDataRole.UserRole
"""Role of the whole row."""


class InboxModel(QAbstractTableModel):
    """Rows as they are arranged."""

    def __init__(self, parent: QObject) -> None:
        super().__init__(parent)
        self.rows: Sequence[InboxRow] = ()
        self.now = datetime.now()
        """The moment at which programs would begin."""

    def show_rows(self, rows: Sequence[InboxRow], now: datetime) -> None:
        """Show other rows."""
        self.beginResetModel()
        self.rows, self.now = rows, now
        self.endResetModel()

    def rowCount(self, parent: Index = QModelIndex()) -> int:  # noqa: B008 - Qt's own default
        """Return the number of rows."""
        return 0 if parent.isValid() else len(self.rows)

    def columnCount(self, parent: Index = QModelIndex()) -> int:  # noqa: B008 - Qt's own default
        """Return the number of columns."""
        return 0 if parent.isValid() else len(COLUMNS)

    def data(self, index: Index, role: int = int(Qt.ItemDataRole.DisplayRole)) -> Any:
        """Return the text of a cell, its shape, how it stands, or all of its row."""
        row, place = self.rows[index.row()], index.column()
        if role == Qt.ItemDataRole.DisplayRole:
            return COLUMNS[place].text(row, self.now)
        if role == Qt.ItemDataRole.ToolTipRole and place != VERDICT:
            return row.path if place in (PART, PROGRAM) else COLUMNS[place].text(row, self.now)
        if role == Qt.ItemDataRole.AccessibleTextRole:
            return spoken(row, self.now) if place in (PART, PROGRAM) else COLUMNS[place].text(row, self.now)
        if role == Qt.ItemDataRole.ToolTipRole and place == VERDICT:
            return f"{row.word}: {MEANS[row.word]}"
        if role == Qt.ItemDataRole.TextAlignmentRole:
            return alignment(COLUMNS[place].is_number)
        if role == ROW:
            return row
        return None

    def headerData(
        self, section: int, orientation: Qt.Orientation, role: int = int(Qt.ItemDataRole.DisplayRole)
    ) -> Any:
        """Return the title of a column."""
        if orientation == Qt.Orientation.Horizontal:
            if role == Qt.ItemDataRole.AccessibleTextRole:
                return COLUMNS[section].title
            if role == Qt.ItemDataRole.DisplayRole:
                return f"{INDENT}{COLUMNS[section].title}{INDENT}"
            if role == Qt.ItemDataRole.TextAlignmentRole:
                return alignment(COLUMNS[section].is_number)
        return None


class InboxTable(QTableView):
    """Chooses whole rows; Return, or a second click, opens one."""

    opened = Signal(str)
    """The path of a program that a person wants to see."""

    def __init__(self, model: InboxModel, pictures: SmallPictures, parent: QWidget) -> None:
        super().__init__(parent)
        self.rows = model
        self.setAccessibleName("programs that came")
        self.setModel(model)
        self.setSelectionBehavior(QAbstractItemView.SelectionBehavior.SelectRows)
        self.setSelectionMode(QAbstractItemView.SelectionMode.SingleSelection)
        self.setShowGrid(False)
        self.setAlternatingRowColors(True)
        self.setTabKeyNavigation(False)
        self.setFrameShape(QTableView.Shape.NoFrame)
        self.setVerticalScrollMode(QAbstractItemView.ScrollMode.ScrollPerPixel)
        self.setHorizontalScrollMode(QAbstractItemView.ScrollMode.ScrollPerPixel)
        rows, head = self.verticalHeader(), self.horizontalHeader()
        rows.hide()
        rows.setSectionResizeMode(QHeaderView.ResizeMode.Fixed)  # else it would ask every row how high it is
        head.setHighlightSections(False)
        head.setSectionsClickable(True)
        head.setSortIndicatorShown(True)
        head.setAccessibleName("columns of the programs that came")
        self.setItemDelegate(RowDelegate(self))
        self.setItemDelegateForColumn(VERDICT, VerdictDelegate(self))
        self.setItemDelegateForColumn(PART, PictureDelegate(pictures, self))
        self.setItemDelegateForColumn(PROGRAM, NameDelegate(self))
        self.doubleClicked.connect(lambda index: self.opened.emit(model.rows[index.row()].path))
        self.fit_text()

    @property
    def chosen(self) -> InboxRow | None:
        """The chosen row."""
        chosen = self.selectionModel().selectedRows()
        return self.rows.rows[chosen[0].row()] if chosen else None

    def choose(self, row: int, scroll: int = 0) -> None:
        """Choose a row, and scroll to where the table was: programs that come must not carry a person away."""
        self.selectionModel().setCurrentIndex(
            self.model().index(row, PROGRAM),
            self.selectionModel().SelectionFlag.ClearAndSelect | self.selectionModel().SelectionFlag.Rows,
        )
        self.verticalScrollBar().setValue(scroll)

    def fit_text(self) -> None:
        """Give rows and columns room for the text at its size."""
        line = self.fontMetrics().lineSpacing()
        self.verticalHeader().setDefaultSectionSize(3 * line + space(2))
        digit = self.fontMetrics().horizontalAdvance("0")
        for place, column in enumerate(COLUMNS):
            self.setColumnWidth(place, digit * column.letters + space(4))
        self.setColumnWidth(PART, round(PICTURE_SHAPE * 3 * line) + space(4))
        self._fill_width()

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Let the sentences have the room that the other columns leave."""
        super().resizeEvent(event)
        self._fill_width()

    def _fill_width(self) -> None:
        """Give what decides the rest of the width, but enough to be read: a stretched column shrinks to nothing."""
        others = sum(self.columnWidth(place) for place in range(len(COLUMNS)) if place != DECIDES)
        least = self.fontMetrics().horizontalAdvance("0") * MIN_LETTERS + space(4)
        self.setColumnWidth(DECIDES, max(least, self.viewport().width() - others))

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Open the chosen row."""
        if event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter) and (row := self.chosen) is not None:
            self.opened.emit(row.path)
        else:
            super().keyPressEvent(event)


class RowDelegate(QStyledItemDelegate):
    """Draws the ground of a cell, then what stands in it with some room beside it."""

    def paint(self, painter: QPainter, option: QStyleOptionViewItem, index: Index) -> None:
        """Draw one cell."""
        view = option.widget
        assert isinstance(view, QWidget)
        self.initStyleOption(option, index)
        view.style().drawPrimitive(QStyle.PrimitiveElement.PE_PanelItemViewItem, option, painter, view)
        chosen = bool(option.state & QStyle.StateFlag.State_Selected)
        role = QPalette.ColorRole.HighlightedText if chosen else QPalette.ColorRole.Text
        room = QRect(option.rect).adjusted(space(2), space(1), -space(2), -space(1))
        painter.save()
        painter.setPen(option.palette.color(role))
        self.draw(painter, _Cell(view, index, room, chosen))
        painter.restore()

    def draw(self, painter: QPainter, cell: _Cell) -> None:
        """Draw the text: as many lines as there is room for; the last one is cut."""
        font = sized_font(cell.view, TEXT)
        painter.setFont(font)
        side = cell.index.data(Qt.ItemDataRole.TextAlignmentRole)
        lines = cut_lines(cell.index.data(), QFontMetrics(font), cell.room.width(), cell.room.height())
        painter.drawText(cell.room, side, "\n".join(lines))


class PictureDelegate(RowDelegate):
    """Draws the small picture of a program in a frame."""

    def __init__(self, pictures: SmallPictures, parent: QWidget) -> None:
        super().__init__(parent)
        self._pictures = pictures

    def draw(self, painter: QPainter, cell: _Cell) -> None:
        """Draw the picture, if it is there."""
        picture = None if cell.row.content is None else self._pictures.picture(cell.row.content)
        if picture is None or picture.isNull():
            return
        high = cell.room.height()
        frame = QRectF(cell.room.left(), cell.room.top(), high * PICTURE_SHAPE, high)
        painter.setRenderHint(QPainter.RenderHint.SmoothPixmapTransform)
        painter.setOpacity(DIMMED if is_dark(cell.view.palette()) else 1.0)
        painter.drawPixmap(frame, picture, QRectF(picture.rect()))
        painter.setOpacity(1.0)
        painter.setPen(inks_of(cell.view.palette()).grid)
        painter.drawRect(frame)


class NameDelegate(RowDelegate):
    """Draws a program's name, and its folder below in smaller print; both are cut in their middle."""

    def draw(self, painter: QPainter, cell: _Cell) -> None:
        """Draw the two lines."""
        fonts = (sized_font(cell.view, TEXT), sized_font(cell.view, CAPTION))
        heights = [QFontMetrics(font).height() for font in fonts]
        top = cell.room.top() + (cell.room.height() - sum(heights)) // 2
        for font, high, said in zip(fonts, heights, (cell.row.name, cell.row.folder), strict=True):
            cut = QFontMetrics(font).elidedText(said, Qt.TextElideMode.ElideMiddle, cell.room.width())
            painter.setFont(font)
            painter.drawText(QRect(cell.room.left(), top, cell.room.width(), high), 0, cut)
            if not cell.chosen:
                painter.setPen(inks_of(cell.view.palette()).faint)
            top += high


class VerdictDelegate(RowDelegate):
    """Draws the shape of a verdict and its word."""

    def draw(self, painter: QPainter, cell: _Cell) -> None:
        """Draw shape and word."""
        name, colour = SIGNS[cell.row.word]
        edge = QFontMetrics(sized_font(cell.view, TEXT)).height() + space(1)
        room = cell.room
        place = QRect(room.left(), room.center().y() - edge // 2, edge, edge)
        icon(name, is_dark(cell.view.palette()), "on accent" if cell.chosen else colour).paint(painter, place)
        beside = _Cell(cell.view, cell.index, room.adjusted(edge + space(2), 0, 0, 0), cell.chosen)
        super().draw(painter, beside)


@dataclass(frozen=True, slots=True)
class _Cell:
    """A cell to draw."""

    view: QWidget
    index: Index
    room: QRect
    chosen: bool

    @property
    def row(self) -> InboxRow:
        """The row that it belongs to."""
        row = self.index.data(ROW)
        assert isinstance(row, InboxRow)
        return row


def cut_lines(text: str, metrics: QFontMetrics, wide: int, high: int) -> list[str]:
    """Return a text in lines that fit a room; the last one is cut where there is more."""
    room = max(1, high // metrics.lineSpacing())
    lines: list[str] = []
    words = text.split(" ")  # a number stays with its unit: other kinds of space are not broken at
    while words:
        if len(lines) == room - 1:
            rest = " ".join(words)
            fits = metrics.horizontalAdvance(rest) <= wide
            lines.append(rest if fits else metrics.elidedText(rest, Qt.TextElideMode.ElideRight, wide))
            break
        line = words.pop(0)
        while words and metrics.horizontalAdvance(f"{line} {words[0]}") <= wide:
            line += f" {words.pop(0)}"
        fits = metrics.horizontalAdvance(line) <= wide
        lines.append(line if fits else metrics.elidedText(line, Qt.TextElideMode.ElideMiddle, wide))
    return lines
