"""`SpoolChoice`: what is left on the spool, typed, or taken from a spool of the print log."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QWidget

from viewer.shown.spool import grams_of, grams_text, left_text
from viewer.shown.window.model.view_state import ViewState
from viewer.shown.window.prints.spool_texts import spool_text
from viewer.shown.window.shell.bar.typed_choice import UNKNOWN, TypedChoice
from viewer.shown.window.widgets.until_destroyed import listen_until_destroyed

if TYPE_CHECKING:  # the window is on screen before the engine is imported
    from viewer.printlog.rows import SpoolState

_LETTERS: Final = 18
"""Room for an amount and a label, or its beginning, where the log has spools."""


class SpoolChoice(TypedChoice):
    """Grams, or one of the log's spools; whether it is enough follows from it."""

    other_filament = Signal(str)
    """A sentence: the spool that was chosen holds another filament than the card says."""

    def __init__(self, state: ViewState, parent: QWidget) -> None:
        self._state = state
        self._spools: dict[str, SpoolState] = {}
        super().__init__((), self._take_text, self._held, parent)
        self.setAccessibleName("what is left on the spool")
        self.setToolTip(
            "What is left on the spool: as 250 g, or one of the print log's spools. It goes before the filament card's"
        )
        listen_until_destroyed(self, state, self.show_held, "spool", "program")

    def offer(self, spools: list[SpoolState]) -> None:
        """Offer the spools of the log that are in use."""
        self._spools = {spool_text(one).casefold(): one for one in spools if one.spool.emptied is None}
        self.blockSignals(True)
        self.clear()
        self.addItems([UNKNOWN, *map(spool_text, self._spools.values())])
        self.setSizeAdjustPolicy(self.SizeAdjustPolicy.AdjustToMinimumContentsLengthWithIcon)
        longest = max((len(text) - len(" left") for text in self._spools), default=0)
        self.setMinimumContentsLength(max(min(longest, _LETTERS), len(UNKNOWN)))
        self.view().setMinimumWidth(self.view().sizeHintForColumn(0) + 24)
        self.blockSignals(False)
        self.show_held()

    def show_held(self) -> None:
        """Show what holds, its beginning first."""
        super().show_held()
        line = self.lineEdit()
        if line is not None:
            line.setCursorPosition(0)

    def _take_text(self, text: str) -> None:
        found = self._spools.get(text) or next(
            (one for one in self._spools.values() if one.spool.label.casefold() == text), None
        )
        if found is None:
            self._state.leave_on_spool(grams_of(text) if text else None)
            return
        self._state.leave_on_spool(found.there_g, found.spool.label)
        program = self._state.program
        if program is not None and program.filament.name.casefold() != found.spool.filament.casefold():
            self.other_filament.emit(
                f"The spool {found.spool.label} is noted as {found.spool.filament}, and the filament card that is chosen "
                f"is {program.filament.name}."
            )

    def _held(self) -> str:
        state = self._state
        of_card = None if state.program is None else state.program.filament.spool_left_g
        grams = of_card if state.spool_left_g is None else state.spool_left_g
        if grams is None:
            return ""
        return f"{left_text(grams)}, {state.spool_label}" if state.spool_label else grams_text(grams)
