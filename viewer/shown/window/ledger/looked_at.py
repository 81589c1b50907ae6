"""Below the ledger: the cause that is looked at, and the way through its dearest places."""

from __future__ import annotations

from PySide6.QtWidgets import QHBoxLayout, QLabel, QPushButton, QVBoxLayout, QWidget

from viewer.shown.window.ledger.ledger_parts import looked_at_texts
from viewer.shown.window.model.dear_places import step_place
from viewer.shown.window.model.view_state import ViewState
from viewer.shown.window.widgets.texts import sized
from viewer.shown.window.widgets.until_destroyed import listen_until_destroyed


class LookedAt(QWidget):
    """What the cause takes, which place is on show, and buttons to the next and the one before; hidden without one."""

    def __init__(self, state: ViewState, parent: QWidget) -> None:
        super().__init__(parent)
        self._state = state
        self.head, self.told = QLabel(self), QLabel(self)
        self.back, self.next, self.all = (QPushButton(text, self) for text in ("Back", "Next", "All causes"))
        self._arrange()
        self.back.clicked.connect(lambda: step_place(state, -1))
        self.next.clicked.connect(lambda: step_place(state, 1))
        self.all.clicked.connect(lambda: state.look_at_cause(None))
        listen_until_destroyed(self, state, self._show, "cause", "times", "place")
        self._show()

    def _arrange(self) -> None:
        sized(self.head, "strong")
        for label in (self.head, self.told):
            label.setWordWrap(True)
        for button, name, tip in (
            (self.back, "the costlier place before", "Go to the costlier place before"),
            (self.next, "the next costliest place", "Go to the costliest place, then to the next"),
            (self.all, "look at all causes", "Show all causes together again"),
        ):
            button.setAccessibleName(name)
            button.setToolTip(tip)
        buttons, column = QHBoxLayout(), QVBoxLayout(self)
        for button in (self.back, self.next, self.all):
            buttons.addWidget(button)
        buttons.addStretch(1)
        column.setContentsMargins(8, 4, 8, 6)
        column.setSpacing(3)
        column.addWidget(self.head)
        column.addWidget(self.told)
        column.addLayout(buttons)

    def complain(self, sentence: str) -> None:
        """Say why nothing is known of the cause."""
        self.told.setText(sentence)

    def _show(self) -> None:
        state, times = self._state, self._state.times
        self.setVisible(state.cause is not None)
        if times is None or state.timed is None:
            self.head.setText("")
            self.told.setText("Its costliest places are being looked for…")
        else:
            head, told = looked_at_texts(times, state.place, state.layers, state.timed.timing.total_s)
            self.head.setText(f"{head}, under the trial" if state.trial is not None else head)
            self.told.setText(told)
        places = () if times is None else times.places
        self.back.setEnabled(bool(places) and (state.place or 0) > 0)
        self.next.setEnabled(bool(places) and (state.place is None or state.place < len(places) - 1))
