"""`LogPages`: the print log in a window of its own."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING, Final

from PySide6.QtCore import QSize, Qt, Signal
from PySide6.QtWidgets import QDialog, QFileDialog, QLabel, QMessageBox, QTabWidget, QVBoxLayout, QWidget

from viewer.printlog.rows import Entry, Print, SpoolState
from viewer.shown.log_text import taken_in_text
from viewer.shown.window.prints.count_tabs import ABOUT_MONTHS, ABOUT_OUTCOMES, MONTHS, OUTCOMES, CountTab
from viewer.shown.window.prints.estimates_tab import EstimatesTab
from viewer.shown.window.prints.log_content import (
    AllPrints,
    Computed,
    FirstPrints,
    all_prints,
    computed,
    first_prints,
)
from viewer.shown.window.prints.log_form import LogForm
from viewer.shown.window.prints.log_task import LogTask, Workshop
from viewer.shown.window.prints.print_form import AskedPrint, PrintForm
from viewer.shown.window.prints.prints_tab import PrintsTab
from viewer.shown.window.prints.spool_forms import NewSpoolForm, WeighForm
from viewer.shown.window.prints.spools_tab import SpoolsTab
from viewer.shown.window.prints.typed_print import typed_of
from viewer.shown.window.style.inks import is_dark
from viewer.shown.window.style.scale import space
from viewer.shown.window.style.tones import tone

if TYPE_CHECKING:
    from viewer.printlog.store import PrintLog

TABLES: Final = "Tables (*.csv)"
ROOM: Final = QSize(1200, 760)
"""How large it may be at first, where no window stands behind it."""


class LogPages(QDialog):
    """Prints, estimates, outcomes, months and spools on five pages; the main window stays usable beside it.

    The list shows the latest prints at once; all of them, and what is computed from them, follow.
    """

    changed = Signal()
    """Something was written to the log."""

    def __init__(self, workshop: Workshop, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setWindowTitle("Print log")
        self.workshop = workshop
        self.form: LogForm | None = None
        """The form that is open."""
        self.question: QMessageBox | None = None
        """The question that is open."""
        self._reading = LogTask(workshop, "read the print log", self)
        self._writing = LogTask(workshop, "change the print log", self)
        self._unread = False
        """The log could not be read, and the notice says why."""
        self._then: Callable[[object], object] | None = None
        self.notice = QLabel(self, wordWrap=True)
        self.notice.setTextInteractionFlags(Qt.TextInteractionFlag.TextSelectableByMouse)
        self.notice.hide()
        self.prints = PrintsTab(self)
        self.estimates = EstimatesTab(self)
        self.outcomes = CountTab("outcomes by printer and filament", OUTCOMES, ABOUT_OUTCOMES, self)
        self.months = CountTab("months", MONTHS, ABOUT_MONTHS, self)
        self.spools = SpoolsTab(self)
        self.tabs = QTabWidget(self)
        self.tabs.setDocumentMode(True)
        for title, tab in (
            ("Prints", self.prints), ("Estimates", self.estimates), ("Outcomes", self.outcomes), ("Months", self.months),
            ("Spools", self.spools),
        ):  # fmt: skip
            self.tabs.addTab(tab, title)
        column = QVBoxLayout(self)
        column.setContentsMargins(space(3), space(3), space(3), space(3))
        column.addWidget(self.notice)
        column.addWidget(self.tabs, 1)
        self._connect()
        self.resize(self.sizeHint().boundedTo(ROOM if parent is None else parent.size()))

    def sizeHint(self) -> QSize:
        """Return room for a screenful of prints."""
        unit = self.fontMetrics().horizontalAdvance("0")
        return QSize(unit * 138, self.fontMetrics().lineSpacing() * 38)

    @property
    def busy(self) -> bool:
        """Whether the log is being read, written to or looked through."""
        return (
            self._reading.busy
            or self._writing.busy
            or self.prints.busy
            or (self.form is not None and self.form.busy)
        )

    def read(self) -> None:
        """Read the log, what is seen first before the rest."""
        self._reading.read(first_prints, FirstPrints())

    def end(self) -> None:
        """Wait for what is being written, before the window goes."""
        if self.form is not None:
            self.form.task.end()
        self._reading.end()
        self._writing.end()
        self.prints.end()

    # built up ----------------------------------------------------------------------------------------

    def _connect(self) -> None:
        self._reading.done.connect(self._show)
        self._reading.failed.connect(self._cannot_read)
        self._writing.done.connect(self._written)
        self._writing.failed.connect(self.complain)
        self.prints.edit_wanted.connect(self._ask_to_change)
        self.prints.delete_wanted.connect(self._ask_to_delete)
        self.prints.import_wanted.connect(self._import)
        self.prints.export_wanted.connect(self._export)
        self.estimates.opened.connect(self._go_to_print)
        self.spools.new_wanted.connect(lambda: self._open(NewSpoolForm(self.workshop, self)))
        self.spools.weigh_wanted.connect(lambda state: self._open(WeighForm(state, self.workshop, self)))
        self.spools.end_wanted.connect(self._end_spool)
        self.spools.delete_wanted.connect(self._ask_to_delete_spool)

    # shown -------------------------------------------------------------------------------------------

    def complain(self, sentence: str) -> None:
        """Say why the log could not be read or written; what is shown stays."""
        self._say(sentence, "stop")

    def _cannot_read(self, sentence: str) -> None:
        self._unread = True
        self.complain(sentence)

    def _say(self, sentence: str, ink: str = "text") -> None:
        self.notice.setText(sentence)
        self.notice.setAccessibleName(sentence)
        self.notice.setStyleSheet(f"color: {tone(ink, is_dark(self.palette())).name()}")
        self.notice.setVisible(bool(sentence))

    def _show(self, found: object) -> None:
        """Show what was read, and read on."""
        if isinstance(found, FirstPrints):
            if self._unread:
                self._unread = False
                self._say("")
            self.prints.show_entries(found.entries, found.count)
            self._reading.read(all_prints, AllPrints())
        elif isinstance(found, AllPrints):
            self.prints.show_entries(found.entries, len(found.entries))
            self.months.show_rows(found.months)
            self.spools.show_spools(found.spools)
            self._reading.read(computed, Computed())
        elif isinstance(found, Computed):
            self.estimates.show_computed(found)
            self.outcomes.show_rows(found.outcomes)

    def _go_to_print(self, number: int) -> None:
        self.tabs.setCurrentWidget(self.prints)
        self.prints.choose_print(number)

    # changed -----------------------------------------------------------------------------------------

    def _do(self, work: Callable[[PrintLog], object], then: Callable[[object], object] | None = None) -> None:
        """Do work with the log, then what follows from its outcome; one after another."""
        if self._writing.busy:
            self.complain("The log is still being written; try again when that is done.")
            return
        self._say("")
        self._then = then
        self._writing.write(work)

    def _written(self, outcome: object) -> None:
        then, self._then = self._then, None
        if then is not None:
            then(outcome)

    def _read_again(self, _outcome: object = None) -> None:
        self.changed.emit()
        self.read()

    def _open(self, form: LogForm) -> None:
        self.form = form
        form.noted.connect(self._read_again)
        form.finished.connect(self._form_closed)
        self._say("")
        form.open()

    def _form_closed(self) -> None:
        self.form = None

    def _ask_to_change(self, number: int) -> None:
        def opened(one: object) -> None:
            assert isinstance(one, Print)
            self._open(PrintForm(AskedPrint(one, typed_of(one)), self.workshop, self))

        self._do(lambda log: log.print_of(number), opened)

    def _ask_to_delete(self, one: Entry) -> None:
        """Ask whether a print, or only for whom it was, is to be deleted."""
        box = self._question(
            f"Delete the print of {one.program} on {one.started[:10]}?",
            "It is deleted from the file for good, and no estimate rests on it any more.",
        )
        whole = box.addButton("Delete the print", QMessageBox.ButtonRole.DestructiveRole)
        whole.clicked.connect(lambda: self._do(lambda log: log.delete(one.number), self._read_again))
        if one.for_whom:
            person = box.addButton("Delete only for whom it was", QMessageBox.ButtonRole.DestructiveRole)
            person.clicked.connect(
                lambda: self._do(lambda log: log.forget_person(one.number), self._read_again)
            )
        box.open()

    def _ask_to_delete_spool(self, state: SpoolState) -> None:
        label = state.spool.label
        box = self._question(
            f"Delete the spool {label}?",
            "Its weighings go with it; prints that drew from it stay in the log, without a spool.",
        )
        whole = box.addButton("Delete the spool", QMessageBox.ButtonRole.DestructiveRole)
        whole.clicked.connect(lambda: self._do(lambda log: log.delete_spool(label), self._read_again))
        box.open()

    def _question(self, text: str, more: str) -> QMessageBox:
        self.question = box = QMessageBox(self)
        box.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        box.setIcon(QMessageBox.Icon.Question)
        box.setWindowTitle("Print log")
        box.setText(text)
        box.setInformativeText(more)
        box.setDefaultButton(box.addButton("Keep it", QMessageBox.ButtonRole.RejectRole))
        box.finished.connect(self._answered)
        return box

    def _answered(self) -> None:
        self.question = None

    def _end_spool(self, state: SpoolState) -> None:
        at = datetime.now() if state.spool.emptied is None else None
        self._do(lambda log: log.end_spool(state.spool.label, at), self._read_again)

    # taken in and out --------------------------------------------------------------------------------

    def _import(self) -> None:
        name, _ = QFileDialog.getOpenFileName(self, "Take in prints", "", TABLES)
        if name:
            self.take_in(Path(name))

    def take_in(self, path: Path) -> None:
        """Note the prints of a CSV file."""
        from viewer.printlog.taking_in import TakenIn, take_in

        def told(found: object) -> None:
            assert isinstance(found, TakenIn)
            text = taken_in_text(found.new, found.prints)
            if found.unknown_spools:
                text += (
                    f" Spools that this log does not have were left out: {', '.join(found.unknown_spools)}."
                )
            self._say(text)
            self._read_again()

        self._do(lambda log: take_in(log, path), told)

    def _export(self) -> None:
        name, _ = QFileDialog.getSaveFileName(self, "Save all prints", "prints.csv", TABLES)
        if name:
            self.take_out(Path(name))

    def take_out(self, path: Path) -> None:
        """Write all prints to a CSV file."""
        from viewer.printlog.csv_rows import csv_of
        from viewer.written import write_whole

        self._do(
            lambda log: write_whole(path, csv_of(reversed(log.prints()))),
            lambda _: self._say(f"Saved as {path}."),
        )
