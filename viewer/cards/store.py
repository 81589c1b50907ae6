"""Where cards lie, and how one is found by its name.

Bundled cards come with the package; the keeper's own lie in the user's configuration folder, or in the one
that the environment variable ``BEADLINE_CARDS`` names (a shared bench)::

    printers/*.toml    filaments/*.toml    workshops/*.toml

An own card with the file name or the name of a bundled one takes its place.
"""

from __future__ import annotations

import os
import re
import tomllib
import unicodedata
from collections.abc import Iterable
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Final

from viewer.cards.complaint import quoted
from viewer.cards.filament import FilamentCard
from viewer.cards.kinds import DEFAULTS, FOLDERS, Card, Kind, kind_of
from viewer.cards.printer import PrinterCard
from viewer.cards.toml_card import card_of_text, read_card, text_of, write_card, write_text
from viewer.cards.toml_places import key_places
from viewer.cards.workshop import WorkshopCard
from viewer.errors import CardError, OutputError
from viewer.nearest import nearest_names

FOLDER_VARIABLE: Final = "BEADLINE_CARDS"
_NAME_LINE: Final = re.compile(r"""^[ \t]*name[ \t]*=[ \t]*(["'])(?P<name>.+?)\1""", re.MULTILINE)


@dataclass(frozen=True, slots=True)
class CardEntry:
    """One card that can be named: its name, its file's name without ``.toml``, where it lies, whose it is."""

    name: str
    slug: str
    path: Path
    own: bool
    replaces: frozenset[str] = frozenset()  # what the bundled cards answer to whose place it takes

    @property
    def keys(self) -> frozenset[str]:
        """What it answers to, case folded."""
        return self.replaces | {self.name.casefold(), self.slug.casefold()}


def cards_folder(kind: Kind) -> Path:
    """Return the folder of the keeper's own cards of ``kind``; it need not exist yet."""
    if named := os.environ.get(FOLDER_VARIABLE):
        return Path(named).expanduser() / FOLDERS[kind]
    import platformdirs

    return platformdirs.user_config_path("beadline", appauthor=False) / FOLDERS[kind]


def _bundled_folder(kind: Kind) -> Path:
    from importlib import resources

    return Path(str(resources.files("viewer.cards"))) / "bundled" / FOLDERS[kind]


def list_cards(kind: Kind) -> list[CardEntry]:
    """List the cards of ``kind`` that can be named: by name, without bundled ones that an own card replaces.

    An own card that is not valid is listed too; loading it tells what is wrong.

    Raises
    ------
    CardError
        If a folder cannot be read, or ``BEADLINE_CARDS`` names one that does not exist.
    """
    own = _entries(_own_files(kind), own=True)
    bundled = _entries(_files(_bundled_folder(kind)), own=False)
    left = [entry for entry in bundled if not any(entry.keys & mine.keys for mine in own)]
    own = [_in_place_of(mine, bundled) for mine in own]
    return sorted(own + left, key=lambda entry: (entry.name.casefold(), entry.slug))


def _in_place_of(mine: CardEntry, bundled: list[CardEntry]) -> CardEntry:
    """Let an own card answer to all that the bundled cards answer to whose name it has.

    Else an own "Quayside Repair Workshop" would hide the bundled one, and nothing would answer to the
    default "quayside".
    """
    hidden = (entry.keys for entry in bundled if entry.keys & mine.keys)
    return replace(mine, replaces=frozenset().union(*hidden))


def _own_files(kind: Kind) -> list[Path]:
    folder = cards_folder(kind)
    if os.environ.get(FOLDER_VARIABLE) and not folder.parent.is_dir():
        wrong = f"{FOLDER_VARIABLE} names the folder {folder.parent}, which is not there"
        raise CardError(f"{wrong}; make it, or correct or unset the variable.")
    return _files(folder) if folder.exists() else []


def _files(folder: Path) -> list[Path]:
    try:
        named = (p for p in folder.iterdir() if p.suffix.lower() == ".toml" and p.name[0] != ".")
        return sorted(p for p in named if not p.is_dir())
    except OSError as error:
        why = error.strerror or error
        raise CardError(f"{folder}: the cards could not be listed ({why}); check the folder.") from error


def _entries(files: Iterable[Path], *, own: bool) -> list[CardEntry]:
    return [CardEntry(_name_in(path) or path.stem, path.stem, path, own) for path in files]


def _name_in(path: Path) -> str:
    """Return the name that a card states, also where the rest of it is not valid; else an empty text."""
    try:
        text = text_of(path)
    except CardError:
        return ""  # it is listed by its file's name; loading it says what is wrong
    try:
        name = tomllib.loads(text).get("name")
    except (ValueError, RecursionError):
        match = _NAME_LINE.search(text)
        name = match["name"] if match else None
    return name.strip() if isinstance(name, str) else ""


def load_printer(card: str | os.PathLike[str] = DEFAULTS["printer"]) -> PrinterCard:
    """Load a printer card by name (any case), slug or path; raises `CardError`."""
    return read_card(find_card("printer", card), "printer")


def load_filament(card: str | os.PathLike[str] = DEFAULTS["filament"]) -> FilamentCard:
    """Load a filament card by name (any case), slug or path; raises `CardError`."""
    return read_card(find_card("filament", card), "filament")


def load_workshop(card: str | os.PathLike[str] = DEFAULTS["workshop"]) -> WorkshopCard:
    """Load a workshop card by name (any case), slug or path; raises `CardError`."""
    return read_card(find_card("workshop", card), "workshop")


def find_card(kind: Kind, card: str | os.PathLike[str]) -> Path:
    """Return the file of the card that a person named.

    Parameters
    ----------
    kind
        ``"printer"``, ``"filament"`` or ``"workshop"``.
    card
        A name or slug in any case; a path if it is no string, ends in ``.toml`` or has a separator.

    Raises
    ------
    CardError
        If no card has that name (with the nearest ones), or two own cards have it.
    """
    if not isinstance(card, str) or _is_path(card):
        return Path(card).expanduser()
    wanted = card.strip().casefold()
    cards = list_cards(kind)
    found = [entry for entry in cards if wanted in entry.keys]
    by_slug = [entry for entry in found if entry.slug.casefold() == wanted]
    if not found:
        raise _no_card(kind, card, cards)
    if len(by_slug or found) > 1:
        paths = " and ".join(str(entry.path) for entry in found)
        raise CardError(f"{quoted(card)} is the name of two {kind} cards, {paths}; rename one of them.")
    return (by_slug or found)[0].path


def _is_path(card: str) -> bool:
    separators = filter(None, ("/", os.sep, os.altsep))
    return card.lower().endswith(".toml") or any(separator in card for separator in separators)


def _no_card(kind: Kind, card: str, cards: list[CardEntry]) -> CardError:
    names = {key: entry.name for entry in cards for key in sorted(entry.keys)}
    nearest = list(dict.fromkeys(names[key] for key in nearest_names(card, names)))
    listed, which = (nearest, "the nearest") if nearest else ([entry.name for entry in cards], "known")
    verb, pick = ("is", "it") if len(listed) == 1 else ("are", "one of them")
    known = f"{which} {verb} {', '.join(listed)}"
    remedy = f"take {pick} or give the path of a .toml file"
    return CardError(f"There is no {kind} card named {quoted(card)}, {known}; {remedy}.")


def new_card(kind: Kind, name: str, like: str | os.PathLike[str] | None = None) -> Path:
    """Write a new own card, a copy of another one under a new name, comments and all.

    Parameters
    ----------
    kind
        ``"printer"``, ``"filament"`` or ``"workshop"``.
    name
        Its name; the file's name follows from it. A bundled card's name is allowed: the new one replaces it.
    like
        The card to copy, by name or path; the default card of its kind where none is given.

    Returns
    -------
    pathlib.Path
        The new card's file.

    Raises
    ------
    CardError
        If the name is blank or has no letter or digit, or the card to copy is not valid.
    OutputError
        If an own card has that name already, or the file could not be written; nothing was changed.
    """
    if not name.strip():
        raise CardError(f"The new {kind} card has no name; give it one.")
    source = find_card(kind, like if like is not None else DEFAULTS[kind])
    text = _renamed(text_of(source), kind, name.strip(), str(source))
    path = cards_folder(kind) / f"{_slug(name)}.toml"
    _refuse_overwriting(kind, name, path)
    write_text(text, path)
    return path


def own_card(kind: Kind, name: str) -> CardEntry | None:
    """Return the keeper's own card of ``kind`` that answers to ``name``; raises `CardError` as `list_cards` does."""
    wanted = name.strip().casefold()
    return next((entry for entry in list_cards(kind) if entry.own and wanted in entry.keys), None)


def save_card(card: Card) -> Path:
    """Save a card among the keeper's own, and return its file.

    Where an own card has its name, that one is changed and keeps its comments; else a new file is written.

    Raises
    ------
    CardError
        If the card would be refused on reading, its name has no letter or digit, or the own card of this name
        cannot be read as TOML.
    OutputError
        If the file could not be written; nothing was changed.
    """
    kind = kind_of(card)
    entry = own_card(kind, card.name)
    path = entry.path if entry else cards_folder(kind) / f"{_slug(card.name)}.toml"
    if entry is None:
        _refuse_overwriting(kind, card.name, path)
    write_card(card, path)
    return path


def _refuse_overwriting(kind: Kind, name: str, path: Path) -> None:
    folder = cards_folder(kind)
    own = _entries(_files(folder), own=True) if folder.exists() else []
    taken = {key: entry.path for entry in own for key in entry.keys}
    for key in (name.strip().casefold(), path.stem.casefold()):
        if key in taken:
            raise OutputError(
                f"{taken[key]}: there is such a {kind} card already; choose another name or edit it."
            )


def _renamed(text: str, kind: Kind, name: str, where: str) -> str:
    """Return the card's text with another name; all else stays as it is, and comments at its head are told of whom."""
    card_of_text(text, kind, where)
    place = key_places(text).get(("name",))
    if place is None:  # a workshop card may have none
        new = f"name = {quoted(name)}\n{text}"
    else:
        new = text[: place.value] + quoted(name) + text[place.end :]
    if new.startswith("#"):
        new = f"# {quoted(name)} began as a copy of the card of which the next lines speak.\n#\n{new}"
    card_of_text(new, kind, f"the new card {quoted(name)}")
    return new


def _slug(name: str) -> str:
    slug = re.sub(r"[\W_]+", "-", unicodedata.normalize("NFC", name).casefold()).strip("-")[:60]
    if not slug:
        raise CardError(f"The name {quoted(name)} has no letter or digit to name a file by; choose another.")
    return slug
