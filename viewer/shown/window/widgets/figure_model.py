"""The figures of one part (program, layer or bead) as a list that a view can show: headings and rows."""

from __future__ import annotations

from itertools import groupby
from typing import Any, Final

from PySide6.QtCore import QAbstractListModel, QModelIndex, QObject, QPersistentModelIndex, Qt

from viewer.shown.rows import Row

ENTRY: Final = int(Qt.ItemDataRole.UserRole)
"""Role under which the delegate finds a `Row`, or the text of a heading."""

Index = QModelIndex | QPersistentModelIndex


class StatsModel(QAbstractListModel):
    """Headings of groups, each with its figures below; a row's tooltip says how it is computed."""

    def __init__(self, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._entries: list[Row | str] = []

    def show(self, rows: tuple[Row, ...]) -> None:
        """Show other figures; the view keeps its place and selection."""
        entries: list[Row | str] = []
        for group, members in groupby(rows, key=lambda row: row.group):
            entries += [group, *members]
        self._resize(len(entries))
        self._entries = entries
        if entries:
            self.dataChanged.emit(self.index(0), self.index(len(entries) - 1))

    def _resize(self, count: int) -> None:
        """Change the number of entries; their texts follow."""
        have, nowhere = len(self._entries), QModelIndex()
        if count > have:
            self.beginInsertRows(nowhere, have, count - 1)
            self._entries += [""] * (count - have)
            self.endInsertRows()
        elif count < have:
            self.beginRemoveRows(nowhere, count, have - 1)
            del self._entries[count:]
            self.endRemoveRows()

    def entry(self, index: Index) -> Row | str | None:
        """Return the row or heading at an index."""
        return self._entries[index.row()] if index.isValid() else None

    def rows(self) -> list[Row]:
        """Return all figures on show."""
        return [entry for entry in self._entries if isinstance(entry, Row)]

    def rows_at(self, index: Index) -> list[Row]:
        """Return the figure at an index; of a heading, all those below it."""
        entry = self.entry(index)
        if isinstance(entry, Row):
            return [entry]
        return [row for row in self.rows() if row.group == entry]

    def rowCount(self, parent: Index = QModelIndex()) -> int:  # noqa: B008 - Qt's own default
        """Return the number of headings and figures."""
        return 0 if parent.isValid() else len(self._entries)

    def data(self, index: Index, role: int = int(Qt.ItemDataRole.DisplayRole)) -> Any:
        """Return text, explanation, or the entry itself."""
        entry = self.entry(index)
        if entry is None:
            return None
        if role == ENTRY:
            return entry
        if role in (Qt.ItemDataRole.DisplayRole, Qt.ItemDataRole.AccessibleTextRole):
            return entry if isinstance(entry, str) else f"{entry.name}: {entry.text}"
        if role == Qt.ItemDataRole.ToolTipRole and isinstance(entry, Row):
            return f"{entry.name}: {entry.text}\n{entry.how}"
        return None

    def flags(self, index: Index) -> Qt.ItemFlag:
        """Let figures be selected; headings too, so that a whole group can be copied."""
        del index
        return Qt.ItemFlag.ItemIsEnabled | Qt.ItemFlag.ItemIsSelectable | Qt.ItemFlag.ItemNeverHasChildren
