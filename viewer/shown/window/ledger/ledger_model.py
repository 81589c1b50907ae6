"""The table of the time ledger: causes with time and share."""

from __future__ import annotations

from typing import Any, Final

import numpy as np
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
from viewer.shown.cause_words import CAUSE_WORDS, cause_title
from viewer.shown.numbers import duration_text, share_text
from viewer.shown.window.ledger.ledger_bar import cause_icon
from viewer.shown.window.ledger.ledger_parts import ledger_lines, line_seconds
from viewer.shown.window.style.inks import inks_of
from viewer.timing import CAUSES
from viewer.why.causes import Cause

Index = QModelIndex | QPersistentModelIndex


_HEADS: Final = ("cause", "program", "share", "layer", "share")


_NONE: Final = "–"


_SWATCH: Final = 14


_TO_LOOK: Final = "Click: colours, strip and costliest places show this cause alone."


class LedgerModel(QAbstractTableModel):
    """The causes that take time in the program, and the sum: name, time and share of program and layer."""

    def __init__(self, pane: QWidget) -> None:
        super().__init__(pane)
        self._pane = pane
        self._lines: tuple[Cause, ...] = ()
        self._program: F64 | None = None
        """Seconds of each line, the sum last; as `_layer`."""
        self._layer: F64 | None = None
        self._stacked = self._brief = False
        self._icons: dict[str, Any] = {}

    def show_program(self, seconds: F64, held: F64 | None = None) -> bool:
        """Show the ledger of a program: (causes,), and what each limit holds back: (limits,).

        Returns
        -------
        bool
            Whether lines came or went.
        """
        lines = ledger_lines(seconds, held)
        self._program = np.append(line_seconds(lines, seconds, held), seconds.sum())
        if lines == self._lines:
            self.dataChanged.emit(self.index(0, 0), self.index(len(lines), len(_HEADS) - 1))
            return False
        self.beginResetModel()
        self._lines, self._layer = lines, None
        self.endResetModel()
        return True

    def show_layer(self, seconds: F64 | None, held: F64 | None = None) -> None:
        """Show the ledger of a layer: (causes,), or none; and what each limit holds back in it."""
        self._layer = None
        if seconds is not None:
            self._layer = np.append(line_seconds(self._lines, seconds, held), seconds.sum())
        if self._lines:
            self.dataChanged.emit(self.index(0, 3), self.index(len(self._lines), 4))

    def cause_at(self, row: int) -> Cause | None:
        """Return the cause of a row; None: the row is the sum."""
        return self._lines[row] if 0 <= row < len(self._lines) else None

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

    def row_of(self, cause: Cause) -> int | None:
        """Return the row of a cause, None where it takes no time."""
        return self._lines.index(cause) if cause in self._lines else None

    def rowCount(self, parent: Index = QModelIndex()) -> int:  # noqa: B008 - Qt's own default
        """Return the number of causes, and one for the sum."""
        return 0 if parent.isValid() or not self._lines else len(self._lines) + 1

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
        cause = self.cause_at(index.row())
        if role == Qt.ItemDataRole.DisplayRole:
            return self._name(cause) if index.column() == 0 else self._figure(index.row(), index.column())
        if role == Qt.ItemDataRole.TextAlignmentRole:
            side = Qt.AlignmentFlag.AlignLeft if index.column() == 0 else Qt.AlignmentFlag.AlignRight
            return side | Qt.AlignmentFlag.AlignVCenter
        if role == Qt.ItemDataRole.DecorationRole and index.column() == 0 and cause is not None:
            return None if cause.limit else self._icons.get(cause.name)
        if role == Qt.ItemDataRole.ToolTipRole and cause is not None:
            return f"{cause_title(cause)}\n{CAUSE_WORDS[cause.name][1]}\n{_TO_LOOK}"
        return None

    def _name(self, cause: Cause | None) -> str:
        if cause is None:
            return "in all"
        if cause.limit:
            return f"    by the {cause.limit}"
        return cause.name if self._brief else CAUSE_WORDS[cause.name][0]

    def _figure(self, row: int, column: int) -> str:
        """Return a time or a share, or both where they are stacked; a dash where there is none."""
        booked = self._program if column < 3 else self._layer
        if booked is None or row >= len(booked):
            return _NONE
        total, seconds = float(booked[-1]), float(booked[row])
        if not seconds > 0.0:
            return _NONE
        share, time = share_text(seconds / total), duration_text(seconds)
        if column in (2, 4):
            return share
        return f"{time}\n{share}" if self._stacked else time
