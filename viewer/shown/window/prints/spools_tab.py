"""The spools: what is left by the log and by the scales, and how far the two are apart."""

from __future__ import annotations

from typing import Final

from PySide6.QtCore import Signal, SignalInstance
from PySide6.QtWidgets import QHBoxLayout, QLabel, QPushButton, QVBoxLayout, QWidget

from viewer.printlog.rows import SpoolState
from viewer.shown.log_text import drift_text, percent_text
from viewer.shown.spool import left_text
from viewer.shown.window.prints.table_model import Heading, TableModel
from viewer.shown.window.prints.table_view import TableView
from viewer.shown.window.style.scale import space

MAX_WEIGHINGS: Final = 4
"""Weighings that are said in the line below the table."""


def _left(state: SpoolState) -> str:
    return (
        left_text(state.left_g)
        if state.spool.emptied is None
        else f"empty since {state.spool.emptied:%Y-%m-%d}"
    )


def _weighed(state: SpoolState) -> str:
    if not state.weighings:
        return ""
    last = state.weighings[-1]
    return f"{last.gross_g:g} g on {last.at:%Y-%m-%d}"


HEADINGS: Final = (
    Heading[SpoolState]("Spool", lambda one: one.spool.label, 17),
    Heading[SpoolState]("Filament", lambda one: one.spool.filament, 10),
    Heading[SpoolState]("Begun", lambda one: f"{one.spool.begun:%Y-%m-%d}", 11),
    Heading[SpoolState]("Full", lambda one: f"{one.spool.full_g:g} g", 9, is_number=True),
    Heading[SpoolState](
        "Empty spool", lambda one: "" if one.spool.tare_g is None else f"{one.spool.tare_g:g} g", 12, is_number=True
    ),
    Heading[SpoolState]("Drawn", lambda one: f"{one.drawn_g:.0f} g", 9, is_number=True),
    Heading[SpoolState]("Last weighed", _weighed, 19, is_number=True),
    Heading[SpoolState]("Left", _left, 16, is_number=True),
    Heading[SpoolState](
        "Scales / computed", lambda one: "" if one.drift is None else percent_text(one.drift), 16, is_number=True
    ),
)  # fmt: skip


class SpoolsTab(QWidget):
    """The spools as a table; what is wanted of the chosen one is told by signals."""

    new_wanted = Signal()
    weigh_wanted = Signal(object)
    """A `SpoolState`."""
    end_wanted = Signal(object)
    """A `SpoolState` that is empty, or in use again."""
    delete_wanted = Signal(object)
    """A `SpoolState`."""

    def __init__(self, parent: QWidget) -> None:
        super().__init__(parent)
        self.model = TableModel(HEADINGS, self)
        self.table = TableView("spools", self.model, self)
        self.about = QLabel(self, wordWrap=True)
        self.about.setProperty("faint", True)
        self.new = QPushButton("New spool…", self)
        self.weigh, self.end = QPushButton("Weigh…", self), QPushButton("It is empty", self)
        self.delete = QPushButton("Delete…", self)
        row = QHBoxLayout()
        row.setSpacing(space(2))
        for button in (self.new, self.weigh, self.end, self.delete):
            button.setAutoDefault(False)
            row.addWidget(button)
        row.addStretch(1)
        column = QVBoxLayout(self)
        column.setContentsMargins(0, space(3), 0, 0)
        column.setSpacing(space(2))
        column.addWidget(self.table, 1)
        column.addWidget(self.about)
        column.addLayout(row)
        self.table.selectionModel().selectionChanged.connect(self._follow)
        self.table.opened.connect(lambda _row: self._tell(self.weigh_wanted))
        self.table.unwanted.connect(lambda _row: self._tell(self.delete_wanted))
        self.new.clicked.connect(self.new_wanted)
        self.weigh.clicked.connect(lambda: self._tell(self.weigh_wanted))
        self.end.clicked.connect(lambda: self._tell(self.end_wanted))
        self.delete.clicked.connect(lambda: self._tell(self.delete_wanted))
        self._follow()

    @property
    def chosen(self) -> SpoolState | None:
        """The spool that is chosen."""
        row = self.table.row
        return self.model.rows[row] if 0 <= row < len(self.model.rows) else None

    def show_spools(self, spools: list[SpoolState]) -> None:
        """Show the spools; the chosen one stays."""
        chosen = self.chosen
        self.model.show_rows(spools)
        labels = [one.spool.label for one in spools]
        if chosen is not None and chosen.spool.label in labels:
            self.table.choose(labels.index(chosen.spool.label))
        elif spools:
            self.table.choose(0)
        self._follow()

    def _tell(self, signal: SignalInstance) -> None:
        if self.chosen is not None:
            signal.emit(self.chosen)

    def _follow(self, *_: object) -> None:
        state = self.chosen
        for button in (self.weigh, self.end, self.delete):
            button.setEnabled(state is not None)
        self.end.setText(
            "It is in use" if state is not None and state.spool.emptied is not None else "It is empty"
        )
        self.about.setText(_about(state, bool(self.model.rows)))


def _about(state: SpoolState | None, there: bool) -> str:
    """Return what the scales said of a spool."""
    if state is None:
        return (
            ""
            if there
            else "No spool is noted yet; with one, prints draw from it, and what is left is known."
        )
    if not state.weighings:
        return (
            f"{state.spool.label} was not weighed yet: what is left is what was on it, less what prints drew."
        )
    last = "; ".join(
        f"{one.at:%Y-%m-%d %H:%M} {one.gross_g:g} g" for one in state.weighings[: -MAX_WEIGHINGS - 1 : -1]
    )
    drift = "" if state.drift is None else f" From the first weighing to the last {drift_text(state.drift)}."
    return f"{state.spool.label} weighed, the latest first: {last}.{drift}"
