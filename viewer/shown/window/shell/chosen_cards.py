"""`ChosenCards`: which cards figures are computed with, and the form to change them."""

from __future__ import annotations

from PySide6.QtCore import QObject, Qt, Signal
from PySide6.QtWidgets import QWidget

from viewer.cards import find_card, read_card
from viewer.cards.kinds import Kind
from viewer.errors import CardError
from viewer.shown.window.model.card_names import CardNames
from viewer.shown.window.model.view_state import ViewState
from viewer.shown.window.shell.banner import Banner
from viewer.shown.window.shell.bar.card_choice import CardChoice
from viewer.shown.window.shell.bar.tool_bar import ToolBar
from viewer.shown.window.shell.memory import Memory


class ChosenCards(QObject):
    """Printer and filament as they are chosen in the tool bar, and the workshop, which is kept here.

    Parameters
    ----------
    window
        Forms open over it.
    """

    changed = Signal()
    """Figures are to be computed with other cards."""

    def __init__(
        self, state: ViewState, memory: Memory, tool_bar: ToolBar, banner: Banner, window: QWidget
    ) -> None:
        super().__init__(window)
        self._state, self._memory, self._bar, self._banner, self._window = (
            state,
            memory,
            tool_bar,
            banner,
            window,
        )
        self._workshop = memory.card("workshop")
        self.choices: dict[Kind, CardChoice] = {"printer": tool_bar.printer, "filament": tool_bar.filament}
        tool_bar.card_chosen.connect(self._take)
        tool_bar.wants_form.connect(self.edit)

    @property
    def names(self) -> CardNames:
        """Names of the cards that are chosen."""
        bar = self._bar
        return CardNames(bar.printer.card, bar.filament.card, self._workshop, self._state.spool_left_g)

    def choose(self, printer: str | None, filament: str | None, workshop: str | None) -> None:
        """Choose cards by name or path before a program is opened; the sentence of a wrong one is shown."""
        complaint = self._bar.choose(printer, filament)
        self._workshop = workshop or self._workshop
        if complaint:
            self._banner.say("cards", "warn", complaint)

    def take(self, kind: Kind, card: str) -> None:
        """Take another card, as if it had been chosen in its box."""
        self.choices[kind].fill(card)
        self._take(kind, card)

    def edit(self, kind: Kind) -> None:
        """Open the form of the chosen card of a kind."""
        from viewer.shown.window.card_form.form import CardForm

        choice = self.choices.get(kind)
        try:
            card = read_card(find_card(kind, self._workshop if choice is None else choice.card), kind)
        except CardError as problem:
            self._banner.say("cards", "stop", str(problem))
            return
        form = CardForm(kind, card, self._window)
        form.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        form.accepted.connect(lambda: self.take_saved(kind, form.card.name))
        form.open()

    def take_saved(self, kind: Kind, name: str) -> None:
        """Take the card that was just saved."""
        choice = self.choices.get(kind)
        if choice is None:
            self._workshop = name
        else:
            choice.fill(name)
        self._take(kind, name)

    def _take(self, kind: str, card: str) -> None:
        self._memory.put(f"cards/{kind}", card)
        if kind == "filament":
            self._state.leave_on_spool(None)  # it was said of another spool
        self.changed.emit()
