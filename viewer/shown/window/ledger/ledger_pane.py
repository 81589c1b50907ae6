"""Time ledger: where the hours go, for the program and for the layer on show."""

from __future__ import annotations

from collections.abc import Iterable
from functools import partial
from typing import Final

from PySide6.QtCore import (
    QEvent,
    QSize,
    Qt,
)
from PySide6.QtGui import QResizeEvent, QShowEvent
from PySide6.QtWidgets import (
    QAbstractItemView,
    QHeaderView,
    QLabel,
    QStackedWidget,
    QTableView,
    QVBoxLayout,
    QWidget,
)

from viewer.shown.numbers import count_text, duration_text
from viewer.shown.window.ledger.cause_lookup import CauseLookup
from viewer.shown.window.ledger.ledger_bar import LedgerBar
from viewer.shown.window.ledger.ledger_model import _HEADS, _SWATCH, LedgerModel
from viewer.shown.window.ledger.looked_at import LookedAt
from viewer.shown.window.model.view_state import AFTER_MS, ViewState
from viewer.shown.window.threads.newest_task import sentence_of
from viewer.shown.window.widgets.delayed_update import DelayedUpdate
from viewer.shown.window.widgets.figure_view import wrapped
from viewer.shown.window.widgets.texts import unbroken
from viewer.shown.window.widgets.until_destroyed import listen_until_destroyed
from viewer.why.causes import Cause

_WIDE: Final = 30
"""From this width on, in letter heights, time and share stand in columns of their own."""
_ROOMY: Final = 42
"""From this width on, in letter heights, names are written whole; else in brief, with the whole name as a tooltip."""
_TIGHT: Final = 15
"""Below this width, in letter heights, the layer's column is left out; its bar says in words what it shows."""
_APART: Final = 8
_MARGIN: Final = 3
"""Beside a figure, logical pixels: what the style leaves free."""
_BESIDE: Final = 16
"""Margins of a name and the gap beside its square, logical pixels."""
_NO_PROGRAM: Final = "No program is open. Open one to see where its time goes."
_NO_TIME: Final = "This program takes no time: nothing moves and nothing waits."


class LedgerPane(QWidget):
    """Two bars, one above the other, and the causes with time and share, side by side."""

    def __init__(self, state: ViewState, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._state = state
        self.titles = {scope: QLabel(self) for scope in ("program", "layer")}
        self.bars = {scope: LedgerBar(self) for scope in ("program", "layer")}
        self.model = LedgerModel(self)
        self.table = QTableView(self)
        self.table.setModel(self.model)
        self.sentence = QLabel(self)
        self._pages = QStackedWidget(self)
        self._set_up_table()
        self.looked_at = LookedAt(state, self)
        self._arrange()
        for scope, bar in self.bars.items():
            bar.setAccessibleName(f"time ledger of the {scope}")
            bar.pressed.connect(lambda cause: self._look_at(Cause(cause)))
        self.lookup = CauseLookup(state, self)
        self._later = DelayedUpdate(self._show_layer, AFTER_MS, self)
        self._connect()
        self._show()

    def _connect(self) -> None:
        self.table.clicked.connect(lambda index: self._look_at(self.model.cause_at(index.row())))
        self.table.activated.connect(lambda index: self._look_at(self.model.cause_at(index.row())))
        self.lookup.failed.connect(lambda problem: self.looked_at.complain(sentence_of(problem)))
        self.lookup.held_known.connect(self._retime)
        listen = partial(listen_until_destroyed, self, self._state)
        listen(self._show, "program")
        listen(self._retime, "trial")
        listen(self._cause_changed, "cause")
        listen(self._later.start, "layer")

    def _set_up_table(self) -> None:
        table = self.table
        table.setAccessibleName("time ledger")
        table.setFrameShape(QTableView.Shape.NoFrame)
        table.setShowGrid(False)
        table.setAlternatingRowColors(True)
        table.setSelectionBehavior(QAbstractItemView.SelectionBehavior.SelectRows)
        table.setSelectionMode(QAbstractItemView.SelectionMode.SingleSelection)
        table.setTabKeyNavigation(False)
        table.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        table.setIconSize(QSize(_SWATCH, _SWATCH))
        table.verticalHeader().hide()
        head = table.horizontalHeader()
        head.setSectionsClickable(False)
        head.setHighlightSections(False)
        head.setSectionResizeMode(QHeaderView.ResizeMode.Fixed)
        head.setSectionResizeMode(0, QHeaderView.ResizeMode.Stretch)
        head.setMinimumSectionSize(24)
        self._heights = DelayedUpdate(self._set_heights, 0, self)  # all columns have their widths then
        head.sectionResized.connect(lambda *_: self._heights.start())

    def _arrange(self) -> None:
        self.setFocusProxy(self.table)
        self.sentence.setWordWrap(True)
        self.sentence.setMargin(12)
        self.sentence.setAlignment(Qt.AlignmentFlag.AlignTop | Qt.AlignmentFlag.AlignLeft)
        content, bars = QWidget(self), QVBoxLayout()
        bars.setContentsMargins(8, 6, 8, 8)
        bars.setSpacing(3)
        for scope in ("program", "layer"):
            self.titles[scope].setWordWrap(True)
            bars.addWidget(self.titles[scope])
            bars.addWidget(self.bars[scope])
        box = QVBoxLayout(content)
        box.setContentsMargins(0, 0, 0, 0)
        box.setSpacing(0)
        box.addLayout(bars)
        box.addWidget(self.table, 1)
        box.addWidget(self.looked_at)
        self._pages.addWidget(content)
        self._pages.addWidget(self.sentence)
        outer = QVBoxLayout(self)
        outer.setContentsMargins(0, 0, 0, 0)
        outer.addWidget(self._pages)

    @property
    def busy(self) -> bool:
        """Whether another layer, or other heights of the rows, are about to be shown, or a cause is being looked at."""
        return self._later.isActive() or self._heights.isActive() or self.lookup.busy

    def showEvent(self, event: QShowEvent) -> None:
        """Tell limits apart that came while the pane was hidden."""
        super().showEvent(event)
        self.lookup.compute()

    def _show(self) -> None:
        """Show another program."""
        program = self._state.program
        there = program is not None and program.timing.total_s > 0.0
        self._pages.setCurrentIndex(0 if there else 1)
        self.sentence.setText("" if there else _NO_PROGRAM if program is None else _NO_TIME)
        if not self._retime():
            self._fit()

    def _retime(self) -> bool:
        """Show the times of the card or of the trial; return whether lines came or went, and all was fitted."""
        program, state = self._state.timed, self._state
        changed = False
        total = None if program is None else program.timing.ledger.by_cause
        self.bars["program"].show_seconds(total if total is not None and float(total.sum()) > 0.0 else None)
        if total is not None and state.program is not None:
            title = f"program{', as far as it is read' if state.partial else ''}: {duration_text(float(total.sum()))}"
            if state.trial is not None:
                title += f" under the trial; {duration_text(state.program.timing.total_s)} as on the card"
            self.titles["program"].setText(unbroken(title))
            held = self.lookup.held
            changed = self.model.show_program(total, None if held is None else held.sum(axis=0))
        if changed:
            self._fit()
        else:
            self._widen((1, 2))
        self._show_layer()
        self._mark_cause()
        self.lookup.compute()
        return changed

    def _show_layer(self) -> None:
        program, number = self._state.timed, self._state.layer
        if program is None or not number:
            self.titles["layer"].setText("no layers")
            self.bars["layer"].show_seconds(None)
            self.model.show_layer(None)
            return
        seconds, held = program.timing.ledger.by_layer[number], self.lookup.held
        tried = " under the trial" if self._state.trial is not None else ""
        self.titles["layer"].setText(
            f"layer {count_text(number)}: {duration_text(float(seconds.sum()))}{tried}"
        )
        self.bars["layer"].show_seconds(seconds if float(seconds.sum()) > 0.0 else None)
        self.model.show_layer(seconds, None if held is None else held[number])
        self._widen((3, 4))

    # ---- the cause that is looked at

    def _look_at(self, cause: Cause | None) -> None:
        """Look at a cause; at all of them where it is looked at already, or where the sum was pressed on."""
        self._state.look_at_cause(None if cause == self._state.cause else cause)

    def _cause_changed(self) -> None:
        self._mark_cause()
        self.lookup.compute()

    def _mark_cause(self) -> None:
        """Mark the line of the cause that is looked at."""
        cause = self._state.cause
        row = None if cause is None else self.model.row_of(cause)
        chosen = {index.row() for index in self.table.selectionModel().selectedRows()}
        if row is None and chosen:
            self.table.clearSelection()
        elif row is not None and chosen != {row}:
            self.table.selectRow(row)

    def _fit(self) -> None:
        """Put time and share into columns of their own where there is room, else one above the other."""
        high = self.table.fontMetrics().height()
        wide = self.width() >= _WIDE * high
        for column in (2, 4):
            self.table.setColumnHidden(column, not wide)
        brief = self.width() < _ROOMY * high
        self.model.set_look(stacked=not wide, brief=brief, ratio=self.devicePixelRatioF())
        self.table.setColumnHidden(3, self.width() < _TIGHT * high)
        for column in range(1, len(_HEADS)):
            self.table.setColumnWidth(column, 0)
        self._widen(range(1, len(_HEADS)))
        self._set_heights()

    def _widen(self, columns: Iterable[int]) -> None:
        """Make columns as wide as their figures need; never narrower, or they would jump from layer to layer.

        Qt's own way asks for the size of every cell and took most of the time between two layers.
        """
        table, width = self.table, self.table.fontMetrics().horizontalAdvance
        for column in columns:
            if not table.isColumnHidden(column):
                least = max(map(width, self.model.texts(column))) + _APART + 2 * _MARGIN
                if least > table.columnWidth(column):
                    table.setColumnWidth(column, least)

    def _set_heights(self) -> None:
        """Make rows as high as names that wrap in their column need, and as times and shares need."""
        table, font = self.table, self.table.font()
        line = wrapped("0", font, 100.0, False)[1]
        least = line if self.width() >= _WIDE * self.table.fontMetrics().height() else 2.0 * line
        room = float(table.columnWidth(0) - _SWATCH - _BESIDE)
        for row in range(self.model.rowCount()):
            name = str(self.model.data(self.model.index(row, 0)))
            table.setRowHeight(row, int(max(least, wrapped(name, font, room, False)[1]) + 6.0))

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Arrange the columns for the new width."""
        super().resizeEvent(event)
        self._fit()

    def changeEvent(self, event: QEvent) -> None:
        """Take other colours and another font."""
        super().changeEvent(event)
        if event.type() in (QEvent.Type.PaletteChange, QEvent.Type.FontChange, QEvent.Type.StyleChange):
            self._fit()
