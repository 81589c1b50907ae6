"""What would help: every lever tried alone, ranked by what it saves; several of them as a trial, planned together."""

from __future__ import annotations

from functools import partial
from typing import Final

import msgspec
from PySide6.QtCore import QEvent, Qt, Signal
from PySide6.QtGui import QResizeEvent, QShowEvent
from PySide6.QtWidgets import (
    QAbstractItemView,
    QHeaderView,
    QLabel,
    QPushButton,
    QTableWidget,
    QTableWidgetItem,
    QVBoxLayout,
    QWidget,
)

from viewer.cards.store import save_card
from viewer.errors import BeadlineError
from viewer.program import Program
from viewer.shown.window.levers.lever_lines import hours_text, lever_lines
from viewer.shown.window.levers.lever_painter import SHARE, LeverPainter
from viewer.shown.window.levers.trial_box import TrialBox
from viewer.shown.window.model.notices import NOT_WHOLE
from viewer.shown.window.model.view_state import ViewState
from viewer.shown.window.threads.newest_task import NewestTask, Run, sentence_of
from viewer.shown.window.widgets.scrolled import scrolled
from viewer.shown.window.widgets.until_destroyed import end_with, listen_until_destroyed
from viewer.why.trials import Outcome, inputs_of, lever_named, levers, under_trial

_HEADS: Final = ("lever, and what was tried", "saves")
_NARROW_HEAD: Final = "lever"
"""Where the first head has no room."""
_TRIAL: Final = " trial"
"""Behind the name of a card that was kept."""
_LEAST_LINES: Final = 8
"""Of text in the table; a lower pane scrolls."""
_HOW: Final = "Each tried alone, all planned again. A machine's manual has the last word."
_NO_PROGRAM: Final = "No program is open. Open one to see what would make it quicker."
_AT_WORK: Final = "Every lever is being tried…"


class LeversPane(QWidget):
    """The list of levers, what the chosen one may cost, and the trial."""

    card_kept = Signal(str, str)
    """Kind and name of a card that was written: it is to be computed with."""

    def __init__(self, state: ViewState, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._state = state
        self._shown: Program | None = None
        """The program whose levers are on show, or being tried."""
        self.outcomes: tuple[Outcome, ...] = ()
        self.head, self.told, self.kept = QLabel(self), QLabel(self), QLabel(self)
        self.table = QTableWidget(0, len(_HEADS), self)
        self.try_it = QPushButton("Try it", self)
        self.trial = TrialBox(self)
        self._levers, self._hours = NewestTask("levers", self), NewestTask("trial", self)
        self._set_up_table()
        self._arrange()
        self._connect()
        self._show()

    def _set_up_table(self) -> None:
        table = self.table
        table.setAccessibleName("what would help")
        table.setHorizontalHeaderLabels(_HEADS)
        table.setSelectionBehavior(QAbstractItemView.SelectionBehavior.SelectRows)
        table.setSelectionMode(QAbstractItemView.SelectionMode.SingleSelection)
        table.setEditTriggers(QAbstractItemView.EditTrigger.NoEditTriggers)
        table.setTabKeyNavigation(False)
        table.setShowGrid(False)
        table.setWordWrap(True)
        table.verticalHeader().hide()
        table.setItemDelegate(LeverPainter(table))
        head = table.horizontalHeader()
        head.setHighlightSections(False)
        head.setSectionResizeMode(QHeaderView.ResizeMode.ResizeToContents)
        head.setSectionResizeMode(0, QHeaderView.ResizeMode.Stretch)

    def _arrange(self) -> None:
        self.setFocusProxy(self.table)
        for label in (self.head, self.told, self.kept):
            label.setWordWrap(True)
            label.setMargin(6)
        self.kept.hide()
        self.told.setTextInteractionFlags(Qt.TextInteractionFlag.TextSelectableByMouse)
        self.table.setMinimumHeight(_LEAST_LINES * self.fontMetrics().lineSpacing())
        content = QWidget(self)
        column = QVBoxLayout(content)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(2)
        column.addWidget(self.head)
        column.addWidget(self.table, 1)
        column.addWidget(self.told)
        column.addWidget(self.try_it, 0, Qt.AlignmentFlag.AlignLeft)
        column.addWidget(self.trial)
        column.addWidget(self.kept)
        scrolled(content, self)

    def _connect(self) -> None:
        self.table.itemSelectionChanged.connect(self._tell_chosen)
        self.table.itemActivated.connect(lambda _: self._try_chosen())
        self.try_it.clicked.connect(self._try_chosen)
        self.trial.moved.connect(self._trial_moved)
        self.trial.keep_wanted.connect(self._keep)
        self._levers.done.connect(self._take)
        self._levers.posted.connect(self._tell_progress)
        self._levers.failed.connect(lambda problem: self.head.setText(sentence_of(problem)))
        self._hours.done.connect(self._show_hours)
        self._hours.failed.connect(lambda problem: self.trial.complain(sentence_of(problem)))
        listen_until_destroyed(self, self._state, self._show, "program")
        end_with(self, self._levers.cancel, self._hours.cancel)

    @property
    def busy(self) -> bool:
        """Whether levers are being tried."""
        return self._levers.busy or self._hours.busy

    def showEvent(self, event: QShowEvent) -> None:
        """Try the levers of what came while the pane was hidden."""
        super().showEvent(event)
        self._show()

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Shorten the table's head where it has no room."""
        super().resizeEvent(event)
        self._tell_heads()

    def changeEvent(self, event: QEvent) -> None:
        """Follow the size of text: rows and head of the table."""
        super().changeEvent(event)
        if event.type() == QEvent.Type.FontChange and hasattr(self, "table"):
            self.table.setMinimumHeight(_LEAST_LINES * self.fontMetrics().lineSpacing())
            self.table.resizeColumnsToContents()
            self.table.resizeRowsToContents()
            self._tell_heads()

    def _tell_heads(self) -> None:
        room = self.table.columnWidth(0) - 2 * self.fontMetrics().averageCharWidth()
        fits = self.fontMetrics().horizontalAdvance(_HEADS[0]) <= room
        self.table.model().setHeaderData(0, Qt.Orientation.Horizontal, _HEADS[0] if fits else _NARROW_HEAD)

    def _show(self) -> None:
        """Try the levers of the program on show, if anybody sees them."""
        program = self._state.program
        if program is self._shown and program is not None and not self._state.partial:
            return
        self._levers.cancel()
        self._fill(())
        self.trial.clear()
        if self._shown is not None and (program is None or program.path != self._shown.path):
            self.kept.hide()
        self._shown = None
        if program is None or self._state.partial:
            self.head.setText(_NO_PROGRAM if program is None else NOT_WHOLE)
        elif self.isVisible():
            self._shown = program
            self.head.setText(_AT_WORK)
            self._levers.start(partial(_try_all, program))

    def _tell_progress(self, share: object) -> None:
        self.head.setText(f"{_AT_WORK} {100.0 * share:.0f} %" if isinstance(share, float) else _AT_WORK)

    def _take(self, outcomes: object) -> None:
        assert isinstance(outcomes, tuple)
        self.head.setText(_HOW)
        self._fill(outcomes)

    def _fill(self, outcomes: tuple[Outcome, ...]) -> None:
        self.outcomes = outcomes
        self.table.setRowCount(len(outcomes))
        lines = lever_lines(outcomes)
        most = max((line.share for line in lines), default=0.0)
        for row, line in enumerate(lines):
            for column, text in enumerate((f"{line.title}\n{line.change}", line.saved)):
                item = QTableWidgetItem(text)
                item.setToolTip(line.told)
                if column == 1:
                    item.setData(SHARE, line.share / most if most > 0.0 else 0.0)
                self.table.setItem(row, column, item)
        self.table.resizeRowsToContents()
        self._tell_heads()
        if outcomes:
            self.table.selectRow(0)
        self._tell_chosen()

    @property
    def _chosen(self) -> Outcome | None:
        rows = self.table.selectionModel().selectedRows()
        return self.outcomes[rows[0].row()] if rows and rows[0].row() < len(self.outcomes) else None

    def _tell_chosen(self) -> None:
        chosen = self._chosen
        self.try_it.setEnabled(chosen is not None)
        self.told.setText("" if chosen is None else lever_lines([chosen])[0].told)

    def _try_chosen(self) -> None:
        if self._chosen is not None:
            self.kept.hide()
            self.trial.add(self._chosen)

    # ---- the trial

    def _trial_moved(self) -> None:
        """Plan the program again under the trial; only the newest counts."""
        trial, program = self.trial.trial, self._shown
        self.trial.keep.setEnabled(any(lever_named(name).place == "machine" for name in trial))
        if trial and program is not None:
            self._hours.start(lambda _run: under_trial(program, trial))
        else:
            self._hours.cancel()
            self._state.show_trial(None)

    def _show_hours(self, tried: object) -> None:
        """Show the times of the trial: its hours here, and ledger, strip and colours in the other panes."""
        if self._shown is None or not isinstance(tried, Program) or self._shown is not self._state.program:
            return
        hours, saved = hours_text(tried.timing.total_s, self._shown.timing.total_s)
        self.trial.hours.setText(hours)
        self.trial.saved.setText(saved)
        self.trial.repaint()  # the hours follow the hand first, the other panes a moment later
        self._state.show_trial(tried)

    def _keep(self) -> None:
        """Write the machine's part of the trial as a card of the keeper's own."""
        if self._shown is None:
            return
        trial = {
            name: factor for name, factor in self.trial.trial.items() if lever_named(name).place == "machine"
        }
        card = inputs_of(self._shown, trial).printer
        name = f"{self._shown.printer.name.removesuffix(_TRIAL)}{_TRIAL}"
        try:
            path = save_card(msgspec.structs.replace(card, name=name))
        except BeadlineError as problem:
            self.trial.complain(str(problem))
            return
        self.trial.clear()
        self.kept.setText(
            f"Kept as the printer card “{name}” ({path}) and chosen. Limits that the program states "
            "itself go before a card's, as long as the card says that the machine obeys them."
        )
        self.kept.show()
        self.card_kept.emit("printer", name)


def _try_all(program: Program, run: Run) -> tuple[Outcome, ...]:
    return levers(program, lambda _what, share: run.post(share), run.stop)
