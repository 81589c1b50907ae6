"""`TableModel`: rows that are written when they are seen, not before."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any, Final, Generic, TypeVar

from PySide6.QtCore import QAbstractTableModel, QModelIndex, QObject, QPersistentModelIndex, Qt

from viewer.shown.window.widgets.columns import alignment

RANGE: Final = int(Qt.ItemDataRole.UserRole)
"""Role of what a delegate draws beside the text: (low, value, high), each from 0 to 1."""

Index = QModelIndex | QPersistentModelIndex
RowT = TypeVar("RowT")


@dataclass(frozen=True)  # with slots, `Heading[Row](...)` could not be written
class Heading(Generic[RowT]):
    """One column of a table."""

    title: str
    text: Callable[[RowT], str]
    letters: int
    """How wide it is at first."""
    is_number: bool = False
    range_of: Callable[[RowT], tuple[float, float, float]] | None = None


class TableModel(QAbstractTableModel, Generic[RowT]):
    """Rows of one kind under some headings."""

    def __init__(self, headings: Sequence[Heading[RowT]], parent: QObject) -> None:
        super().__init__(parent)
        self.headings = tuple(headings)
        self.rows: Sequence[RowT] = ()

    def show_rows(self, rows: Sequence[RowT]) -> None:
        """Show other rows."""
        self.beginResetModel()
        self.rows = rows
        self.endResetModel()

    def rowCount(self, parent: Index = QModelIndex()) -> int:  # noqa: B008 - Qt's own default
        """Return the number of rows."""
        return 0 if parent.isValid() else len(self.rows)

    def columnCount(self, parent: Index = QModelIndex()) -> int:  # noqa: B008 - Qt's own default
        """Return the number of columns."""
        return 0 if parent.isValid() else len(self.headings)

    def data(self, index: Index, role: int = int(Qt.ItemDataRole.DisplayRole)) -> Any:
        """Return the text of a cell, how it stands, or what is drawn beside it."""
        heading = self.headings[index.column()]
        if role in (Qt.ItemDataRole.DisplayRole, Qt.ItemDataRole.ToolTipRole):
            return heading.text(self.rows[index.row()])
        if role == Qt.ItemDataRole.TextAlignmentRole:
            return alignment(heading.is_number)
        if role == RANGE and heading.range_of is not None:
            return heading.range_of(self.rows[index.row()])
        return None

    def headerData(
        self, section: int, orientation: Qt.Orientation, role: int = int(Qt.ItemDataRole.DisplayRole)
    ) -> Any:
        """Return the title of a column."""
        if orientation == Qt.Orientation.Horizontal:
            if role == Qt.ItemDataRole.DisplayRole:
                return self.headings[section].title
            if role == Qt.ItemDataRole.TextAlignmentRole:
                return alignment(self.headings[section].is_number)
        return None
