"""The three kinds of card: their structs, their folders and the card that is taken when none is named."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final, Literal

from viewer.cards.filament import FilamentCard
from viewer.cards.printer import PrinterCard
from viewer.cards.workshop import WorkshopCard

Kind = Literal["printer", "filament", "workshop"]
Card = PrinterCard | FilamentCard | WorkshopCard


@dataclass(frozen=True, slots=True)
class Cards:
    """One card of each kind: under these a program is read, timed and checked."""

    printer: PrinterCard
    filament: FilamentCard
    workshop: WorkshopCard

    @property
    def filament_diameter_mm(self) -> float:
        """The filament card's, or else the printer's."""
        return self.filament.diameter_mm or self.printer.filament_diameter_mm


STRUCTS: Final[dict[Kind, type[Card]]] = {
    "printer": PrinterCard,
    "filament": FilamentCard,
    "workshop": WorkshopCard,
}
FOLDERS: Final[dict[Kind, str]] = {"printer": "printers", "filament": "filaments", "workshop": "workshops"}
DEFAULTS: Final[dict[Kind, str]] = {"printer": "heron", "filament": "pla", "workshop": "quayside"}


def kind_of(card: Card) -> Kind:
    """Return the kind of ``card``."""
    return next(kind for kind, struct in STRUCTS.items() if isinstance(card, struct))
