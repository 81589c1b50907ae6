"""The cards that a command was asked to use; known without the engine."""

from __future__ import annotations

import argparse
import math
from typing import TYPE_CHECKING

from viewer.cards import WorkshopCard, load_filament, load_printer, load_workshop
from viewer.cards.kinds import DEFAULTS, Cards, Kind
from viewer.errors import BeadlineError
from viewer.shown.spool import grams_of

if TYPE_CHECKING:
    from viewer.printlog.past import ChosenSpool


def cards_asked(asked: argparse.Namespace) -> Cards:
    """Read the cards that were asked for, else the default ones; raises as `cards_and_spool` does."""
    return cards_and_spool(asked)[0]


def cards_and_spool(asked: argparse.Namespace) -> tuple[Cards, ChosenSpool | None]:
    """Read the cards that were asked for, else the default ones; and the spool of the print log that was named.

    Raises
    ------
    CardError
        There is no such card, or it is not valid.
    BeadlineError
        What is said to be left on the spool is no amount, the spool is not in the print log, or the filament's
        diameter is none.
    """
    diameter = diameter_asked(asked)
    workshop = load_workshop(_named(asked, "workshop"))
    spool = spool_named(asked, workshop)
    left = spool_asked(asked) if spool is None else spool.there_g
    filament = load_filament(_named(asked, "filament"))
    cards = Cards(
        load_printer(_named(asked, "printer")).with_filament(diameter),
        filament.with_spool_left(left).with_diameter(diameter),
        workshop,
    )
    return cards, spool


def spool_named(asked: argparse.Namespace, workshop: WorkshopCard) -> ChosenSpool | None:
    """Return the spool of the print log that was asked for; None: none was.

    Raises
    ------
    BeadlineError
        There is no such spool, or what is left on it was given, too.
    """
    label: str | None = getattr(asked, "spool", None)
    if label is None or not hasattr(asked, "spool_left"):
        return None
    if asked.spool_left is not None:
        raise BeadlineError(
            "The print log knows what is left on its spool; leave out either --spool or --spool-left."
        )
    from viewer.printlog.recall import spool_of

    return spool_of(label, workshop.print_log)


def _named(asked: argparse.Namespace, kind: Kind) -> str:
    """Return the card that was asked for; an empty name (an unset variable of a script) is one that is not known."""
    name: str | None = getattr(asked, kind)
    return DEFAULTS[kind] if name is None else name


def diameter_asked(asked: argparse.Namespace) -> float | None:
    """Return the filament's diameter that was asked for, mm; None: none was, or the command does not ask for it.

    Raises
    ------
    BeadlineError
        It is no diameter.
    """
    text: str | None = getattr(asked, "filament_diameter", None)
    if text is None:
        return None
    try:
        diameter = float(text.strip().lower().removesuffix("mm"))
    except ValueError:
        diameter = math.nan
    if not 0.5 <= diameter <= 10.0:
        raise BeadlineError(f"{text!r} is no diameter of filament; give it in mm, as 1.75 or 2.85.")
    return diameter


def spool_asked(asked: argparse.Namespace) -> float | None:
    """Return what was said to be left on the spool, g; None: nothing, or the command does not ask for it.

    Raises
    ------
    BeadlineError
        It is no amount of filament.
    """
    text: str | None = getattr(asked, "spool_left", None)
    return None if text is None else grams_of(text)
