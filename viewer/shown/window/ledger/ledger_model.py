"""The table of the time ledger: causes with time and share."""

from __future__ import annotations

from typing import Any, Final

from PySide6.QtCore import (
    QAbstractTableModel,
    QModelIndex,
    QPersistentModelIndex,
    Qt,
)
from PySide6.QtWidgets import (
    QWidget,
)

from viewer.arrays import F64
from viewer.shown.cause_words import CAUSE_WORDS
from viewer.shown.numbers import duration_text, share_text
from viewer.shown.window.ledger.ledger_bar import cause_icon
from viewer.shown.window.style.inks import inks_of
from viewer.timing import CAUSES

Index = QModelIndex | QPersistentModelIndex


_HEADS: Final = ("cause", "program", "share", "layer", "share")


_NONE: Final = "–"


_SWATCH: Final = 14


class LedgerModel(QAbstractTableModel):
    """The causes that take time in the program, and the sum: name, time and share of program and layer."""

    def __init__(self, pane: QWidget) -> None:
        super().__init__(pane)
        self._pane = pane
        self._program: F64 | None = None
        self._layer: F64 | None = None
        self._causes: tuple[int, ...] = ()
        self._stacked = self._brief = False
        self._icons: dict[str, Any] = {}

    def show_program(self, seconds: F64) -> None:
        """Show the ledger of a program: (causes,)."""
        self.beginResetModel()
        self._program = seconds
        self._causes = tuple(k for k, s in enumerate(seconds.tolist()) if s > 0.0)
        self.endResetModel()

    def show_layer(self, seconds: F64 | None) -> None:
        """Show the ledger of a layer: (causes,), or none."""
        self._layer = seconds
        if self._causes:
            self.dataChanged.emit(self.index(0, 3), self.index(len(self._causes), 4))

    def set_look(self, *, stacked: bool, brief: bool, ratio: float) -> None:
        """Write shares below times or not, names in brief or not; draw the squares in the colours of now."""
        inks = inks_of(self._pane.palette())
        self._icons = {cause: cause_icon(cause, inks, _SWATCH, ratio) for cause in CAUSES}
        self._stacked, self._brief = stacked, brief
        self.layoutChanged.emit()

    def texts(self, column: int) -> list[str]:
        """Return the lines of text in a column of figures, its head among them."""
        cells = [_HEADS[column], *(self._figure(row, column) for row in range(self.rowCount()))]
        return [line for cell in cells for line in cell.split("\n")]

    def row_of(self, cause: str) -> int | None:
        """Return the row of a cause, None where it takes no time."""
        number = CAUSES.index(cause)
        return self._causes.index(number) if number in self._causes else None

    def rowCount(self, parent: Index = QModelIndex()) -> int:  # noqa: B008 - Qt's own default
        """Return the number of causes, and one for the sum."""
        return 0 if parent.isValid() or not self._causes else len(self._causes) + 1

    def columnCount(self, parent: Index = QModelIndex()) -> int:  # noqa: B008 - Qt's own default
        """Return the number of columns."""
        return 0 if parent.isValid() else len(_HEADS)

    def headerData(self, section: int, orientation: Qt.Orientation, role: int = 0) -> Any:
        """Name the columns."""
        if orientation != Qt.Orientation.Horizontal:
            return None
        if role == Qt.ItemDataRole.TextAlignmentRole:
            side = Qt.AlignmentFlag.AlignLeft if section == 0 else Qt.AlignmentFlag.AlignRight
            return side | Qt.AlignmentFlag.AlignVCenter
        return _HEADS[section] if role == Qt.ItemDataRole.DisplayRole else None

    def data(self, index: Index, role: int = int(Qt.ItemDataRole.DisplayRole)) -> Any:
        """Return name, time or share of a cause; the last row is the sum."""
        last = index.row() == len(self._causes)
        cause = None if last else CAUSES[self._causes[index.row()]]
        if role == Qt.ItemDataRole.DisplayRole:
            return self._name(cause) if index.column() == 0 else self._figure(index.row(), index.column())
        if role == Qt.ItemDataRole.TextAlignmentRole:
            side = Qt.AlignmentFlag.AlignLeft if index.column() == 0 else Qt.AlignmentFlag.AlignRight
            return side | Qt.AlignmentFlag.AlignVCenter
        if role == Qt.ItemDataRole.DecorationRole and index.column() == 0 and cause is not None:
            return self._icons.get(cause)
        if role == Qt.ItemDataRole.ToolTipRole and cause is not None:
            name, how = CAUSE_WORDS[cause]
            return f"{name}\n{how}"
        return None

    def _name(self, cause: str | None) -> str:
        if cause is None:
            return "in all"
        return cause if self._brief else CAUSE_WORDS[cause][0]

    def _figure(self, row: int, column: int) -> str:
        """Return a time or a share, or both where they are stacked; a dash where there is none."""
        booked = self._program if column < 3 else self._layer
        if booked is None:
            return _NONE
        total = float(booked.sum())
        seconds = total if row == len(self._causes) else float(booked[self._causes[row]])
        if seconds <= 0.0:
            return _NONE
        share, time = share_text(seconds / total), duration_text(seconds)
        if column in (2, 4):
            return share
        return f"{time}\n{share}" if self._stacked else time
