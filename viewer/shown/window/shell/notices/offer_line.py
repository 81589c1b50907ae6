"""`OfferLine`: the file says that it was made for another card than the chosen one, with one button to take that."""

from __future__ import annotations

from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

from PySide6.QtCore import QObject, Signal

from viewer.shown.window.model.view_state import ViewState
from viewer.shown.window.shell.banner import Banner, Remedy
from viewer.shown.window.widgets.until_destroyed import listen_until_destroyed

if TYPE_CHECKING:  # the window is on screen before the engine is imported
    from viewer.verdict.offers import Offer

COMPARE = "Compare printers"


class OfferLine(QObject):
    """A banner of its own: what it says stays true while other notices come and go.

    Put away by hand, it stays away until there is something else to say.
    """

    taken = Signal(str, str)
    """Kind and name of the card that the person chose here."""
    wants_printers = Signal()
    """The person wants to see what each printer makes of the program."""

    def __init__(self, state: ViewState, line: Banner, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._state, self._line = state, line
        self._offers: tuple[Offer, ...] = ()
        self._path: Path | None = None
        """Of the program that the offers are about."""
        self._told: tuple[Path | None, str] = (None, "")
        """Program and sentence that were shown last: the same are not shown a second time."""
        listen_until_destroyed(self, state, self._program_turned, "program")
        listen_until_destroyed(self, state, self._say, "findings")

    def show(self, offers: tuple[Offer, ...]) -> None:
        """Show what is offered for the program on show."""
        program = self._state.program
        self._offers, self._path = offers, None if program is None else program.path
        self._say()

    def _program_turned(self) -> None:
        """Put away what is about another program."""
        program = self._state.program
        if program is None or program.path != self._path:
            self._offers, self._path = (), None
            self._say()

    def _say(self) -> None:
        """Say what the file was made for, or that the chosen printer does not take it."""
        remedies: list[Remedy] = [
            (offer.words, partial(self.taken.emit, offer.kind, offer.slug)) for offer in self._offers
        ]
        sentences = [_sentence(offer) for offer in self._offers]
        if refused := self._refused():
            sentences.append(refused)
        if refused or any(offer.kind == "printer" for offer in self._offers):
            remedies.append((COMPARE, self.wants_printers.emit))
        told = (self._path, " ".join(sentences))
        if told == self._told:
            return
        self._told = told
        if sentences:
            self._line.say("made-for", "note", told[1], *remedies)
        else:
            self._line.clear()

    def _refused(self) -> str:
        """Return that the part does not fit the chosen printer, where that was found; else ""."""
        program, report = self._state.program, self._state.report
        if program is None or report is None:
            return ""
        off = any(one.slug == "off-plate" and one.severity.value == "stop" for one in report.findings)
        return f"The part does not fit {program.printer.name}." if off else ""


def _sentence(offer: Offer) -> str:
    from viewer.shown.finding_text import readable  # with the engine, which is there by now

    return f"{readable(offer.said)}."
