"""The table of the inbox: rows that are written when they are seen, with their small pictures."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime
from typing import Any, Final

from PySide6.QtCore import (
    QAbstractTableModel,
    QModelIndex,
    QObject,
    QPersistentModelIndex,
    QRect,
    QRectF,
    QSize,
    Qt,
    Signal,
)
from PySide6.QtGui import QFontMetrics, QKeyEvent, QPainter, QPalette
from PySide6.QtWidgets import (
    QAbstractItemView,
    QHeaderView,
    QStyle,
    QStyledItemDelegate,
    QStyleOptionViewItem,
    QTableView,
    QWidget,
)

from viewer.shown.window.inbox.inbox_rows import COLUMNS, PART, PROGRAM, VERDICT, InboxRow, spoken
from viewer.shown.window.inbox.small_pictures import SmallPictures
from viewer.shown.window.style.icons import icon
from viewer.shown.window.style.inks import inks_of
from viewer.shown.window.style.scale import CAPTION, TEXT, sized_font, space
from viewer.shown.window.style.tones import is_dark

Index = QModelIndex | QPersistentModelIndex
SIGNS: Final = {
    "not read": ("file", "stop"),
    "no": ("severity_stop", "stop"),
    "look": ("severity_look", "warn"),
    "not known": ("answer_not_known", "faint"),
    "yes": ("answer_yes", "good"),
}
"""Icon and colour (`colours.ui`) of each word."""
PICTURE_SHAPE: Final = 4.0 / 3.0
_NAME: Final = Qt.ItemDataRole.UserRole
"""Role of the whole row."""


class InboxModel(QAbstractTableModel):
    """Rows as they are arranged."""

    def __init__(self, parent: QObject) -> None:
        super().__init__(parent)
        self.rows: Sequence[InboxRow] = ()
        self.dark = False
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
        if role == Qt.ItemDataRole.ToolTipRole:
            return row.path if place in (PART, PROGRAM) else COLUMNS[place].text(row, self.now)
        if role == Qt.ItemDataRole.AccessibleTextRole:
            return spoken(row, self.now) if place in (PART, PROGRAM) else COLUMNS[place].text(row, self.now)
        if role == Qt.ItemDataRole.DecorationRole and place == VERDICT:
            name, colour = SIGNS[row.word]
            return icon(name, self.dark, colour)
        if role == Qt.ItemDataRole.TextAlignmentRole:
            return _alignment(COLUMNS[place].is_number)
        if role == _NAME:
            return row
        return None

    def headerData(
        self, section: int, orientation: Qt.Orientation, role: int = int(Qt.ItemDataRole.DisplayRole)
    ) -> Any:
        """Return the title of a column."""
        if orientation == Qt.Orientation.Horizontal:
            if role == Qt.ItemDataRole.DisplayRole:
                return COLUMNS[section].title
            if role == Qt.ItemDataRole.TextAlignmentRole:
                return _alignment(COLUMNS[section].is_number)
        return None


def _alignment(is_number: bool) -> int:
    side = Qt.AlignmentFlag.AlignRight if is_number else Qt.AlignmentFlag.AlignLeft
    return (side | Qt.AlignmentFlag.AlignVCenter).value


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
        self.setWordWrap(True)
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
        self.setItemDelegateForColumn(PART, PictureDelegate(pictures, self))
        self.setItemDelegateForColumn(PROGRAM, NameDelegate(self))
        self.doubleClicked.connect(lambda index: self.opened.emit(model.rows[index.row()].path))
        self.fit_text()

    @property
    def chosen(self) -> InboxRow | None:
        """The chosen row."""
        chosen = self.selectionModel().selectedRows()
        return self.rows.rows[chosen[0].row()] if chosen else None

    def choose(self, row: int) -> None:
        """Choose a row, without moving what is seen."""
        self.selectionModel().setCurrentIndex(
            self.model().index(row, PROGRAM),
            self.selectionModel().SelectionFlag.ClearAndSelect | self.selectionModel().SelectionFlag.Rows,
        )

    def fit_text(self) -> None:
        """Give rows and columns room for the text at its size."""
        line = self.fontMetrics().lineSpacing()
        self.verticalHeader().setDefaultSectionSize(2 * line + space(4))
        digit = self.fontMetrics().horizontalAdvance("0")
        for place, column in enumerate(COLUMNS):
            self.setColumnWidth(place, digit * column.letters + space(3))
        self.setColumnWidth(PART, round(PICTURE_SHAPE * (2 * line + space(2))) + space(4))
        self.horizontalHeader().setSectionResizeMode(3, QHeaderView.ResizeMode.Stretch)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Open the chosen row."""
        if event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter) and (row := self.chosen) is not None:
            self.opened.emit(row.path)
        else:
            super().keyPressEvent(event)


class PictureDelegate(QStyledItemDelegate):
    """Draws the small picture of a program in a frame."""

    def __init__(self, pictures: SmallPictures, parent: QWidget) -> None:
        super().__init__(parent)
        self._pictures = pictures

    def paint(self, painter: QPainter, option: QStyleOptionViewItem, index: Index) -> None:
        """Draw one cell."""
        super().paint(painter, option, index)  # the ground
        row: InboxRow = index.data(_NAME)
        view = option.widget
        assert isinstance(view, QWidget)
        picture = None if row.content is None else self._pictures.picture(row.content)
        if picture is None or picture.isNull():
            return
        high = option.rect.height() - space(2)
        frame = QRectF(
            option.rect.left() + space(2), option.rect.top() + space(1), high * PICTURE_SHAPE, high
        )
        painter.save()
        painter.setRenderHint(QPainter.RenderHint.SmoothPixmapTransform)
        painter.drawPixmap(frame, picture, QRectF(picture.rect()))
        painter.setPen(inks_of(view.palette()).grid)
        painter.drawRect(frame)
        painter.restore()


class NameDelegate(QStyledItemDelegate):
    """Draws a program's name, and its folder below in smaller print; both are cut in their middle."""

    def paint(self, painter: QPainter, option: QStyleOptionViewItem, index: Index) -> None:
        """Draw one cell."""
        view = option.widget
        assert isinstance(view, QWidget)
        row: InboxRow = index.data(_NAME)
        self.initStyleOption(option, index)
        option.text = ""
        view.style().drawControl(QStyle.ControlElement.CE_ItemViewItem, option, painter, view)
        chosen = bool(option.state & QStyle.StateFlag.State_Selected)
        text = option.palette.color(QPalette.ColorRole.HighlightedText if chosen else QPalette.ColorRole.Text)
        faint = text if chosen else inks_of(view.palette()).faint
        room = QRect(option.rect).adjusted(space(1), 0, -space(1), 0)
        fonts = (sized_font(view, TEXT), sized_font(view, CAPTION))
        heights = [QFontMetrics(font).height() for font in fonts]
        top = room.top() + (room.height() - sum(heights)) // 2
        painter.save()
        for font, high, colour, said in zip(
            fonts, heights, (text, faint), (row.name, row.folder), strict=True
        ):
            cut = QFontMetrics(font).elidedText(said, Qt.TextElideMode.ElideMiddle, room.width())
            painter.setFont(font)
            painter.setPen(colour)
            painter.drawText(QRect(room.left(), top, room.width(), high), Qt.AlignmentFlag.AlignLeft, cut)
            top += high
        painter.restore()

    def sizeHint(self, option: QStyleOptionViewItem, _index: Index) -> QSize:
        """Return room for two lines."""
        return QSize(200, 2 * QFontMetrics(option.font).height())


def follow_look(table: InboxTable) -> None:
    """Draw the shapes for a light or dark ground, whichever the table has by now."""
    table.rows.dark = is_dark(table)
    table.viewport().update()
