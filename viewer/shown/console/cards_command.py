"""`beadline cards`: which cards there are, where they lie, and a new one."""

from __future__ import annotations

import argparse
from collections.abc import Iterator

from viewer.cards import DEFAULTS, CardEntry, Kind, cards_folder, list_cards, new_card, read_card
from viewer.errors import CardError
from viewer.shown.console.streams import emit, say


def cards(asked: argparse.Namespace) -> int:
    """Carry out `beadline cards`: list the cards, or write a new one.

    Raises
    ------
    CardError, OutputError
        As `viewer.cards.new_card` does.
    """
    return _write_new(asked.kind, asked.name, asked.like) if asked.action else _list_all()


def _list_all() -> int:
    """List the cards of all kinds; the default one of a kind is marked."""
    emit(list(_listing()))  # nothing is printed before all folders could be read
    return 0


def _listing() -> Iterator[str]:
    for kind in DEFAULTS:
        yield f"{kind.capitalize()} cards; your own lie in {cards_folder(kind)}\n"
        there = list_cards(kind)
        names, slugs = (max(len(text) for text in column) for column in zip(*map(_named, there), strict=True))
        for entry in there:
            name, slug = _named(entry)
            default = " (taken if none is named)" if DEFAULTS[kind] in entry.keys else ""
            where = str(entry.path) if entry.own else "bundled"
            yield f"  {name:<{names}}  {slug:<{slugs}}  {where}{default}\n"
            try:
                read_card(entry.path, kind)
            except CardError as problem:
                yield f"    not valid: {problem}\n"
        yield "\n"
    yield 'A new one to edit: beadline cards new printer "My Wren" --like wren\n'


def _named(entry: CardEntry) -> tuple[str, str]:
    return entry.name, entry.slug


def _write_new(kind: Kind, name: str, like: str | None) -> int:
    """Write a new card and print where it lies; say so where it stands in for a bundled one from now on."""
    path = new_card(kind, name, like)
    emit([f"{path}\n"])
    if any(card.path == path and card.replaces for card in list_cards(kind)):
        say(f"It takes the place of the bundled {kind} card of this name.")
    return 0
