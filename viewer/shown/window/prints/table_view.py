"""`TableView`: a calm table of rows, and the delegate that draws an interval in a cell."""

from __future__ import annotations

from typing import Final

from PySide6.QtCore import QEvent, QModelIndex, QPersistentModelIndex, QPointF, QRectF, Qt, Signal
from PySide6.QtGui import QFontMetrics, QKeyEvent, QPainter
from PySide6.QtWidgets import (
    QAbstractItemView,
    QHeaderView,
    QStyle,
    QStyledItemDelegate,
    QStyleOptionViewItem,
    QTableView,
    QWidget,
)

from viewer.shown.window.prints.table_model import RANGE, RowT, TableModel
from viewer.shown.window.style.inks import inks_of

Index = QModelIndex | QPersistentModelIndex
_SIDE: Final = 6.0
PADDING: Final = 12
"""Between a cell's edge and its text, pixels; the style sheet has it too."""


class TableView(QTableView):
    """Chooses whole rows; Return, or a second click, opens one; Delete asks for it to go."""

    opened = Signal(int)
    """The row that a person wants to see or change."""
    unwanted = Signal(int)
    """The row that a person wants to delete."""

    def __init__(self, name: str, model: TableModel[RowT], parent: QWidget) -> None:
        super().__init__(parent)
        self.setAccessibleName(name)
        self.setModel(model)
        self.setSelectionBehavior(QAbstractItemView.SelectionBehavior.SelectRows)
        self.setSelectionMode(QAbstractItemView.SelectionMode.SingleSelection)
        self.setShowGrid(False)
        self.setAlternatingRowColors(True)
        self.setWordWrap(False)
        self.setTabKeyNavigation(False)
        self.setFrameShape(QTableView.Shape.NoFrame)
        self.setVerticalScrollMode(QAbstractItemView.ScrollMode.ScrollPerPixel)
        self.setHorizontalScrollMode(QAbstractItemView.ScrollMode.ScrollPerPixel)
        rows, head = self.verticalHeader(), self.horizontalHeader()
        rows.hide()
        rows.setSectionResizeMode(QHeaderView.ResizeMode.Fixed)  # else it would ask every row how high it is
        head.setHighlightSections(False)
        head.setStretchLastSection(True)
        self._headings = model.headings
        for column, heading in enumerate(model.headings):
            if heading.range_of is not None:
                self.setItemDelegateForColumn(column, IntervalDelegate(self))
        self.setProperty("padded", True)
        self._set_sizes()
        self.doubleClicked.connect(lambda index: self.opened.emit(index.row()))

    @property
    def row(self) -> int:
        """The chosen row, -1 for none."""
        rows = self.selectionModel().selectedRows()
        return rows[0].row() if rows else -1

    def choose(self, row: int) -> None:
        """Choose a row and bring it into view."""
        self.selectRow(row)
        self.scrollTo(self.model().index(row, 0))

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Open or delete the chosen row."""
        if event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter) and self.row >= 0:
            self.opened.emit(self.row)
        elif event.key() == Qt.Key.Key_Delete and self.row >= 0:
            self.unwanted.emit(self.row)
        else:
            super().keyPressEvent(event)

    def changeEvent(self, event: QEvent) -> None:
        """Follow the size of text."""
        super().changeEvent(event)
        if event.type() == QEvent.Type.FontChange and hasattr(self, "_headings"):
            self._set_sizes()

    def _set_sizes(self) -> None:
        """Give rows and columns the sizes that the text needs."""
        metrics = self.fontMetrics()
        digit = metrics.horizontalAdvance("0")
        self.verticalHeader().setDefaultSectionSize(metrics.height() + 8)
        for column, heading in enumerate(self._headings):
            said = QFontMetrics(self.horizontalHeader().font()).horizontalAdvance(heading.title)
            text, title = digit * heading.letters + 2 * PADDING, said + 3 * PADDING  # beside an arrow
            self.setColumnWidth(column, max(text, title))


class IntervalDelegate(QStyledItemDelegate):
    """Draws an interval from 0 to 1 as a bar with a mark at its value.

    ::

        |        [======|====]   |
        0       low   value high 1
    """

    def paint(self, painter: QPainter, option: QStyleOptionViewItem, index: Index) -> None:
        """Draw one cell."""
        view = option.widget
        assert isinstance(view, QWidget)
        inks = inks_of(view.palette())
        chosen = bool(option.state & QStyle.StateFlag.State_Selected)
        if chosen:
            painter.fillRect(option.rect, option.palette.highlight())
        low, value, high = index.data(RANGE)
        room = QRectF(option.rect).adjusted(_SIDE, 0.0, -_SIDE, 0.0)
        middle, thick = room.center().y(), 0.36 * room.height()
        strong = option.palette.highlightedText().color() if chosen else inks.accent
        painter.setPen(inks.grid)
        painter.drawLine(QPointF(room.left(), middle), QPointF(room.right(), middle))
        bar = QRectF(
            room.left() + low * room.width(), middle - 0.5 * thick, (high - low) * room.width(), thick
        )
        painter.fillRect(bar, inks.on_accent if chosen else inks.grid.darker(115))
        mark = room.left() + value * (room.width() - 3.0)
        painter.fillRect(QRectF(mark, middle - thick, 3.0, 2.0 * thick), strong)
