"""The Program pane: the text, the current line, every word of it explained, and what holds there.

::

    state.selected --line--> LineView.current --person--> state.select_line
                                 |
                                 +--> explain_line, modes_at --> Explanation
"""

from __future__ import annotations

from functools import partial
from typing import Final

from PySide6.QtCore import QPoint, Qt, Slot
from PySide6.QtGui import QGuiApplication, QKeySequence, QResizeEvent, QShortcut
from PySide6.QtWidgets import (
    QSplitter,
    QToolTip,
    QVBoxLayout,
    QWidget,
)

from viewer.errors import ReadError
from viewer.lesson.sentence import as_sentence, line_said
from viewer.numerals import count_text, counted_text
from viewer.program import Program
from viewer.read.explain import explain_line
from viewer.read.find_text import find_line
from viewer.shown.window.model.view_state import ViewState
from viewer.shown.window.text.explanation import Explanation
from viewer.shown.window.text.find_bar import FindBar
from viewer.shown.window.text.line_source import LineSource
from viewer.shown.window.text.line_texts import line_summary
from viewer.shown.window.text.line_view import LineView
from viewer.shown.window.text.mode_lookup import ModeLookup
from viewer.shown.window.threads.newest_task import NewestTask, sentence_of
from viewer.shown.window.widgets.until_destroyed import end_with, listen_until_destroyed

NO_PROGRAM: Final = "No program is open."
NO_LINE: Final = "Choose a line, or a bead in the picture: every word of it is explained here."
ROOMY_LINES: Final = 11
"""A pane of fewer lines of text shows the fields to find and to go to only while they are used."""
MAX_COPIED: Final = 100_000
"""Lines that are copied at once: some megabytes."""


class ProgramText(QWidget):
    """The program's text with its explanation."""

    def __init__(self, state: ViewState, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.state = state
        self.lines = LineView()
        self.explanation = Explanation()
        self._program: Program | None = None
        self._followed = 0
        """The line of the move that was selected last; 0: none was."""
        self._split_by_hand = False
        self._mode_work, self._find_work = ModeLookup(self), NewestTask("finding", self)
        self._arrange()
        self._connect()
        self._show_program()

    # built up ----------------------------------------------------------------------------------------

    def _arrange(self) -> None:
        self._bar = bar = FindBar()
        self._wanted, self._number, self._message = bar.wanted, bar.number, bar.message
        self._split = QSplitter(Qt.Orientation.Horizontal, childrenCollapsible=False)
        self._split.addWidget(self.lines)
        self._split.addWidget(self.explanation)
        self._split.splitterMoved.connect(lambda *_: setattr(self, "_split_by_hand", True))
        whole = QVBoxLayout(self)
        whole.setContentsMargins(0, 0, 0, 0)
        whole.setSpacing(0)
        whole.addWidget(self._bar)
        whole.addWidget(self._split, 1)
        self.setFocusProxy(self.lines)

    @property
    def busy(self) -> bool:
        """Whether something is looked for in the program's text."""
        return self._mode_work.busy or self._find_work.busy

    def _connect(self) -> None:
        self.lines.current_changed.connect(self._person_chose)
        self.lines.word_wanted.connect(self._explain_word)
        self._bar.wants_find.connect(self.find)
        self._bar.wants_line.connect(self._go_to_typed)
        self._bar.left.connect(self._leave_find)
        self._mode_work.changed.connect(self._explain)
        self._find_work.done.connect(self._take_found)
        self._find_work.failed.connect(lambda problem: self._say(sentence_of(problem)))
        for keys, do in (
            (QKeySequence(QKeySequence.StandardKey.Find), self.start_find),
            (QKeySequence("F3"), lambda: self._bar.find_typed(True)),
            (QKeySequence("Shift+F3"), lambda: self._bar.find_typed(False)),
            (QKeySequence(QKeySequence.StandardKey.Copy), self.copy),
        ):
            shortcut = QShortcut(keys, self.lines if do == self.copy else self)
            shortcut.setContext(Qt.ShortcutContext.WidgetWithChildrenShortcut)
            shortcut.activated.connect(do)
        listen = partial(listen_until_destroyed, self, self.state)
        listen(self._show_program, "program")
        listen(self._follow_selection, "selection")
        listen(self._on_teaching, "teaching")
        end_with(self, self._mode_work.end, self._find_work.end)

    def _say(self, text: str) -> None:
        """Say how a search ended, or what was copied."""
        self._message.setText(text)
        self._fold()

    def _on_teaching(self) -> None:
        """Say the sentence first in a lesson, and leave more room to it."""
        self._fold()
        self._share()
        self._explain()

    def _share(self) -> None:
        """Share the room between lines and explanation, until a person does; words and modes side by side need width."""
        if not self._split_by_hand:
            share = 35 if self.state.teaching else 42 if self.width() > 3 * self.height() else 58
            self._split.setSizes([share * 10, 1000 - share * 10])

    def _fold(self) -> None:
        """Leave a low pane to the lines: what finds and goes to lines is there when it is asked for."""
        self._bar.fold(self.width())
        roomy = self.height() >= ROOMY_LINES * self.fontMetrics().height() and not self.state.teaching
        self._bar.setVisible(roomy or self._bar.used)

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Put the explanation beside the lines where there is room, else below."""
        super().resizeEvent(event)
        self._fold()
        beside = self.width() >= 560 or self.width() > self.height()
        self._split.setOrientation(Qt.Orientation.Horizontal if beside else Qt.Orientation.Vertical)
        self._share()

    # what actions call -------------------------------------------------------------------------------

    def go_to_line(self, number: int) -> None:
        """Make a line the current one, or the nearest there is, and select what it makes."""
        if self._program is None:
            return
        number = min(max(number, 1), self._program.texts.lines)
        self.lines.set_current(number)
        self._person_chose(number)

    def follow_line(self, number: int) -> None:
        """Show and explain the line that runs; what is selected stays as it is."""
        if self._program is not None and self.isVisible() and number != self.lines.current:
            self.lines.set_current(number)
            self._explain()

    def find(self, text: str, forward: bool = True) -> None:  # type: ignore[override] # not Qt's by window id
        """Look for a text from the current line on, round the end; the window stays usable meanwhile."""
        if self._program is None or not text:
            return
        texts = self._program.texts
        start = self.lines.current or (
            texts.lines if forward else 1
        )  # without a line: from the end round, or up
        if self._wanted.text() != text:
            self._wanted.setText(text)
        self._find_from, self._find_forward = (
            self.lines.current or (0 if forward else texts.lines + 1),
            forward,
        )
        self._say("Looking …")
        self._find_work.start(lambda run: find_line(texts, text, start, forward, run.stop))

    def stop_finding(self) -> None:
        """Stop looking for a text."""
        if self._find_work.busy:
            self._find_work.cancel()
            self._say("Stopped looking.")

    def _leave_find(self) -> None:
        self.stop_finding()
        self._message.clear()
        self.lines.setFocus()
        self._fold()

    def start_find(self) -> None:
        """Put the cursor where the text to find is typed."""
        self._bar.ask(self._wanted)

    def start_go_to(self) -> None:
        """Put the cursor where the number of a line is typed."""
        self._bar.ask(self._number)

    def copy(self) -> None:
        """Put the chosen lines on the clipboard."""
        chosen = self.lines.chosen()
        if self._program is None or not chosen:
            return
        try:
            found = self._program.texts.fetch(chosen[0], min(len(chosen), MAX_COPIED))
        except ReadError as problem:
            self._say(str(problem))
            return
        QGuiApplication.clipboard().setText("\n".join(found))
        lines = f"line {chosen[0]}" if len(chosen) == 1 else counted_text(len(found), "line")
        cut = f" (of {count_text(len(chosen))}; no more fit)" if len(found) < len(chosen) else ""
        self._say(f"Copied {lines}{cut}.")

    # followed ----------------------------------------------------------------------------------------

    def _show_program(self) -> None:
        program = self.state.program
        if program is self._program and program is not None:
            return
        self._find_work.cancel()
        self._say("")
        if self._program is None or program is None or self._program.path != program.path:
            self.lines.show_source(None)  # the line that was chosen in another file means nothing here
        self._program = program
        self._mode_work.follow(program)
        self.lines.show_source(None if program is None else LineSource(program.texts))
        self._bar.set_there(program is not None)
        self._follow_selection()
        self._explain()

    def _follow_selection(self) -> None:
        """Mark and explain the line of the selected move; forget it when nothing is selected any more."""
        if self._program is None:
            return
        if self.state.selected is None:
            if self._followed and self._followed == self.lines.current:
                self.lines.clear_current()
                self._explain()
            self._followed = 0
            return
        self._followed = number = int(self._program.moves.line[self.state.selected])
        if number != self.lines.current:
            self.lines.set_current(number)
            self._explain()

    @Slot(int)
    def _person_chose(self, number: int) -> None:
        self._explain()
        self.state.select_line(number)

    @Slot(object)
    def _take_found(self, number: int | None) -> None:
        if number is None:
            self._say("Nowhere in this program.")
            return
        passed = number <= self._find_from if self._find_forward else number >= self._find_from
        round_end = "beginning" if self._find_forward else "end"
        self._say(f"Line {number}, found again from the {round_end}." if passed else f"Line {number}.")
        self.go_to_line(number)

    @Slot(int)
    def _go_to_typed(self, wanted: int) -> None:
        if self._program is not None:
            last = self._program.texts.lines
            self.go_to_line(wanted)
            self._say(f"The program has {counted_text(last, 'line')}." if wanted > last else "")
            self.lines.setFocus()
            self._fold()

    # explained ---------------------------------------------------------------------------------------

    def _explain(self) -> None:
        number, source = self.lines.current, self.lines.source
        if self._program is None or source is None or not number:
            self.explanation.explain(0, "", [], None, NO_PROGRAM if self._program is None else NO_LINE)
            return
        text = source.raw(number)
        self._mode_work.begin(self.state.partial)
        modes = self._mode_work.at(number)
        words = None if source.problem else explain_line(text, modes)
        hint = source.problem or (self._mode_work.hint if modes is None else "")
        said = line_said(self._program, number) if self.state.teaching else ""
        sentence = as_sentence("this line", said) if said else ""
        self.explanation.explain(number, line_summary(self._program, number), words, modes, hint, sentence)

    @Slot(int, int, QPoint)
    def _explain_word(self, number: int, place: int, where: QPoint) -> None:
        assert self.lines.source is not None
        for found in explain_line(self.lines.source.raw(number), self._mode_work.at(number)):
            if found.start <= place < found.end:
                QToolTip.showText(where, f"{found.word[:80]}: {found.meaning}", self.lines)
                return
        QToolTip.hideText()
