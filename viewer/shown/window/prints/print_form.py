"""`PrintForm`: how a print went, in one small form; also to change what was noted."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from datetime import datetime
from typing import TYPE_CHECKING, Final

from PySide6.QtCore import Qt
from PySide6.QtWidgets import (
    QButtonGroup,
    QHBoxLayout,
    QLabel,
    QLineEdit,
    QSizePolicy,
    QToolButton,
    QWidget,
)

from viewer.errors import BeadlineError
from viewer.printlog.rows import REASONS, Outcome, Print, SpoolState
from viewer.shown.numbers import duration_text
from viewer.shown.window.prints.log_form import LogForm
from viewer.shown.window.prints.log_task import LogTask, Workshop
from viewer.shown.window.prints.spool_texts import spool_text
from viewer.shown.window.prints.typed_print import EntryError, TypedPrint, print_of, took_text
from viewer.shown.window.widgets.choice import Choice
from viewer.shown.window.widgets.entries import mark_entry, mark_note

if TYPE_CHECKING:
    from viewer.printlog.store import PrintLog

NO_SPOOL: Final = "not said"
_NO_REASON: Final = "not said"


@dataclass(frozen=True, slots=True)
class AskedPrint:
    """A print that the form is about."""

    base: Print
    """What is known of it; with a number it is in the log already."""
    typed: TypedPrint
    """What the form begins with."""
    layers: int = 0
    """Layers of its program, 0 where that is not known."""
    sha256: Callable[[], str] | None = None
    """Reads the program's file for its SHA-256, beside the window; None: that of `base` stays."""


class PrintForm(LogForm):
    """Start, end and outcome; then what may be said beside them."""

    def __init__(self, asked: AskedPrint, workshop: Workshop, parent: QWidget | None = None) -> None:
        is_new = asked.base.number is None
        super().__init__(
            "How did it go?" if is_new else f"Print {asked.base.number}",
            "Note it" if is_new else "Save",
            workshop,
            parent,
        )
        self._asked = asked
        self.entries: dict[str, tuple[QLineEdit, QLabel]] = {}
        """By the names in `TypedPrint`: fields whose entry may be wrong, and where it is said why."""
        base, typed = asked.base, asked.typed
        computed = f", computed {duration_text(base.computed_s)}" if base.computed_s else ""
        self.head(base.program, f"on {base.printer} with {base.filament or 'some filament'}{computed}")
        self._times(typed)
        self._outcomes(typed)
        self._amounts(typed, base.currency)
        self.for_whom = self.field(
            "for whom", typed.for_whom, hint="the only words kept about a person; can be deleted"
        )
        self.note = self.field("note", typed.note)
        self.row("For whom", self.for_whom)
        self.row("Note", self.note)
        self.setMinimumWidth(self._unit * 62)
        self._follow()
        self._spools = LogTask(workshop, "read the spools", self)
        self._spools.done.connect(self._fill_spools)
        self._spools.failed.connect(self.complain)
        self._spools.read(lambda log: log.spools(), [])
        (self.save if typed.started else self.started).setFocus()

    @property
    def reading(self) -> bool:
        """Whether the spools are still being read."""
        return self._spools.busy

    @property
    def outcome(self) -> Outcome:
        """The outcome that is chosen."""
        return next(outcome for outcome, button in self.outcomes.items() if button.isChecked())

    def typed(self) -> TypedPrint:
        """Return what stands in the form."""
        return TypedPrint(
            started=self.started.text(), ended=self.ended.text(), outcome=self.outcome, layer=self.layer.text(),
            reason=str(self.reason.currentData() or ""), words=self.words.text(), weight=self.weight.text(),
            spool=str(self.spool.currentData() or ""), charge=self.charge.text(), for_whom=self.for_whom.text(),
            note=self.note.text(),
        )  # fmt: skip

    def work(self) -> Callable[[PrintLog], object]:
        """Return what notes or changes the print."""
        sha256 = self._asked.sha256
        typed = print_of(self.typed(), self._asked.base, datetime.now(), self._asked.layers)

        def write(log: PrintLog) -> Print:
            one = typed if sha256 is None else replace(typed, sha256=sha256())
            if one.number is None:
                log.add([one])
            else:
                log.change(one)
            return one

        return write

    def refuse(self, problem: BeadlineError) -> None:
        """Mark the fields whose entries are wrong, and say why beside them."""
        fields = [self.entries[name][0] for name in problem.fields] if isinstance(problem, EntryError) else []
        if not fields or not isinstance(problem, EntryError):
            super().refuse(problem)
            return
        self.problem.hide()
        note = self.entries[problem.fields[0]][1]
        for field in fields:
            mark_entry(field, str(problem))
        mark_note(note, True)
        note.setText(str(problem))
        note.show()
        fields[0].setFocus()

    def _forgive(self, _of: object = None) -> None:
        """Take the marks back: something else was typed."""
        for field, note in self.entries.values():
            if field.property("wrong"):
                mark_entry(field, "")
                mark_note(note, False)
                note.setVisible(note is self.took)
                if note is self.took:
                    self._follow()

    # built up ----------------------------------------------------------------------------------------

    def _times(self, typed: TypedPrint) -> None:
        hint = "as 9:10"
        wide = 20 if self._asked.base.number is not None else 18
        self.started = self.field("started at", typed.started, wide, hint)
        self.ended = self.field("ended at", typed.ended, wide, hint)
        until = QLabel("ended")
        until.setBuddy(self.ended)
        self.row("Started", self.started, until, self.ended)
        self.took = QLabel(wordWrap=True)
        self.took.setProperty("faint", True)
        self.grid.addWidget(self.took, self.grid.rowCount(), 1)
        for name, field in (("started", self.started), ("ended", self.ended)):
            field.textChanged.connect(self._follow)
            self._enter(name, field, self.took)

    def _outcomes(self, typed: TypedPrint) -> None:
        self.outcomes: dict[Outcome, QToolButton] = {}
        group = QButtonGroup(self)
        last = len(Outcome) - 1
        for k, outcome in enumerate(Outcome):
            button = QToolButton()
            button.setObjectName("job")
            button.setProperty("end", "first" if k == 0 else "last" if k == last else "middle")
            button.setText(outcome.value)
            button.setCheckable(True)
            button.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
            button.setAccessibleName(f"the print was {outcome.value}")
            button.setChecked(outcome is typed.outcome)
            button.toggled.connect(self._follow)
            group.addButton(button)
            self.outcomes[outcome] = button
        switch = QWidget()
        line = QHBoxLayout(switch)
        line.setContentsMargins(0, 0, 0, 0)
        line.setSpacing(0)
        for button in self.outcomes.values():
            line.addWidget(button)
        self.row("It was", switch)
        self.layer = self.field("layer at which it ended", typed.layer, 7)
        of_all = QLabel(f"of {self._asked.layers}" if self._asked.layers else "")
        self.reason = Choice(self)
        self.reason.setAccessibleName("why it failed")
        for text, reason in ((_NO_REASON, ""), *((reason, reason) for reason in REASONS)):
            self.reason.addItem(text, reason)
        self.reason.setCurrentIndex(max(self.reason.findData(typed.reason), 0))
        self.words = self.field("in words", typed.words)
        self._of_stopped = [self.row("At layer", self.layer, of_all, self._enter("layer", self.layer))]
        self._of_failed = [self.row("Why", self.reason)]
        self._of_stopped.append(self.row("In words", self.words))

    def _amounts(self, typed: TypedPrint, currency: str) -> None:
        self.spool = Choice(self)
        self.spool.setAccessibleName("spool it drew from")
        self.spool.setSizeAdjustPolicy(Choice.SizeAdjustPolicy.AdjustToContents)
        self.spool.addItem(NO_SPOOL, "")
        if typed.spool:
            self.spool.addItem(typed.spool, typed.spool)
            self.spool.setCurrentIndex(1)
        self.weight = self.field("weight of the print, g", typed.weight, 14, "not weighed")
        self.charge = self.field(f"charge, {currency}" if currency else "charge", typed.charge, 14)
        self.row("Spool", self.spool)
        self.row("Weight", self.weight, QLabel("g"), self._enter("weight", self.weight))
        self.row("Charge", self.charge, QLabel(currency), self._enter("charge", self.charge))

    def _enter(self, name: str, field: QLineEdit, note: QLabel | None = None) -> QLabel:
        """Return where it is said what is wrong in a field; hidden until something is."""
        if note is None:
            note = QLabel(wordWrap=True)
            note.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Preferred)
            note.hide()
        self.entries[name] = field, note
        field.textChanged.connect(self._forgive)
        return note

    # followed ----------------------------------------------------------------------------------------

    def _follow(self, _of: object = None) -> None:
        """Show the fields that belong to the outcome, and how long it took."""
        outcome = self.outcome
        for boxes, shown in (
            (self._of_stopped, outcome is not Outcome.DONE),
            (self._of_failed, outcome is Outcome.FAILED),
        ):
            for box in boxes:
                self._show_row(box, shown)
        self.took.setText(took_text(self.typed(), self._asked.base.computed_s, datetime.now()))

    def _show_row(self, box: QWidget, shown: bool) -> None:
        at = self.grid.getItemPosition(self.grid.indexOf(box))
        assert isinstance(at, tuple)
        name = self.grid.itemAtPosition(at[0], 0)
        for widget in (box, name.widget() if name is not None else None):
            if widget is not None:
                widget.setVisible(shown)

    def _fill_spools(self, states: list[SpoolState]) -> None:
        """Offer the spools that are in use, and the one that was said."""
        chosen = str(self.spool.currentData() or "")
        self.spool.clear()
        self.spool.addItem(NO_SPOOL if states else "no spool is noted in the log", "")
        for state in states:
            if state.spool.emptied is None or state.spool.label == chosen:
                self.spool.addItem(spool_text(state), state.spool.label)
        self.spool.setCurrentIndex(max(self.spool.findData(chosen), 0))
