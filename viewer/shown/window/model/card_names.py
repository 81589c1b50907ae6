"""`CardNames`: which cards a program is to be computed with, by their names."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:  # the window is on screen before the engine is imported
    from viewer.cards import FilamentCard, PrinterCard, WorkshopCard


@dataclass(frozen=True, slots=True)
class CardNames:
    """Names or paths of the cards to use, and what a person knows better."""

    printer: str
    filament: str
    workshop: str
    spool_left_g: float | None = None
    """Takes precedence over the filament card's."""

    def load(self) -> tuple[PrinterCard, FilamentCard, WorkshopCard]:
        """Read the cards.

        Raises
        ------
        CardError
        """
        from viewer.cards import load_filament, load_printer, load_workshop

        filament = load_filament(self.filament).with_spool_left(self.spool_left_g)
        return load_printer(self.printer), filament, load_workshop(self.workshop)
