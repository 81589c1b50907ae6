"""Expected and actual: why a print takes longer than somebody was told, and where the time goes."""

from __future__ import annotations

from dataclasses import dataclass
from functools import partial
from typing import Final

from PySide6.QtGui import QShowEvent
from PySide6.QtWidgets import (
    QHBoxLayout,
    QLabel,
    QLineEdit,
    QListWidget,
    QListWidgetItem,
    QVBoxLayout,
    QWidget,
)

from viewer.errors import BeadlineError
from viewer.program import Program
from viewer.shown.cause_words import cause_title
from viewer.shown.durations import seconds_of, typed_text
from viewer.shown.log_text import took_text
from viewer.shown.numbers import duration_text
from viewer.shown.overrun_rows import assumption_sentence, headline
from viewer.shown.place_rows import place_words, speed_words
from viewer.shown.window.model.dear_places import go_to_place, show_place
from viewer.shown.window.model.notices import NOT_WHOLE
from viewer.shown.window.model.view_state import ViewState
from viewer.shown.window.overrun.waterfall import Waterfall
from viewer.shown.window.overrun.waterfall_bars import waterfall_bars
from viewer.shown.window.threads.newest_task import NewestTask, Run, sentence_of
from viewer.shown.window.widgets.entries import mark_entry
from viewer.shown.window.widgets.scrolled import scrolled
from viewer.shown.window.widgets.texts import sized, unbroken
from viewer.shown.window.widgets.until_destroyed import end_with, listen_until_destroyed
from viewer.why.causes import Cause
from viewer.why.overrun import Overrun, overrun
from viewer.why.places import Place, dearest_places

MOST_PLACES: Final = 12
_NO_PROGRAM: Final = "No program is open. Open one to see where its time goes."
_AT_WORK: Final = "The time is being taken apart…"
_LEAST_LINES: Final = 5
"""Of text in the list of places; a lower pane scrolls."""


@dataclass(frozen=True, slots=True)
class _Found:
    """What is shown of one program."""

    overrun: Overrun
    places: tuple[Place, ...]


class OverrunPane(QWidget):
    """Headline, sentence, two fields, waterfall, and the dearest places, each of which leads there."""

    def __init__(self, state: ViewState, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._state = state
        self._shown: Program | None = None
        self.found: _Found | None = None
        self._dearest: tuple[Place, ...] | None = None
        """Of `_shown`, whatever was expected; None: not found yet."""
        self.headline, self.sentence, self.origin = QLabel(self), QLabel(self), QLabel(self)
        self._from_log = ""
        """What was put into the field *it took* from the print log; a person may have written over it."""
        self.expected, self.took = QLineEdit(self), QLineEdit(self)
        self.waterfall = Waterfall(self)
        self.places, self.places_head = QListWidget(self), QLabel(self)
        self._task = NewestTask("overrun", self)
        self._arrange()
        self._connect()
        self._show()

    def _arrange(self) -> None:
        sized(self.headline, "value")
        fields = QHBoxLayout()
        for text, field, hint in (
            ("expected", self.expected, "as the program says"),
            ("it took", self.took, "not known"),
        ):
            label = QLabel(text, self)
            label.setBuddy(field)
            field.setPlaceholderText(hint)
            field.setToolTip("As 3h, 2h45m, 95m or 2:45 (hours and minutes); empty: " + hint)
            field.setAccessibleName(text)
            fields.addWidget(label)
            fields.addWidget(field, 1)
        for line in (self.headline, self.sentence, self.origin):
            line.setWordWrap(True)
        self.places.setAccessibleName("costliest places")
        self.places.setWordWrap(True)
        self.setFocusProxy(self.places)
        self.places.setMinimumHeight(_LEAST_LINES * self.fontMetrics().lineSpacing())
        content = QWidget(self)
        column = QVBoxLayout(content)
        column.setContentsMargins(8, 6, 8, 0)
        column.addWidget(self.headline)
        column.addWidget(self.sentence)
        column.addLayout(fields)
        column.addWidget(self.origin)
        self.origin.hide()
        column.addWidget(self.waterfall)
        self.places_head.setBuddy(self.places)
        self.places_head.setWordWrap(True)
        column.addWidget(self.places_head)
        column.addWidget(self.places, 1)
        scrolled(content, self)

    def _connect(self) -> None:
        for field in (self.expected, self.took):
            field.editingFinished.connect(self._compute)
        self.places.itemClicked.connect(self._go)
        self.places.itemActivated.connect(self._go)
        self._task.done.connect(self._take)
        self._task.failed.connect(lambda problem: self.sentence.setText(sentence_of(problem)))
        self.waterfall.pressed.connect(lambda cause: self._state.look_at_cause(Cause(cause)))
        listen = partial(listen_until_destroyed, self, self._state)
        listen(self._take_past, "past")
        listen(self._show, "program")
        listen(self._tell_headline, "trial")
        listen(self._fill_places, "times")
        listen(self._mark_place, "place")
        end_with(self, self._task.cancel)

    @property
    def busy(self) -> bool:
        """Whether the time is being taken apart."""
        return self._task.busy

    def showEvent(self, event: QShowEvent) -> None:
        """Take apart what came while the pane was hidden."""
        super().showEvent(event)
        self._show()

    def _show(self) -> None:
        """Take the time of the program on show apart, if anybody sees it."""
        program = self._state.program
        if program is self._shown and program is not None and not self._state.partial:
            return
        if self._shown is None or program is None or program.path != self._shown.path:
            for field in (self.expected, self.took):
                field.clear()
                mark_entry(field, "")
        if self.took.text() == self._from_log:
            self.took.clear()
        self._from_log = ""
        self._task.cancel()
        self._shown = self.found = self._dearest = None
        self.waterfall.show_bars(())
        self._fill_places()
        self.headline.clear()
        if program is None or self._state.partial:
            self.sentence.setText(_NO_PROGRAM if program is None else NOT_WHOLE)
        elif self.isVisible():
            self._shown = program
            self._fill_in()
            self.sentence.setText(_AT_WORK)
            self._compute()

    def _take_past(self) -> None:
        """Use what the print log says of the program on show."""
        if self._fill_in():
            self._compute()

    def _fill_in(self) -> bool:
        """Put how long this very program took before into its field, where nobody wrote there; return if that is new."""
        took = None if self._state.past is None else self._state.past.took
        text = "" if took is None else typed_text(took.seconds)
        is_new = self.took.text() == self._from_log != text
        if is_new:
            self._from_log = text
            self.took.setText(text)
        return is_new

    def _tell_origin(self) -> None:
        """Say where the actual time comes from."""
        is_from_log = bool(self._from_log) and self.took.text() == self._from_log
        self.origin.setText(took_text(self._state.past) if is_from_log else "")
        self.origin.setVisible(bool(self.origin.text()))

    def _compute(self) -> None:
        self._tell_origin()
        if self._shown is None:
            return
        times: list[float | None] = []
        for field in (self.expected, self.took):
            try:
                times.append(seconds_of(field.text()) if field.text().strip() else None)
            except BeadlineError as problem:
                self._refuse(field, str(problem))
                return
            mark_entry(field, "")
        self._task.start(partial(_taken_apart, self._shown, times[0], times[1], self._dearest))

    def _refuse(self, field: QLineEdit, sentence: str) -> None:
        """Say what is wrong in a field, and show nothing: it would tell what other values gave."""
        self._task.cancel()
        self.found = None
        self.headline.clear()
        self.waterfall.show_bars(())
        self.sentence.setText(sentence)
        mark_entry(field, sentence)

    def _take(self, found: object) -> None:
        assert isinstance(found, _Found)
        self.found, self._dearest = found, found.places
        self._tell_headline()
        none = "The program states no time; type in what you were told, to compare it."
        self.sentence.setText(assumption_sentence(found.overrun) or none)
        self.waterfall.show_bars(waterfall_bars(found.overrun))
        self._fill_places()

    def _tell_headline(self) -> None:
        """Say what takes how long; under a trial that it is said of the card."""
        if self.found is not None:
            of_card = "" if self._state.trial is None else ", as on the card"
            self.headline.setText(headline(self.found.overrun) + of_card)

    # ---- dearest places

    @property
    def _listed(self) -> tuple[Place, ...]:
        """The places of the cause that is looked at, or of all causes."""
        if self._state.times is not None:
            return self._state.times.places
        return () if self.found is None or self._state.cause is not None else self.found.places

    def _fill_places(self) -> None:
        times = self._state.times
        trial = "" if times is None or self._state.trial is None else ", under the trial"
        self.places_head.setText(
            "Costliest places" if times is None else f"Costliest places, {cause_title(times.cause)}{trial}"
        )
        self.places.clear()
        for place in self._listed:
            words = f"{duration_text(place.seconds)}: {place_words(place, self._state.layers)}"
            self.places.addItem(QListWidgetItem(unbroken(f"{words}\n{speed_words(place)}")))
        self._mark_place()

    def _mark_place(self) -> None:
        """Mark the place that is on show."""
        number = self._state.place
        if self._state.times is not None and number is not None and number < self.places.count():
            self.places.setCurrentRow(number)
            self.places.scrollToItem(self.places.item(number))

    def step_place(self, by: int) -> None:
        """Go to the next place of the list (1), or to the one before (-1)."""
        if self.places.count():
            row = min(max(self.places.currentRow() + by, 0), self.places.count() - 1)
            self.places.setCurrentRow(row)
            self._go(self.places.item(row))

    def _go(self, item: QListWidgetItem) -> None:
        """Go to a place: its dearest layer, and where on the plate it lies."""
        row = self.places.row(item)
        if self._state.times is not None:
            show_place(self._state, row)
        elif row < len(self._listed):
            go_to_place(self._state, self._listed[row])


def _taken_apart(
    program: Program,
    expected_s: float | None,
    took_s: float | None,
    known: tuple[Place, ...] | None,
    _run: Run,
) -> _Found:
    """Take the time apart; the dearest places do not depend on what was expected, and are looked for once."""
    places = dearest_places(program, MOST_PLACES) if known is None else known
    return _Found(overrun(program, expected_s, took_s), places)
