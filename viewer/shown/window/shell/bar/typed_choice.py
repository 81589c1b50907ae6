"""Fields of the tool bar in which a person types what no card knows: when the print starts, what is left on the spool."""

from __future__ import annotations

from collections.abc import Callable
from typing import Final

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QComboBox, QWidget

from viewer.errors import BeadlineError
from viewer.shown.clock_rows import NOW, start_of
from viewer.shown.window.model.view_state import ViewState
from viewer.shown.window.widgets.choice import Choice
from viewer.shown.window.widgets.until_destroyed import listen_until_destroyed

UNKNOWN: Final = "unknown"


class TypedChoice(Choice):
    """A value to be typed, or chosen from a few words, the first of which takes it back.

    Parameters
    ----------
    take
        Gets what was typed, "" for unknown; raises `BeadlineError` where it means nothing.
    held
        Returns the text of the current value; "" for unknown.
    """

    complained = Signal(str)
    """The sentence of what means nothing; "" when a person writes another."""

    def __init__(
        self,
        words: tuple[str, ...],
        take: Callable[[str], None],
        held: Callable[[], str],
        parent: QWidget | None = None,
    ) -> None:
        super().__init__(parent)
        self._give, self._get = take, held
        self.setEditable(True)
        self.setInsertPolicy(QComboBox.InsertPolicy.NoInsert)
        self.addItems([UNKNOWN, *words])
        self.setMinimumContentsLength(len(UNKNOWN))
        edit = self.lineEdit()
        assert edit is not None
        edit.editingFinished.connect(self._take)
        edit.returnPressed.connect(self._leave)
        edit.textEdited.connect(lambda _text: self.complained.emit(""))
        self.activated.connect(lambda _at: self._take())
        self.show_held()

    def go_to(self) -> None:
        """Move the focus here and select the text."""
        self.setFocus()
        line = self.lineEdit()
        assert line is not None
        line.selectAll()

    def show_held(self) -> None:
        """Show what holds: a text that means nothing does not stay as if it were taken."""
        self.setEditText(self._get() or UNKNOWN)

    def _leave(self) -> None:
        """Give the keys back to the picture, unless what was typed means nothing."""
        if self._take():
            self.settled.emit()

    def _take(self) -> bool:
        """Take what was typed; return whether it means something."""
        text = self.currentText().strip().casefold()
        if text == (self._get() or UNKNOWN).casefold():
            return True
        try:
            self._give("" if text == UNKNOWN else text)
        except BeadlineError as problem:
            self.complained.emit(str(problem))
            self.show_held()
            return False
        self.show_held()
        return True


def start_choice(state: ViewState, parent: QWidget) -> TypedChoice:
    """Make the field of the start; clock times and the check of opening hours follow from it."""

    def take(text: str) -> None:
        state.begin_at(start_of(text) if text else None)

    choice = TypedChoice((NOW,), take, lambda: f"{state.start:%H:%M}" if state.start else "", parent)
    choice.setAccessibleName("when the print is to start")
    choice.setToolTip("When the print is to start, as 14:30: it ends and wants somebody at times of day then")
    listen_until_destroyed(choice, state, choice.show_held, "start")
    return choice
