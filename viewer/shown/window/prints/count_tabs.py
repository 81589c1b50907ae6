"""How prints ended by printer and filament, and what each month took and cost: two tables."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final, Generic

from PySide6.QtWidgets import QLabel, QVBoxLayout, QWidget

from viewer.printlog.accuracy import OutcomeCount
from viewer.printlog.estimate import INTERVAL
from viewer.printlog.months import Month
from viewer.shown.log_text import charges_text, percent_text
from viewer.shown.numbers import duration_text
from viewer.shown.window.prints.table_model import Heading, RowT, TableModel
from viewer.shown.window.prints.table_view import TableView
from viewer.shown.window.style.scale import space

OUTCOMES: Final = (
    Heading[OutcomeCount]("Printer", lambda one: one.printer, 16),
    Heading[OutcomeCount]("Filament", lambda one: one.filament, 16),
    Heading[OutcomeCount]("Prints", lambda one: str(one.prints), 8, is_number=True),
    Heading[OutcomeCount]("Done", lambda one: str(one.done), 8, is_number=True),
    Heading[OutcomeCount]("Not done", lambda one: str(one.not_done), 9, is_number=True),
    Heading[OutcomeCount](
        "Likely share done", lambda one: f"{percent_text(one.low)} to {percent_text(one.high)}", 19, is_number=True
    ),
    Heading[OutcomeCount](
        "0 to 100 %", lambda one: f"{one.done} of {one.prints} done", 30,
        range_of=lambda one: (one.low, one.share_done, one.high),
    ),
)  # fmt: skip
MONTHS: Final = (
    Heading[Month]("Month", lambda one: one.month, 12),
    Heading[Month]("Prints", lambda one: str(one.prints), 8, is_number=True),
    Heading[Month]("Done", lambda one: str(one.done), 8, is_number=True),
    Heading[Month]("Printers ran", lambda one: duration_text(one.real_s), 18, is_number=True),
    Heading[Month]("Filament", lambda one: f"{one.drawn_g:.0f} g", 12, is_number=True),
    Heading[Month]("Charged", charges_text, 30),
)
ABOUT_OUTCOMES: Final = (
    "The mark is the share that was done; the bar holds the true share with "
    f"{percent_text(INTERVAL)} confidence (Wilson)."
)
ABOUT_MONTHS: Final = (
    "Prints belong to the month in which they started; filament is as weighed, else as computed."
)


class CountTab(QWidget, Generic[RowT]):
    """A table with a sentence about it; another sentence while there is nothing to count."""

    def __init__(self, name: str, headings: Sequence[Heading[RowT]], about: str, parent: QWidget) -> None:
        super().__init__(parent)
        self.model = TableModel(headings, self)
        self.table = TableView(name, self.model, self)
        self.table.setSelectionMode(TableView.SelectionMode.NoSelection)
        self._about = about
        self.about = QLabel(self, wordWrap=True)
        self.about.setProperty("faint", True)
        column = QVBoxLayout(self)
        column.setContentsMargins(0, space(3), 0, 0)
        column.setSpacing(space(2))
        column.addWidget(self.table, 1)
        column.addWidget(self.about)

    def show_rows(self, rows: Sequence[RowT]) -> None:
        """Show other rows."""
        self.model.show_rows(rows)
        self.about.setText(self._about if rows else "No print is noted yet.")
