"""`VerdictPane`: the seven answers side by side, above everything else."""

from __future__ import annotations

from typing import Final

from PySide6.QtCore import QEvent, Signal
from PySide6.QtGui import QResizeEvent
from PySide6.QtWidgets import QGridLayout, QWidget

from viewer.checks.questions import Question
from viewer.shown.window.model.view_state import ViewState
from viewer.shown.window.verdict.answer_texts import answers_of, tile_texts
from viewer.shown.window.verdict.answer_tile import AnswerTile
from viewer.shown.window.widgets.delayed_update import DelayedUpdate
from viewer.verdict import Answer

FULL_LETTERS: Final = 19
"""Width of a tile from which on it has room for a sentence."""
ROW_LETTERS: Final = 13
"""Width of a tile below which they stand in two rows."""
LOW_LINES: Final = 38
"""Lines of text in the window below which sentences would take too much of the picture."""


class VerdictPane(QWidget):
    """Follows program and findings; a tile that is pressed asks for the evidence of its answer."""

    wanted = Signal(object)
    """The `Answer` whose evidence is asked for."""

    def __init__(self, state: ViewState, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.state = state
        self.answers: tuple[Answer, ...] = ()
        self.tiles = tuple(AnswerTile(question, self) for question in Question)
        for tile in self.tiles:
            tile.clicked.connect(lambda _checked=False, of=tile.question: self._pressed(of))
        self._grid = QGridLayout(self)
        self._grid.setContentsMargins(0, 0, 0, 0)
        self._grid.setSpacing(0)
        self._rows = 0
        self.setFocusProxy(self.tiles[0])
        self._later = DelayedUpdate(self._tell, 0, self)
        ends = [
            state.listen(topic, self._later.start)
            for topic in ("program", "findings", "start", "halted", "past")
        ]
        self.destroyed.connect(lambda: [end() for end in ends])
        self._lay_out()
        self._tell()

    @property
    def busy(self) -> bool:
        """Whether answers are there and about to be shown."""
        return self._later.isActive()

    def _tell(self) -> None:
        """Show the answers to the program on show."""
        self.answers = answers_of(self.state)
        for tile, text in zip(self.tiles, tile_texts(self.state, self.answers), strict=True):
            tile.tell(text)

    def _pressed(self, question: Question) -> None:
        found = next((answer for answer in self.answers if answer.question is question), None)
        if found is not None:
            self.wanted.emit(found)

    def _lay_out(self) -> None:
        """Put the tiles in one row or two, with or without sentences, and take the height that they need."""
        letter, line = self.fontMetrics().averageCharWidth(), self.fontMetrics().height()
        count = len(self.tiles)
        rows = 1 if self.width() >= count * ROW_LETTERS * letter else 2
        low = self.window().height() < LOW_LINES * line
        brief = low or self.width() < count * FULL_LETTERS * letter
        if rows != self._rows:
            self._rows = rows
            across = -(-count // rows)
            for k, tile in enumerate(self.tiles):
                self._grid.addWidget(tile, k // across, k % across)
            for column in range(count):
                self._grid.setColumnStretch(column, 1 if column < across else 0)
        for tile in self.tiles:
            tile.be_brief(brief)
        if rows == 1:  # time says most
            self._grid.setColumnStretch(list(Question).index(Question.TIME), 2 if not brief else 1)
            for column in range(count):
                if column != list(Question).index(Question.TIME):
                    self._grid.setColumnStretch(column, 1)
        high = rows * self.tiles[0].needed_height()
        if high != self.minimumHeight() or high != self.maximumHeight():
            self.setFixedHeight(high)

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Fit the tiles again."""
        super().resizeEvent(event)
        self._lay_out()

    def changeEvent(self, event: QEvent) -> None:
        """Follow the size of text."""
        super().changeEvent(event)
        if event.type() == QEvent.Type.FontChange and hasattr(self, "_grid"):
            self._lay_out()
