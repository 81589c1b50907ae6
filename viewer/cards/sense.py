"""Whether a card of the right shape also makes sense: values that only together are right or wrong."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import Any, Final

import msgspec

from viewer.cards.complaint import Complaint, not_a_choice, quoted
from viewer.cards.filament import FilamentCard
from viewer.cards.kinds import Card
from viewer.cards.printer import Corner, Head, Plate, PrinterCard, Reach
from viewer.cards.toml_places import KeyPath
from viewer.cards.workshop import WORD_ROLES, WorkshopCard

DENSEST_G_CM3: Final = 22.6
"""Osmium, the densest element (CRC Handbook of Chemistry and Physics, 22.59; value from memory)."""

_CORNER_VALUE: Final = {
    "jerk": "jerk_mm_s",
    "junction-deviation": "junction_deviation_mm",
    "right-angle": "right_angle_mm_s",
}


def complaints(card: Card) -> Iterator[Complaint]:
    """Yield what is wrong with ``card`` as a whole, the first fault first."""
    yield from _not_finite((), msgspec.to_builtins(card))
    if not card.name.strip():
        yield Complaint(("name",), "is blank", "give the card a name")
    if isinstance(card, PrinterCard):
        yield from _plate(card.plate)
        yield from _corner(card.corner)
        yield from _head(card.head)
        yield from _reach(card.reach)
    elif isinstance(card, FilamentCard):
        yield from _filament(card)
    else:
        yield from _workshop(card)


def _not_finite(path: KeyPath, value: Any) -> Iterator[Complaint]:
    if isinstance(value, dict):
        for key, inner in value.items():
            yield from _not_finite((*path, key), inner)
    elif isinstance(value, float) and not math.isfinite(value):
        yield Complaint(path, f"is {value}", "write a finite number")


def _plate(plate: Plate) -> Iterator[Complaint]:
    if plate == Plate():
        return  # wholly unknown: nothing on the plate is checked
    circle = plate.shape == "circle"
    needed = ("diameter_mm",) if circle else ("width_mm", "depth_mm")
    foreign = ("width_mm", "depth_mm") if circle else ("diameter_mm",)
    for key in foreign:
        if getattr(plate, key) is not None:
            other = "rectangle" if circle else "circle"
            wrong = f"is the size of a {other}, but `plate.shape` is {quoted(plate.shape)}"
            yield Complaint(("plate", key), wrong, "remove it or correct the shape")
    for key in needed:
        if getattr(plate, key) is None:
            remedy = "add it, or leave out the whole `[plate]` where it is not known"
            yield Complaint(("plate", key), f"is missing, a {plate.shape} needs it", remedy)


def _corner(corner: Corner) -> Iterator[Complaint]:
    key = _CORNER_VALUE[corner.rule]
    if getattr(corner, key) is None:
        wrong = f"is missing, the rule {quoted(corner.rule)} needs it"
        yield Complaint(("corner", key), wrong, "add it or take another rule")


def _head(head: Head) -> Iterator[Complaint]:
    sides = ("left_mm", "right_mm", "front_mm", "back_mm")
    known = [key for key in sides if getattr(head, key) is not None]
    for key in sides if known else ():
        if getattr(head, key) is None:
            remedy = "add it, or leave out all four where the head is not known"
            yield Complaint(("head", key), f"is missing, `head.{known[0]}` needs it", remedy)
    if head.gantry_mm is not None and head.gantry_mm < head.underside_mm:
        wrong = f"is {head.gantry_mm:g}, below `head.underside_mm` ({head.underside_mm:g})"
        yield Complaint(
            ("head", "gantry_mm"), wrong, "the gantry lies above the head's underside: correct one"
        )


def _reach(reach: Reach) -> Iterator[Complaint]:
    for low, high in (("left_mm", "right_mm"), ("front_mm", "back_mm")):
        one, other = getattr(reach, low), getattr(reach, high)
        if one is not None and other is not None and one >= other:
            wrong = f"is {one:g}, not below `reach.{high}` ({other:g})"
            yield Complaint(("reach", low), wrong, "write the lower place here")


def _filament(card: FilamentCard) -> Iterator[Complaint]:
    if card.density_g_cm3 > DENSEST_G_CM3:
        wrong = f"is {card.density_g_cm3:g}, denser than any element ({DENSEST_G_CM3} g/cm3)"
        yield Complaint(("density_g_cm3",), wrong, "write it in g/cm3, for example 1.24")
    if card.fan_percent is not None and card.fan_percent > 100.0:
        wrong = f"is {card.fan_percent:g}, more than full power"
        yield Complaint(("fan_percent",), wrong, "write it in percent of full power, 0 to 100")
    for key in ("nozzle_c", "plate_c"):
        window = getattr(card, key)
        if window is not None and window.low > window.high:
            wrong = f"is {window.low:g}, above `{key}.high` ({window.high:g})"
            yield Complaint((key, "low"), wrong, "write the lower temperature as low")


def _workshop(card: WorkshopCard) -> Iterator[Complaint]:
    if card.hours is not None and card.hours.opens == card.hours.closes:
        wrong = f"is {quoted(card.hours.closes)}, the same as `hours.opens`"
        yield Complaint(("hours", "closes"), wrong, "correct one of them, or leave out `[hours]`")
    for words, role in card.words.items():
        if not words.strip():
            yield Complaint(("words", words), "is blank", "write the words of the comment as the key")
        if role not in WORD_ROLES:
            yield not_a_choice(("words", words), role, WORD_ROLES)
