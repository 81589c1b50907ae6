"""The field that says when the print is to start; clock times and the check of opening hours follow from it."""

from __future__ import annotations

from typing import Final

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QComboBox, QWidget

from viewer.errors import BeadlineError
from viewer.shown.clock_rows import NOW, start_of
from viewer.shown.window.choice import Choice
from viewer.shown.window.view_state import ViewState

UNKNOWN: Final = "unknown"


class StartChoice(Choice):
    """A time of day to be typed, or chosen: now, or unknown."""

    complained = Signal(str)
    """The sentence of what is no time of day; "" when a person writes another."""

    def __init__(self, state: ViewState, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._state = state
        self.setEditable(True)
        self.setInsertPolicy(QComboBox.InsertPolicy.NoInsert)
        self.addItems([UNKNOWN, NOW])
        self.setMinimumContentsLength(len(UNKNOWN))
        self.setAccessibleName("when the print is to start")
        self.setToolTip(
            "When the print is to start, as 14:30: it ends and wants somebody at times of day then"
        )
        edit = self.lineEdit()
        assert edit is not None
        edit.editingFinished.connect(self._take)
        edit.textEdited.connect(lambda _text: self.complained.emit(""))
        self.activated.connect(lambda _at: self._take())
        state.listen("start", self._show)
        self._show()

    def _take(self) -> None:
        text = self.currentText().strip().casefold()
        if text == self._held:
            return
        try:
            self._state.begin_at(None if text in ("", UNKNOWN) else start_of(text))
        except BeadlineError as problem:
            self.complained.emit(str(problem))
        self._show()

    @property
    def _held(self) -> str:
        start = self._state.start
        return UNKNOWN if start is None else f"{start:%H:%M}"

    def _show(self) -> None:
        """Show what holds: a text that is no time does not stay as if it were taken."""
        self.setEditText(self._held)
