"""Time ledger: where the hours go, for the program and for the layer on show."""

from __future__ import annotations

from typing import Any, Final

from PySide6.QtCore import (
    QAbstractTableModel,
    QEvent,
    QModelIndex,
    QObject,
    QPersistentModelIndex,
    QSize,
    Qt,
)
from PySide6.QtGui import QResizeEvent
from PySide6.QtWidgets import (
    QAbstractItemView,
    QHeaderView,
    QLabel,
    QStackedWidget,
    QTableView,
    QVBoxLayout,
    QWidget,
)

from viewer.read.moves import F64
from viewer.shown.cause_words import CAUSE_WORDS
from viewer.shown.numbers import count_text, duration_text, share_text
from viewer.shown.window.inks import inks_of
from viewer.shown.window.ledger_bar import SHORT, LedgerBar, cause_icon
from viewer.shown.window.view_state import ViewState
from viewer.timing import CAUSES

Index = QModelIndex | QPersistentModelIndex
_HEADS: Final = ("cause", "program", "share", "layer", "share")
_NONE: Final = "–"
