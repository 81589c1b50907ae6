"""`OfferLine`: the file says that it was made for another card than the chosen one, with one button to take that."""

from __future__ import annotations

from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

from PySide6.QtCore import QObject, Signal

from viewer.shown.window.model.view_state import ViewState
from viewer.shown.window.shell.banner import Banner, Remedy

if TYPE_CHECKING:  # the window is on screen before the engine is imported
    from viewer.verdict.offers import Offer

COMPARE = "Compare printers"


class OfferLine(QObject):
    """A banner of its own: what it says stays true while other notices come and go.

    Put away by hand, it stays away until something else is offered.
    """

    taken = Signal(str, str)
    """Kind and name of the card that the person chose here."""
    wants_printers = Signal()
    """The person wants to see what each printer makes of the program."""

    def __init__(self, state: ViewState, line: Banner, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._state, self._line = state, line
        self._told: tuple[Path, tuple[Offer, ...]] | None = None
        """Program and offers that were shown last: the same are not shown a second time."""
        state.listen("program", self._program_turned)

    def show(self, offers: tuple[Offer, ...]) -> None:
        """Show what is offered for the program on show."""
        from viewer.shown.finding_text import readable  # with the engine, which is there by now

        program = self._state.program
        if program is None or (told := (program.path, offers)) == self._told:
            return
        self._told = told
        if not offers:
            self._line.clear()
            return
        remedies: list[Remedy] = [
            (offer.words, partial(self.taken.emit, offer.kind, offer.slug)) for offer in offers
        ]
        if any(offer.kind == "printer" for offer in offers):
            remedies.append((COMPARE, self.wants_printers.emit))
        self._line.say(
            "made-for", "note", " ".join(f"{readable(offer.said)}." for offer in offers), *remedies
        )

    def _program_turned(self) -> None:
        """Put the line away where it is about another program."""
        program = self._state.program
        if self._told is not None and (program is None or program.path != self._told[0]):
            self._told = None
            self._line.clear()
