"""Forms of spools: a new one, and what one weighs."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime
from typing import TYPE_CHECKING

from PySide6.QtWidgets import QComboBox, QLabel, QWidget

from viewer.cards import list_cards
from viewer.errors import BeadlineError, CardError
from viewer.printlog.rows import Spool, SpoolState, Weighing
from viewer.shown.spool import grams_of, left_text
from viewer.shown.window.prints.log_form import LogForm
from viewer.shown.window.prints.log_task import Workshop

if TYPE_CHECKING:
    from viewer.printlog.store import PrintLog


class NewSpoolForm(LogForm):
    """Label, filament and masses of a spool."""

    def __init__(self, workshop: Workshop, parent: QWidget | None = None) -> None:
        super().__init__("A new spool", "Note it", workshop, parent)
        self.label = self.field("label", hint="what is written on it, as blue PLA 3")
        self.filament = QComboBox()
        self.filament.setEditable(True)
        self.filament.setAccessibleName("filament")
        try:
            self.filament.addItems([card.name for card in list_cards("filament")])
        except CardError as problem:
            self.complain(str(problem))
        self.full = self.field("filament on it, g", "1000", 12)
        self.tare = self.field("the empty spool, g", "", 12, "not known")
        self.row("Label", self.label)
        self.row("Filament", self.filament)
        self.row("On it now", self.full, QLabel("g, without the spool itself"))
        self.row("Empty spool", self.tare, QLabel("g; needed where the spool is to be weighed later"))
        self.setMinimumWidth(self._unit * 62)
        self.label.setFocus()

    def work(self) -> Callable[[PrintLog], object]:
        """Return what notes the spool."""
        label, filament = self.label.text().strip(), self.filament.currentText().strip()
        if not label or not filament:
            raise BeadlineError("A spool needs a label and a filament.")
        full_g = _grams(self.full.text(), "filament on the spool")
        if full_g <= 0.0:
            raise BeadlineError("There must be filament on a new spool; say how many grams.")
        tare_g = _grams(self.tare.text(), "mass of the empty spool") if self.tare.text().strip() else None
        spool = Spool(label=label, filament=filament, full_g=full_g, tare_g=tare_g, begun=datetime.now())
        return lambda log: log.add_spool(spool)


class WeighForm(LogForm):
    """What a spool weighs now, with the spool itself."""

    def __init__(self, state: SpoolState, workshop: Workshop, parent: QWidget | None = None) -> None:
        super().__init__("Weigh a spool", "Note it", workshop, parent)
        self._label, tare = state.spool.label, state.spool.tare_g
        self.head(state.spool.label, f"{state.spool.filament}, {left_text(state.left_g)} left by the log")
        self.gross = self.field("weight with the spool, g", "", 12)
        empty = "" if tare is None else f"; empty it weighs {tare:g} g"
        self.row("It weighs", self.gross, QLabel(f"g, spool and filament together{empty}"))
        self.setMinimumWidth(self._unit * 56)
        self.gross.setFocus()

    def work(self) -> Callable[[PrintLog], object]:
        """Return what notes the weighing."""
        weighing = Weighing(self._label, datetime.now(), _grams(self.gross.text(), "weight"))
        return lambda log: log.weigh(weighing)


def _grams(text: str, what: str) -> float:
    """Return a mass.

    Raises
    ------
    BeadlineError
        It is none.
    """
    try:
        return grams_of(text)
    except BeadlineError:
        raise BeadlineError(
            f"The {what}, {text.strip()!r}, is no mass; write it as 250 g or 0.25 kg."
        ) from None
