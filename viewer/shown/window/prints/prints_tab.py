"""The list of all prints: found by words, printer and outcome; changed, deleted, taken in and out."""

from __future__ import annotations

from typing import Final

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import QHBoxLayout, QLabel, QLineEdit, QPushButton, QVBoxLayout, QWidget

from viewer.numerals import count_text, counted_text
from viewer.printlog.rows import Entry, Outcome
from viewer.shown.window.prints.prints_list import COLUMNS, EVERY, Wanted, arranged
from viewer.shown.window.prints.table_model import Heading, TableModel
from viewer.shown.window.prints.table_view import TableView
from viewer.shown.window.style.scale import space
from viewer.shown.window.threads.newest_task import NewestTask, Run, sentence_of
from viewer.shown.window.widgets.choice import Choice

HEADINGS: Final = tuple(
    Heading[Entry](column.title, column.text, column.letters, column.is_number) for column in COLUMNS
)


class PrintsTab(QWidget):
    """The prints as a table; what is wanted of the chosen one is told by signals."""

    edit_wanted = Signal(int)
    """The number of a print."""
    delete_wanted = Signal(object)
    """An `Entry`."""
    import_wanted = Signal()
    export_wanted = Signal()

    def __init__(self, parent: QWidget) -> None:
        super().__init__(parent)
        self._entries: list[Entry] = []
        self._total = 0
        self._wanted = Wanted()
        self._task = NewestTask("arrange the prints", self)
        self._task.done.connect(self._show_order)
        self._task.failed.connect(sentence_of)
        self.model = TableModel(HEADINGS, self)
        self.table = TableView("prints", self.model, self)
        self.count = QLabel(self)
        self.count.setProperty("faint", True)
        column = QVBoxLayout(self)
        column.setContentsMargins(0, space(3), 0, 0)
        column.setSpacing(space(2))
        column.addLayout(self._filters())
        column.addWidget(self.table, 1)
        column.addLayout(self._buttons())
        self._connect()
        self._follow()

    @property
    def busy(self) -> bool:
        """Whether the prints are being sorted or looked through."""
        return self._task.busy

    @property
    def chosen(self) -> Entry | None:
        """The print that is chosen."""
        row = self.table.row
        return self.model.rows[row] if 0 <= row < len(self.model.rows) else None

    def show_entries(self, entries: list[Entry], total: int) -> None:
        """Show prints, the latest first; `total`: how many the log has, the others come later."""
        self._entries, self._total = entries, total
        self._fill_printers()
        self._arrange()

    def choose_print(self, number: int) -> None:
        """Choose a print by its number, whatever was wanted before."""
        if self.busy or all(one.number != number for one in self.model.rows):
            self.words.clear()
            self.printer.setCurrentIndex(0)
            self.outcome.setCurrentIndex(0)
            self._wanted = Wanted(column=self._wanted.column, descending=self._wanted.descending)
            self._show_order(arranged(self._entries, self._wanted))
        at = next((k for k, one in enumerate(self.model.rows) if one.number == number), -1)
        if at >= 0:
            self.table.choose(at)
        self.table.setFocus()

    def end(self) -> None:
        """Wait for the thread."""
        self._task.end(5.0)

    # built up ----------------------------------------------------------------------------------------

    def _filters(self) -> QHBoxLayout:
        self.words = QLineEdit(self)
        self.words.setPlaceholderText("Words in program, note, for whom …")
        self.words.setAccessibleName("words to find")
        self.words.setClearButtonEnabled(True)
        self.printer, self.outcome = Choice(self), Choice(self)
        self.printer.setAccessibleName("printer")
        self.printer.addItem("every printer", EVERY)
        self.outcome.setAccessibleName("outcome")
        self.outcome.addItem("every outcome", EVERY)
        for outcome in Outcome:
            self.outcome.addItem(outcome.value, outcome.value)
        for choice in (self.printer, self.outcome):
            choice.setSizeAdjustPolicy(Choice.SizeAdjustPolicy.AdjustToContents)
        row = QHBoxLayout()
        row.setSpacing(space(2))
        row.addWidget(self.words, 1)
        row.addWidget(self.printer)
        row.addWidget(self.outcome)
        return row

    def _buttons(self) -> QHBoxLayout:
        self.edit, self.delete = QPushButton("Change…", self), QPushButton("Delete…", self)
        self.take_in, self.take_out = QPushButton("Import CSV…", self), QPushButton("Export CSV…", self)
        row = QHBoxLayout()
        row.setSpacing(space(2))
        row.addWidget(self.edit)
        row.addWidget(self.delete)
        row.addWidget(self.count, 1, Qt.AlignmentFlag.AlignCenter)
        row.addWidget(self.take_in)
        row.addWidget(self.take_out)
        for button in (self.edit, self.delete, self.take_in, self.take_out):
            button.setAutoDefault(False)
        return row

    def _connect(self) -> None:
        head = self.table.horizontalHeader()
        head.setSectionsClickable(True)
        head.setSortIndicatorShown(True)
        head.setSortIndicator(0, Qt.SortOrder.DescendingOrder)
        head.sortIndicatorChanged.connect(self._arrange)
        self.words.textChanged.connect(self._arrange)
        for choice in (self.printer, self.outcome):
            choice.currentIndexChanged.connect(self._arrange)
        self.table.selectionModel().selectionChanged.connect(self._follow)
        self.table.opened.connect(self._edit_chosen)
        self.table.unwanted.connect(self._delete_chosen)
        self.edit.clicked.connect(self._edit_chosen)
        self.delete.clicked.connect(self._delete_chosen)
        self.take_in.clicked.connect(self.import_wanted)
        self.take_out.clicked.connect(self.export_wanted)

    # followed ----------------------------------------------------------------------------------------

    def _fill_printers(self) -> None:
        """Offer the printers that have prints; the chosen one stays."""
        chosen = self.printer.currentData()
        self.printer.blockSignals(True)
        self.printer.clear()
        self.printer.addItem("every printer", EVERY)
        for name in sorted({one.printer for one in self._entries}):
            self.printer.addItem(name, name)
        self.printer.setCurrentIndex(max(self.printer.findData(chosen), 0))
        self.printer.blockSignals(False)

    def _arrange(self, *_: object) -> None:
        """Look for what is wanted, beside the window; all prints as they were read are shown at once."""
        head = self.table.horizontalHeader()
        self._wanted = wanted = Wanted(
            self.words.text(), str(self.printer.currentData() or ""), str(self.outcome.currentData() or ""),
            head.sortIndicatorSection(), head.sortIndicatorOrder() == Qt.SortOrder.DescendingOrder,
        )  # fmt: skip
        entries = self._entries
        if wanted == Wanted():
            self._task.cancel()
            self._show_order(range(len(entries)))
            return

        def run(_run: Run) -> list[int]:
            return arranged(entries, wanted)

        self._task.start(run)

    def _show_order(self, order: list[int] | range) -> None:
        chosen = self.chosen
        entries = self._entries
        whole = isinstance(order, range)
        self.model.show_rows(entries if whole else [entries[at] for at in order])
        if chosen is not None:
            at = next((k for k, one in enumerate(self.model.rows) if one.number == chosen.number), -1)
            if at >= 0:
                self.table.choose(at)
        elif self.model.rows:
            self.table.choose(0)
        self._follow()
        shown, total = len(order), self._total
        prints = counted_text(total, "print")
        if len(entries) < total:
            self.count.setText(f"the latest {count_text(shown)} of {prints}; the others are being read")
        else:
            self.count.setText(prints if shown == total else f"{count_text(shown)} of {prints}")

    def _follow(self, *_: object) -> None:
        there = self.chosen is not None
        self.edit.setEnabled(there)
        self.delete.setEnabled(there)
        self.take_out.setEnabled(self._total > 0)

    def _edit_chosen(self, *_: object) -> None:
        if self.chosen is not None:
            self.edit_wanted.emit(self.chosen.number)

    def _delete_chosen(self, *_: object) -> None:
        if self.chosen is not None:
            self.delete_wanted.emit(self.chosen)
