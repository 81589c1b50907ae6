"""The Program pane: the text, the current line, every word of it explained, and what holds there.

::

    state.selected --line--> LineView.current --person--> state.select_line
                                 |
                                 +--> explain_line, modes_at --> Explanation
"""

from __future__ import annotations

import contextlib
from typing import Final

from PySide6.QtCore import QEvent, QObject, QPoint, Qt, Slot
from PySide6.QtGui import QGuiApplication, QIntValidator, QKeyEvent, QKeySequence, QResizeEvent, QShortcut
from PySide6.QtWidgets import (
    QHBoxLayout,
    QLabel,
    QLineEdit,
    QSplitter,
    QToolButton,
    QToolTip,
    QVBoxLayout,
    QWidget,
)

from viewer.errors import ReadError
from viewer.program import Program
from viewer.read.explain import explain_line
from viewer.read.find_text import find_line
from viewer.read.modes import ModeLines, Modes, modes_at, read_modes
from viewer.shown.numbers import count_text
from viewer.shown.window.model.view_state import ViewState
from viewer.shown.window.style.icons import icon
from viewer.shown.window.style.tones import is_dark
from viewer.shown.window.text.explanation import Explanation
from viewer.shown.window.text.line_source import LineSource
from viewer.shown.window.text.line_texts import line_summary
from viewer.shown.window.text.line_view import LineView
from viewer.shown.window.threads.background import Background
from viewer.shown.window.widgets.short_label import ShortLabel

NO_PROGRAM: Final = "No program is open."
NO_LINE: Final = "Choose a line, or a bead in the picture: every word of it is explained here."
LOOKING_UP: Final = "Units and counting at this line are being looked up …"
NOT_READ: Final = "Units and counting at this line are looked up when all of the program has been read."
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
        self._mode_lines: ModeLines | None = None
        self._modes_hint = ""
        self._split_by_hand = False
        self._asked = False
        self._mode_work, self._find_work = Background(), Background()
        self._arrange()
        self._connect()
        self._show_program()

    # built up ----------------------------------------------------------------------------------------

    def _arrange(self) -> None:
        self._wanted = QLineEdit(placeholderText="Find in the program", clearButtonEnabled=True)
        self._number = QLineEdit(placeholderText="Line")
        self._number.setValidator(QIntValidator(1, 2_000_000_000))
        self._number.setFixedWidth(self._number.fontMetrics().horizontalAdvance("0" * 13))
        self._wanted.setMinimumWidth(self._wanted.fontMetrics().horizontalAdvance("0" * 20))
        self._wanted.setMaximumWidth(self._wanted.fontMetrics().horizontalAdvance("0" * 36))
        self._up, self._down = QToolButton(autoRaise=True), QToolButton(autoRaise=True)
        self._up.setToolTip("Find upward (Shift+F3)")
        self._down.setToolTip("Find downward (F3 or Enter)")
        self._message = ShortLabel()  # the panes beside it need their room, whatever it says
        self._message.setProperty("faint", True)
        self._bar = QWidget()
        row = QHBoxLayout(self._bar)
        row.setContentsMargins(8, 3, 8, 3)
        row.setSpacing(4)
        row.addWidget(self._wanted, 1)
        row.addWidget(self._up)
        row.addWidget(self._down)
        row.addSpacing(10)
        row.addWidget(QLabel("Go to"))
        row.addWidget(self._number)
        row.addSpacing(10)
        row.addWidget(self._message, 3)
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
        self._draw_icons()

    def _connect(self) -> None:
        self.lines.current_changed.connect(self._person_chose)
        self.lines.word_wanted.connect(self._explain_word)
        self._wanted.returnPressed.connect(lambda: self.find(self._wanted.text(), True))
        self._down.clicked.connect(lambda: self.find(self._wanted.text(), True))
        self._up.clicked.connect(lambda: self.find(self._wanted.text(), False))
        self._number.returnPressed.connect(self._go_to_typed)
        self._mode_work.done.connect(self._take_modes)
        self._mode_work.failed.connect(self._modes_failed)
        self._find_work.done.connect(self._take_found)
        self._find_work.failed.connect(self._say)
        for keys, do in (
            (QKeySequence(QKeySequence.StandardKey.Find), self.start_find),
            (QKeySequence("F3"), lambda: self.find(self._wanted.text(), True)),
            (QKeySequence("Shift+F3"), lambda: self.find(self._wanted.text(), False)),
            (QKeySequence(QKeySequence.StandardKey.Copy), self.copy),
        ):
            shortcut = QShortcut(keys, self.lines if do == self.copy else self)
            shortcut.setContext(Qt.ShortcutContext.WidgetWithChildrenShortcut)
            shortcut.activated.connect(do)
        for field in (self._wanted, self._number):
            field.installEventFilter(self)
        ends = [
            self.state.listen("program", self._show_program),
            self.state.listen("selection", self._follow_selection),
        ]
        ends += [self._mode_work.end, self._find_work.end]
        self.destroyed.connect(lambda: [end() for end in ends])

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        """Leave a field on Esc; claimed first, for the window has an action of that key."""
        esc = isinstance(event, QKeyEvent) and event.key() == Qt.Key.Key_Escape
        if esc and event.type() == QEvent.Type.ShortcutOverride:
            event.accept()
            return True
        if esc and event.type() == QEvent.Type.KeyPress:
            self._leave_find()
            return True
        return super().eventFilter(watched, event)

    def changeEvent(self, event: QEvent) -> None:
        """Draw the icons again when light turns dark."""
        super().changeEvent(event)
        if event.type() == QEvent.Type.PaletteChange and hasattr(self, "_up"):
            self._draw_icons()

    def _draw_icons(self) -> None:
        dark = is_dark(self)
        self._up.setIcon(icon("find_up", dark))
        self._down.setIcon(icon("find_down", dark))

    def _say(self, text: str) -> None:
        """Say how a search ended, or what was copied."""
        self._message.setText(text)
        self._fold()

    def _fold(self) -> None:
        """Leave a low pane to the lines: what finds and goes to lines is there when it is asked for."""
        roomy = self.height() >= ROOMY_LINES * self.fontMetrics().height()
        used = self._asked or any(field.hasFocus() for field in (self._wanted, self._number))
        self._bar.setVisible(roomy or used or bool(self._message.text()))

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Put the explanation beside the lines where there is room, else below."""
        super().resizeEvent(event)
        self._fold()
        beside = self.width() >= 560 or self.width() > self.height()
        self._split.setOrientation(Qt.Orientation.Horizontal if beside else Qt.Orientation.Vertical)
        if not self._split_by_hand:  # a low pane shows words and modes side by side, which needs width
            share = 42 if self.width() > 3 * self.height() else 58
            self._split.setSizes([share * 10, 1000 - share * 10])

    # what actions call -------------------------------------------------------------------------------

    def go_to_line(self, number: int) -> None:
        """Make a line the current one, or the nearest there is, and select what it makes."""
        if self._program is None:
            return
        number = min(max(number, 1), self._program.texts.lines)
        self.lines.set_current(number)
        self._person_chose(number)

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
        self._find_work.start(lambda stop: find_line(texts, text, start, forward, stop))

    def stop_finding(self) -> None:
        """Return up looking for a text."""
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
        self._ask(self._wanted)

    def start_go_to(self) -> None:
        """Put the cursor where the number of a line is typed."""
        self._ask(self._number)

    def _ask(self, field: QLineEdit) -> None:
        """Show the bar and let the keys go to a field of it; the pane may be resized before the field has the focus."""
        self._asked = True
        self._bar.show()
        field.setFocus(Qt.FocusReason.ShortcutFocusReason)
        field.selectAll()
        self._asked = False

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
        lines = f"line {chosen[0]}" if len(chosen) == 1 else f"{count_text(len(found))} lines"
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
        self._program, self._mode_lines = program, None
        self.lines.show_source(None if program is None else LineSource(program.texts))
        for widget in (self._wanted, self._number, self._up, self._down):
            widget.setEnabled(program is not None)
        self._modes_hint = ""
        self._mode_work.cancel()
        self._follow_selection()
        self._explain()

    def _follow_selection(self) -> None:
        if self._program is None or self.state.selected is None:
            return
        number = int(self._program.moves.line[self.state.selected])
        if number != self.lines.current:
            self.lines.set_current(number)
            self._explain()

    @Slot(int)
    def _person_chose(self, number: int) -> None:
        self._explain()
        self.state.select_line(number)

    @Slot(object)
    def _take_modes(self, found: ModeLines) -> None:
        self._mode_lines, self._modes_hint = found, ""
        self._explain()

    @Slot(str)
    def _modes_failed(self, sentence: str) -> None:
        self._modes_hint = sentence
        self._explain()

    @Slot(object)
    def _take_found(self, number: int | None) -> None:
        if number is None:
            self._say("Nowhere in this program.")
            return
        passed = number <= self._find_from if self._find_forward else number >= self._find_from
        round_end = "beginning" if self._find_forward else "end"
        self._say(f"Line {number}, found again from the {round_end}." if passed else f"Line {number}.")
        self.go_to_line(number)

    def _go_to_typed(self) -> None:
        if self._program is not None and self._number.text():
            wanted, last = int(self._number.text()), self._program.texts.lines
            self.go_to_line(wanted)
            self._say(f"The program has {count_text(last)} lines." if wanted > last else "")
            self.lines.setFocus()
            self._fold()

    # explained ---------------------------------------------------------------------------------------

    def _look_up_modes(self) -> None:
        """Look through the file when a line is first chosen: not while it is still being read."""
        program = self._program
        if program is None or self._mode_lines is not None or self._modes_hint not in ("", NOT_READ):
            return  # under way, there, or it failed
        self._modes_hint = NOT_READ
        if not self.state.partial:
            self._modes_hint = LOOKING_UP
            self._mode_work.start(lambda stop: read_modes(program, stop))

    def _modes(self, number: int) -> Modes | None:
        if self._program is None or self._mode_lines is None:
            return None
        with contextlib.suppress(ReadError):  # the view of lines says so already
            return modes_at(self._program, number, self._mode_lines)
        return None

    def _explain(self) -> None:
        number, source = self.lines.current, self.lines.source
        if self._program is None or source is None or not number:
            self.explanation.explain(0, "", [], None, NO_PROGRAM if self._program is None else NO_LINE)
            return
        text = source.raw(number)
        self._look_up_modes()
        modes = self._modes(number)
        words = None if source.problem else explain_line(text, modes)
        hint = source.problem or (self._modes_hint if modes is None else "")
        self.explanation.explain(number, line_summary(self._program, number), words, modes, hint)

    @Slot(int, int, QPoint)
    def _explain_word(self, number: int, place: int, where: QPoint) -> None:
        assert self.lines.source is not None
        for found in explain_line(self.lines.source.raw(number), self._modes(number)):
            if found.start <= place < found.end:
                QToolTip.showText(where, f"{found.word[:80]}: {found.meaning}", self.lines)
                return
        QToolTip.hideText()
