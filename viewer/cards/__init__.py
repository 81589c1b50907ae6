"""The cards: what the keeper knows of the printer, the filament and the place.

Three small TOML files, read and checked into typed structs; everything else is computed from the program.
"""

from viewer.cards.filament import FilamentCard, Window
from viewer.cards.kinds import DEFAULTS, Cards, Kind
from viewer.cards.printer import Axes, Corner, Head, Heat, Homing, Plate, PrinterCard, Reach
from viewer.cards.store import (
    CardEntry,
    cards_folder,
    find_card,
    list_cards,
    load_filament,
    load_printer,
    load_workshop,
    new_card,
    own_card,
    save_card,
)
from viewer.cards.toml_card import read_card, write_card
from viewer.cards.workshop import CheckRule, Hours, WorkshopCard

__all__ = [
    "DEFAULTS",
    "Axes",
    "CardEntry",
    "Cards",
    "CheckRule",
    "Corner",
    "FilamentCard",
    "Head",
    "Heat",
    "Homing",
    "Hours",
    "Kind",
    "Plate",
    "PrinterCard",
    "Reach",
    "Window",
    "WorkshopCard",
    "cards_folder",
    "find_card",
    "list_cards",
    "load_filament",
    "load_printer",
    "load_workshop",
    "new_card",
    "own_card",
    "read_card",
    "save_card",
    "write_card",
]
