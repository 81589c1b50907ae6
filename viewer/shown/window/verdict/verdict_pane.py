"""`VerdictPane`: the seven answers side by side, above everything else."""

from __future__ import annotations

from PySide6.QtCore import QEvent, QObject, Signal
from PySide6.QtGui import QResizeEvent, QShowEvent
from PySide6.QtWidgets import QWidget

from viewer.checks.questions import Question
from viewer.shown.window.model.view_state import ViewState
from viewer.shown.window.style.scale import space
from viewer.shown.window.verdict.answer_texts import answers_of, tile_texts
from viewer.shown.window.verdict.answer_tile import LEFT, RIGHT, AnswerTile
from viewer.shown.window.verdict.tile_flow import HIGHEST, flow_of
from viewer.shown.window.widgets.delayed_update import DelayedUpdate
from viewer.shown.window.widgets.until_destroyed import listen_until_destroyed
from viewer.verdict import Answer


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
        self.setFocusProxy(self.tiles[0])
        self._later = DelayedUpdate(self._tell, 0, self)
        listen_until_destroyed(
            self, state, self._later.start, "program", "findings", "start", "halted", "past"
        )
        self._followed: QWidget | None = None
        """The window whose height decides how much stands here."""
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
        self._lay_out()

    def _pressed(self, question: Question) -> None:
        found = next((answer for answer in self.answers if answer.question is question), None)
        if found is not None:
            self.wanted.emit(found)

    def _lay_out(self) -> None:
        """Share the width among the tiles so that nothing is cut, and take the height that they need."""
        highest = HIGHEST * self.window().height()
        margin = space(LEFT + RIGHT)
        needs = [tile.need() for tile in self.tiles]
        flow = flow_of(needs, self.tiles[0].heights(), margin, self.width(), highest)
        tiles = iter(self.tiles)
        for k, widths in enumerate(flow.rows):
            left = 0
            for width in widths:
                tile = next(tiles)
                tile.show_as(flow.asks_whole, flow.lines)
                tile.setGeometry(left, k * flow.height, width, flow.height)
                left += width
        high = len(flow.rows) * flow.height
        if high != self.minimumHeight() or high != self.maximumHeight():
            self.setFixedHeight(high)

    def showEvent(self, event: QShowEvent) -> None:
        """Follow the height of the window that it stands in now."""
        super().showEvent(event)
        if self._followed is not self.window():
            if self._followed is not None:
                self._followed.removeEventFilter(self)
            self._followed = self.window()
            self._followed.installEventFilter(self)
        self._lay_out()

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        """Fit the tiles to another height of the window; another width comes with a size of our own."""
        if watched is self._followed and event.type() == QEvent.Type.Resize:
            self._lay_out()
        return super().eventFilter(watched, event)

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Fit the tiles again."""
        super().resizeEvent(event)
        self._lay_out()

    def changeEvent(self, event: QEvent) -> None:
        """Follow the size of text."""
        super().changeEvent(event)
        if event.type() == QEvent.Type.FontChange and hasattr(self, "tiles"):
            self._lay_out()
