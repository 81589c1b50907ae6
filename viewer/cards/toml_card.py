"""A card as a TOML file: read with a sentence for every fault, written whole or not at all."""

from __future__ import annotations

import os
import re
import tomllib
from pathlib import Path
from typing import Any, Final, Literal, overload

import msgspec

from viewer.cards.complaint import complaint_of
from viewer.cards.filament import FilamentCard
from viewer.cards.kinds import STRUCTS, Card, Kind, kind_of
from viewer.cards.printer import PrinterCard
from viewer.cards.sense import complaints
from viewer.cards.workshop import WorkshopCard
from viewer.errors import CardError, OutputError
from viewer.written import beside

BYTE_ORDER_MARK: Final = "\ufeff"
MAX_BYTES: Final = 1 << 20
"""Far above any card (the bundled ones have some 3 kB): a program given as a card is refused unread."""


@overload
def read_card(path: str | os.PathLike[str], kind: Literal["printer"]) -> PrinterCard: ...
@overload
def read_card(path: str | os.PathLike[str], kind: Literal["filament"]) -> FilamentCard: ...
@overload
def read_card(path: str | os.PathLike[str], kind: Literal["workshop"]) -> WorkshopCard: ...
@overload
def read_card(path: str | os.PathLike[str], kind: Kind) -> Card: ...
def read_card(path: str | os.PathLike[str], kind: Kind) -> Card:
    """Read one card.

    Parameters
    ----------
    path
        A TOML file, UTF-8.
    kind
        ``"printer"``, ``"filament"`` or ``"workshop"``.

    Returns
    -------
    PrinterCard or FilamentCard or WorkshopCard

    Raises
    ------
    CardError
        If the file cannot be read, is not TOML, or is not such a card; the sentence names the file, the line,
        the key, what is wrong and what to do.
    """
    return card_of_text(text_of(Path(path)), kind, str(path))


def text_of(path: Path) -> str:
    r"""Return the text of a card's file, line ends as ``\n``; raises `CardError` where there is none."""
    return _text_as_stored(path).removeprefix(BYTE_ORDER_MARK).replace("\r\n", "\n")


def _text_as_stored(path: Path) -> str:
    try:
        with path.open("rb") as file:
            data = file.read(MAX_BYTES + 1)
    except FileNotFoundError as error:
        raise CardError(f"{path}: there is no such card; correct the name or the folder.") from error
    except IsADirectoryError as error:
        raise CardError(f"{path}: this is a folder; name a card (.toml) in it.") from error
    except (OSError, ValueError) as error:
        why = getattr(error, "strerror", None) or error
        raise CardError(
            f"{path}: the card could not be read ({why}); check the file and its rights."
        ) from error
    if not data:
        raise CardError(f"{path}: the file is empty; write a new card in its place.")
    if len(data) > MAX_BYTES:
        raise CardError(f"{path}: the file is larger than 1 MiB, so it is no card; name a card (.toml).")
    return _decoded(data, path)


def _decoded(data: bytes, path: Path) -> str:
    try:
        text = data.decode("utf-8")
    except UnicodeDecodeError as error:
        line = data.count(b"\n", 0, error.start) + 1
        wrong = f"line {line}: this is not UTF-8 text"
        raise CardError(f"{path}, {wrong}; save the card as UTF-8, or name another file.") from error
    if "\0" in text:
        line = text.count("\n", 0, text.index("\0")) + 1
        raise CardError(f"{path}, line {line}: this is not text (a zero byte); name a card (.toml).")
    return text


def card_of_text(text: str, kind: Kind, where: str) -> Card:
    """Make a card of TOML ``text`` that was read from ``where``; raises `CardError`."""
    raw = _parsed(text, where)
    try:
        card = msgspec.convert(raw, STRUCTS[kind])
    except msgspec.ValidationError as error:
        raise complaint_of(error, raw, kind).error(where, text) from error
    for complaint in complaints(card):
        raise complaint.error(where, text)
    return card


def _parsed(text: str, where: str) -> dict[str, Any]:
    try:
        return tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        match = re.fullmatch(r"(.*) \(at (?:line (\d+), column \d+|end of document)\)", str(error), re.DOTALL)
        what = match[1] if match else str(error)
        line = int(match[2]) if match and match[2] else text.count("\n", 0, len(text.rstrip())) + 1
        raise CardError(
            f"{where}, line {line}: this is not TOML ({_lower(what)}); correct the line."
        ) from error
    except RecursionError as error:
        raise CardError(f"{where}: brackets are nested too deep for a card; remove them.") from error
    except ValueError as error:  # Python converts no number of more than 4300 digits
        digits = re.search(r"[0-9_]{4300}", text)
        line = text.count("\n", 0, digits.start() if digits else 0) + 1
        raise CardError(f"{where}, line {line}: a number here is too long to be read; shorten it.") from error


def _lower(text: str) -> str:
    return text[:1].lower() + text[1:]


def write_card(card: Card, path: str | os.PathLike[str]) -> None:
    """Write ``card`` as commented TOML, whole or not at all.

    `read_card` returns an equal card. Where a card lies at ``path``, only the keys that differ are changed:
    comments, order and the spelling of all other values stay (`viewer.cards.toml_edit`). A new file has the fields'
    descriptions as comments; what is not known stands there as a comment, to be filled in.

    Parameters
    ----------
    card
        Any card; it is checked as on reading.
    path
        Where to; its folder is made if it is missing.

    Raises
    ------
    CardError
        If the card would be refused on reading, or the file at ``path`` cannot be read as TOML.
    OutputError
        If it could not be written. What lay there before is untouched, in both cases.
    """
    from viewer.cards.toml_text import text_of_card

    text = text_of_card(card)
    if card_of_text(text, kind_of(card), str(path)) != card:
        raise CardError(f"{path}: the card holds values of another type than its fields; correct them.")
    place = Path(path).expanduser()
    if place.is_file() and place.stat().st_size > 0:
        text = _changed(_text_as_stored(place), card, str(path))
    write_text(text, Path(path))


def _changed(stored: str, card: Card, where: str) -> str:
    """Return the text of a card's file changed to state ``card``; line ends stay what most of them are."""
    from viewer.cards.toml_edit import changed_text

    mark = BYTE_ORDER_MARK if stored.startswith(BYTE_ORDER_MARK) else ""
    text = stored.removeprefix(mark).replace("\r\n", "\n")
    stated = _parsed(text, where)
    new = changed_text(text, stated, card)
    if card_of_text(new, kind_of(card), where) != card:
        raise CardError(f"{where}: the card could not be changed where it stands; edit it by hand.")
    if 2 * stored.count("\r\n") > stored.count("\n"):
        new = new.replace("\n", "\r\n")
    return mark + new


def write_text(text: str, path: Path) -> None:
    """Write ``text`` to ``path`` through a file beside it, so that nothing is ever half-written."""
    try:
        data = text.encode()
        path = path.expanduser().resolve()  # a link stays a link; its target is replaced
        if path.exists() and not path.is_file():
            raise OutputError(f"{path} is not a file, so no card was written; choose another name.")
        path.parent.mkdir(parents=True, exist_ok=True)
        with beside(path) as file:
            file.write(data)
            file.flush()
    except (OSError, ValueError) as error:
        why = getattr(error, "strerror", None) or error
        wrong = f"{path}: the card could not be written ({why}), nothing was changed"
        raise OutputError(f"{wrong}; free some space or choose another place.") from error
