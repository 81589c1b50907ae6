"""Which cards agree better with what a program says it was made for than the chosen ones do."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TypeVar

from viewer.cards import PrinterCard, list_cards, load_filament, load_printer
from viewer.cards.kinds import Card, Kind
from viewer.cards.store import CardEntry
from viewer.checks.made_for import NOZZLE_MM, plate_holds
from viewer.checks.widths import DIAMETER_MM
from viewer.errors import CardError
from viewer.figures.made_for import MadeFor, Stated
from viewer.numerals import number_text
from viewer.program import Program
from viewer.read.comments.statements import material_of
from viewer.shape.outside import NEAR_MM, find_outside, room_of

_Card = TypeVar("_Card", bound=Card)


@dataclass(frozen=True, slots=True)
class Offer:
    """A card that agrees with what the program states, where the chosen one does not."""

    kind: Kind
    slug: str
    """What `--filament` or `--printer` takes."""
    name: str
    said: str
    """What the program states, beside what the chosen card says; a sentence without its full stop."""

    @property
    def words(self) -> str:
        """What to do, for a button."""
        return f"Use {self.name}"


def offers_of(program: Program) -> tuple[Offer, ...]:
    """Return the better cards, at most one of each kind; none where the chosen cards do not contradict the program.

    Cards that cannot be read are passed over: whoever chooses one is told what is wrong with it.

    Raises
    ------
    CardError
        The folder of the cards cannot be read.
    """
    found = (_filament_offer(program), _printer_offer(program))
    return tuple(offer for offer in found if offer is not None)


# ---- filament


def _filament_offer(program: Program) -> Offer | None:
    """Offer the first filament card of the stated material and diameter."""
    said, ours = program.made_for, material_of(program.filament.name)
    material = said.material.value if said.material is not None else ours
    other_material = bool(ours) and material != ours
    wanted_mm = said.filament_diameter_mm
    other_diameter = wanted_mm is not None and _differs(wanted_mm, program.filament_diameter_mm)
    if not other_material and not other_diameter:
        return None
    wanted_mm = program.filament_diameter_mm if wanted_mm is None else wanted_mm
    for entry, card in _cards("filament", load_filament):
        diameter_mm = replace(program.cards, filament=card).filament_diameter_mm
        if material_of(card.name) == material and not _differs(diameter_mm, wanted_mm):
            parts = [material] if other_material else []
            parts += [f"filament of {number_text(wanted_mm)} mm"] if other_diameter else []
            return Offer(
                "filament", entry.slug, card.name, f"The file says {', '.join(parts)}; {_ours(program)}"
            )
    return None


def _differs(one_mm: float, other_mm: float) -> bool:
    return abs(one_mm - other_mm) > DIAMETER_MM


def _ours(program: Program) -> str:
    """Say what the chosen filament card is, with its diameter where that is what differs."""
    text = f"the card is {program.filament.name}"
    wanted_mm = program.made_for.filament_diameter_mm
    if wanted_mm is not None and _differs(wanted_mm, program.filament_diameter_mm):
        text += f" of {number_text(program.filament_diameter_mm)} mm"
    return text


# ---- printer


def _printer_offer(program: Program) -> Offer | None:
    """Offer the printer card that has the stated name, or else the smallest that agrees with nozzle and plate."""
    said, chosen = program.made_for, program.printer
    against = list(_against(said, chosen))
    named = _named(said.printer)
    if not against and (said.printer is None or named == chosen.name.casefold()):
        return None
    agreeing = [
        (entry, card)
        for entry, card in _cards("printer", load_printer)
        if card.name != chosen.name and not any(_against(said, card)) and _lies_on(program, card)
    ]
    by_name = [(entry, card) for entry, card in agreeing if named in entry.keys]
    if by_name:
        entry, card = by_name[0]
        return Offer(
            "printer", entry.slug, card.name, f"The file says {card.name}; the card is {chosen.name}"
        )
    if not against or not agreeing:
        return None
    entry, card = min(agreeing, key=lambda pair: _plate_mm(pair[1]))
    return Offer(
        "printer",
        entry.slug,
        card.name,
        f"The file says {' and '.join(against)}, which {chosen.name} does not have",
    )


def _against(said: MadeFor, card: PrinterCard) -> Iterator[str]:
    """Yield what is stated that a printer card does not have, with its value."""
    if said.nozzle is not None and abs(said.nozzle.value - card.nozzle_mm) > NOZZLE_MM:
        yield f"a nozzle of {number_text(said.nozzle.value)} mm"
    if said.plate is not None and not plate_holds(card.plate, *said.plate.value):
        width, depth = said.plate.value
        yield f"a plate of {number_text(width)} x {number_text(depth)} mm"


def _lies_on(program: Program, card: PrinterCard) -> bool:
    """Whether all beads of the program lie over a card's plate and below its height; what is not known does not count."""
    return not any(
        not found.is_purge for found in find_outside(program.shape_columns, room_of(card), NEAR_MM)
    )


def _named(stated: Stated[str] | None) -> str:
    """Return the stated printer's name, to be compared with the names of our cards; its meaning is not looked at."""
    return "" if stated is None else stated.value.strip().casefold()


def _plate_mm(card: PrinterCard) -> float:
    """Return how large a plate is, the sum of its sides; a plate whose size is not known comes last."""
    plate = card.plate
    if plate.diameter_mm is not None:
        return 2.0 * plate.diameter_mm
    return math.inf if plate.width_mm is None or plate.depth_mm is None else plate.width_mm + plate.depth_mm


def _cards(kind: Kind, load: Callable[[Path], _Card]) -> Iterator[tuple[CardEntry, _Card]]:
    """Yield the cards of a kind that can be read, by name."""
    for entry in list_cards(kind):
        try:
            yield entry, load(entry.path)
        except CardError:
            continue
