"""`PlayBox`: plays the layer on show, from a tenth of real pace on."""

from __future__ import annotations

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QHBoxLayout, QWidget

from viewer.shown.window.lesson.page_view import PageButton
from viewer.shown.window.model.paces import PACES, pace_text
from viewer.shown.window.model.view_state import ViewState
from viewer.shown.window.style.scale import space
from viewer.shown.window.widgets.choice import Choice
from viewer.shown.window.widgets.until_destroyed import listen_until_destroyed


class PlayBox(QWidget):
    """A button that plays and halts, and the pace."""

    settled = Signal()
    """A pace was chosen: the keys may go elsewhere again."""

    def __init__(self, state: ViewState, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._state = state
        self.button, self.pace = PageButton("Play", self), Choice(self)
        self.button.setToolTip("Watch the layer being laid (Space)")
        self.button.clicked.connect(state.toggle_play)
        self.pace.setAccessibleName("pace of playing in the lesson")
        for pace, text in PACES.items():
            self.pace.addItem(text, pace)
        self.pace.activated.connect(lambda _: state.choose_pace(float(self.pace.currentData())))
        self.pace.settled.connect(self.settled)
        row = QHBoxLayout(self)
        row.setContentsMargins(0, 0, 0, 0)
        row.setSpacing(space(2))
        row.addWidget(self.button)
        row.addWidget(self.pace, 1)
        listen_until_destroyed(self, state, self._show, "play", "program")
        self._show()

    def _show(self) -> None:
        """Say what the state says."""
        self.button.setText("Halt" if self._state.playing else "Play")
        self.button.setEnabled(bool(self._state.layers))
        known = self.pace.findData(self._state.pace)
        if known < 0:
            self.pace.addItem(pace_text(self._state.pace), self._state.pace)
            known = self.pace.count() - 1
        self.pace.setCurrentIndex(known)
