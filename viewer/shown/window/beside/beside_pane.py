"""The program on show beside another one: why the other takes longer, where, and what only one of them lays."""

from __future__ import annotations

from dataclasses import dataclass
from functools import partial
from pathlib import Path
from typing import Final

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QHideEvent, QShowEvent
from PySide6.QtWidgets import (
    QHBoxLayout,
    QLabel,
    QListWidget,
    QListWidgetItem,
    QPushButton,
    QVBoxLayout,
    QWidget,
)

from viewer.errors import Stopped
from viewer.program import Program, open_program, with_cards
from viewer.read.blocks import Source
from viewer.shown.compare_rows import compare_sentence
from viewer.shown.numbers import duration_text
from viewer.shown.window.beside.beside_rows import (
    areas_text,
    cause_lines,
    layer_lines,
    left_out,
    setting_lines,
)
from viewer.shown.window.beside.difference_bars import DifferenceBars
from viewer.shown.window.model.notices import NOT_WHOLE
from viewer.shown.window.model.view_state import AFTER_MS, ViewState
from viewer.shown.window.threads.newest_task import NewestTask, Run, sentence_of
from viewer.shown.window.widgets.delayed_update import DelayedUpdate
from viewer.shown.window.widgets.scrolled import scrolled
from viewer.shown.window.widgets.texts import sized, unbroken
from viewer.shown.window.widgets.until_destroyed import end_with, listen_until_destroyed
from viewer.why.areas import Areas, areas_at
from viewer.why.causes import Cause
from viewer.why.compare import Comparison, compare

_NONE: Final = "No other program is chosen. Choose one to see what differs: times, layers, areas, settings."
_NO_PROGRAM: Final = "No program is open. Open one, then choose another to compare it with."
_LEAST_LINES: Final = 6
"""Of text in the list of layers; a lower pane scrolls."""


@dataclass(frozen=True, slots=True, eq=False)
class _Found:
    """Two programs, both under the cards of the first, and what differs."""

    a: Program
    b: Program
    comparison: Comparison


class BesidePane(QWidget):
    """Sentence, bars by cause, layers that differ, settings; the plot hatches what only one of the programs lays."""

    wanted = Signal()
    """A person wants to choose the other program."""

    def __init__(self, state: ViewState, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._state = state
        self._path: Path | None = None
        """The other program's file."""
        self.found: _Found | None = None
        self._opened: list[Source] = []
        """Of the other programs that were read; a packed one has a temporary copy until it is closed."""
        self.sentence, self.files, self.areas = QLabel(self), QLabel(self), QLabel(self)
        self.matched, self.settings = QLabel(self), QLabel(self)
        self.bars, self.layers = DifferenceBars(self), QListWidget(self)
        self.choose, self.end = QPushButton("Choose a program…", self), QPushButton("End comparing", self)
        self._comparing, self._drawing = NewestTask("compare", self), NewestTask("areas", self)
        self._later = DelayedUpdate(self._find_areas, AFTER_MS, self)
        self._heads = [
            QLabel(text, self) for text in ("Time by cause", "Layers that differ", "Settings that differ")
        ]
        self._arrange()
        self._connect()
        self._show()

    def _arrange(self) -> None:
        for head in (self.sentence, *self._heads):
            sized(head, "strong")
        for label in (self.sentence, self.files, self.areas, self.matched, self.settings):
            label.setWordWrap(True)
        self.settings.setTextInteractionFlags(Qt.TextInteractionFlag.TextSelectableByMouse)
        self.layers.setAccessibleName("layers that differ")
        self.layers.setWordWrap(True)
        self.layers.setMinimumHeight(_LEAST_LINES * self.fontMetrics().lineSpacing())
        self.setFocusProxy(self.choose)
        buttons, content = QHBoxLayout(), QWidget(self)
        for button in (self.choose, self.end):
            buttons.addWidget(button)
        buttons.addStretch(1)
        column = QVBoxLayout(content)
        column.setContentsMargins(8, 6, 8, 6)
        column.addWidget(self.sentence)
        column.addWidget(self.files)
        column.addLayout(buttons)
        by_cause, differing, stated = self._heads
        parts: tuple[QWidget, ...] = (self.areas, by_cause, self.bars, differing, self.matched)
        for part in parts:
            column.addWidget(part)
        column.addWidget(self.layers, 1)
        column.addWidget(stated)
        column.addWidget(self.settings)
        column.addStretch(0)
        scrolled(content, self)

    def _connect(self) -> None:
        self.choose.clicked.connect(self.wanted)
        self.end.clicked.connect(self._end)
        self.bars.pressed.connect(lambda cause: self._state.look_at_cause(Cause(cause)))
        self.layers.itemClicked.connect(self._go)
        self.layers.itemActivated.connect(self._go)
        self._comparing.done.connect(self._take)
        self._comparing.failed.connect(self._complain)
        self._drawing.done.connect(self._take_areas)
        self._drawing.failed.connect(self._complain)
        listen = partial(listen_until_destroyed, self, self._state)
        listen(self._program_changed, "program")
        listen(self._later.start, "layer")
        listen(self._tell_areas, "areas")
        end_with(self, partial(_end_all, self._comparing, self._drawing, self._opened))

    @property
    def busy(self) -> bool:
        """Whether the other program is being read, or areas are being found, or are to be."""
        return self._comparing.busy or self._drawing.busy or self._later.isActive()

    def compare_with(self, path: Path) -> None:
        """Read another program and put it beside the one on show."""
        self._forget()
        self._path = path
        self._compute()

    def stop(self) -> None:
        """Compare nothing any more, and delete what was unpacked for it."""
        self._later.stop()
        _end_all(self._comparing, self._drawing, self._opened)

    def showEvent(self, event: QShowEvent) -> None:
        """Hatch again what differs."""
        super().showEvent(event)
        self._later.start()

    def hideEvent(self, event: QHideEvent) -> None:
        """Take the hatching away: nothing would say what it means."""
        super().hideEvent(event)
        self._drawing.cancel()
        self._later.stop()
        self._state.show_areas(None)

    def _end(self) -> None:
        self._forget()
        self._show()

    def _forget(self) -> None:
        """Forget the other program, and take away the hatching that came of it."""
        self.stop()
        self._path, self.found = None, None
        self._state.show_areas(None)

    # ---- comparing

    def _program_changed(self) -> None:
        """Compare with another state of the same file again; with another file comparing has ended."""
        a, found = self._state.program, self.found
        if a is None or (found is not None and found.a.path != a.path):
            self._end()
        elif self._path is not None and (found is None or found.a is not a):
            self._compute()
        else:
            self._show()

    def _compute(self) -> None:
        a = self._state.program
        if a is None or self._path is None or self._state.partial:
            self._show()
            return
        known = self.found.b if self.found is not None and self.found.b.path == self._path else None
        self._comparing.start(partial(_compared, a, self._path, known, self._opened))
        self._show(f"{self._path.name} is being read and compared…")

    def _take(self, found: object) -> None:
        assert isinstance(found, _Found)
        if found.a is self._state.program:
            self.found = found
            _close_all(self._opened, but=found.b.source)
            self._show()
            self._later.start()

    def _complain(self, problem: object) -> None:
        assert isinstance(problem, BaseException)
        self._forget()
        self._show(sentence_of(problem))

    # ---- showing

    def _show(self, sentence: str = "") -> None:
        found, a = self.found, self._state.program
        there = found is not None and not sentence
        for widget in (
            self.files,
            self.areas,
            self.bars,
            self.layers,
            self.matched,
            self.settings,
            *self._heads,
        ):
            widget.setVisible(there)
        self.end.setVisible(self._path is not None)
        self.choose.setEnabled(a is not None and not self._state.partial)
        self.choose.setText("Another program…" if there else "Choose a program…")
        if found is None or sentence:
            usual = _NO_PROGRAM if a is None else NOT_WHOLE if self._state.partial else _NONE
            self.sentence.setText(sentence or usual)
            return
        self.sentence.setText(compare_sentence(found.comparison))
        self.files.setText(
            "\n".join(
                f"{name}: {program.path.name}, {duration_text(program.timing.total_s)}"
                for name, program in (("A", found.a), ("B", found.b))
            )
        )
        self.bars.show_lines(cause_lines(found.comparison))
        self._fill(found.comparison)
        self._tell_areas()

    def _fill(self, comparison: Comparison) -> None:
        self.layers.clear()
        lines = layer_lines(comparison.layers) if comparison.layers.both else ()  # each layer would be a line
        for line in lines:
            item = QListWidgetItem(unbroken(line.text))
            item.setData(Qt.ItemDataRole.UserRole, line.layer_a)
            self.layers.addItem(item)
        self.layers.setVisible(bool(lines))
        self.matched.setText(
            left_out(comparison.layers, len(lines))
            + ("" if lines or not comparison.layers.both else "; none differs")
        )
        self.settings.setText("\n".join(setting_lines(comparison)) or "None.")

    def _go(self, item: QListWidgetItem) -> None:
        """Show a layer that differs; of those that only B has there is none."""
        number = int(item.data(Qt.ItemDataRole.UserRole))
        if number:
            self._state.show_layer(number)

    # ---- areas

    def _find_areas(self) -> None:
        found, layer = self.found, self._state.layer
        if found is not None and layer and self.isVisible() and found.a is self._state.program:
            self._drawing.start(partial(_areas, found.a, found.b, layer))

    def _take_areas(self, areas: object) -> None:
        assert isinstance(areas, Areas)
        if areas.layer == self._state.layer:
            self._state.show_areas(areas)

    def _tell_areas(self) -> None:
        self.areas.setText(areas_text(self._state.areas, self._state.layer))


def _compared(a: Program, path: Path, known: Program | None, opened: list[Source], run: Run) -> _Found:
    """Read the other program under the cards of the first, and compare them; `opened` notes what must be closed."""
    cards = a.cards
    if known is None:
        b = open_program(path, cards.printer, cards.filament, cards.workshop, stop=run.stop)
        opened.append(b.source)
        if run.stop():  # asked after it is noted: whoever cancels this work closes what is noted by then
            b.close()
            raise Stopped
    else:
        b = with_cards(known, cards.printer, cards.filament, cards.workshop)
    return _Found(a, b, compare(a, b))


def _end_all(comparing: NewestTask, drawing: NewestTask, opened: list[Source]) -> None:
    """Stop what is under way, and close what was read."""
    comparing.cancel()
    drawing.cancel()
    _close_all(opened)


def _close_all(opened: list[Source], but: Source | None = None) -> None:
    """Close what was read, but for one."""
    for source in tuple(opened):
        if source is not but:
            source.close()
            opened.remove(source)


def _areas(a: Program, b: Program, layer: int, _run: Run) -> Areas:
    return areas_at(a, b, layer)
