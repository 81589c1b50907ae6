"""What is done beside the window for the inbox: folders looked into, remembered rows looked up, others vetted; no Qt."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from contextlib import closing
from dataclasses import dataclass, replace

from viewer.cards.kinds import Cards
from viewer.shown.pictures.small_picture import small_picture
from viewer.shown.window.inbox.folder_look import Look, Stamp, look_into
from viewer.shown.window.inbox.inbox_rows import InboxRow, row_of
from viewer.shown.window.inbox.kept_rows import kept_rows
from viewer.shown.window.model.card_names import CardNames
from viewer.survey.parts import code_version, fit_key, picture_key, verdict_key
from viewer.survey.processes import StandingProcesses
from viewer.survey.row import Row
from viewer.survey.run import Survey, Wanted
from viewer.survey.store import Remembered, survey_path
from viewer.verdict.fits import known_printers

Stop = Callable[[], bool]


@dataclass(frozen=True, slots=True)
class Asked:
    """Under which cards programs are judged."""

    wanted: Wanted
    key: str
    """Names the cards by their contents: rows of other cards are not shown."""
    broken: tuple[str, ...]
    """A sentence for each printer card that cannot be read."""


@dataclass(frozen=True, slots=True)
class Found:
    """What a look into the folders has brought."""

    asked: Asked
    look: Look
    rows: list[InboxRow]
    """Remembered ones, of programs that are new or changed."""
    missing: dict[str, Stamp]
    """Programs that are to be vetted."""
    known: dict[str, Stamp]
    """Programs that have their row, or wait for it."""


def asked_of(names: CardNames) -> Asked:
    """Read the cards; what is left on a spool is said of one program, not of all.

    Raises
    ------
    CardError
        A card is not valid.
    """
    cards = Cards(*replace(names, spool_left_g=None).load())
    known, broken = known_printers()
    printers = tuple(card for _, card in known)
    wanted = Wanted(cards=cards, printers=printers, draw=small_picture)
    keys = (verdict_key(cards), picture_key(cards), *(fit_key(printer, cards) for printer in printers))
    return Asked(wanted, " ".join(keys), broken)


def found_in(folders: Iterable[str], names: CardNames, before: Found | None, stop: Stop) -> Found:
    """Look into folders, and look up what is remembered of programs that are new there or changed.

    Raises
    ------
    BeadlineError
        A card is not valid, what is remembered cannot be read, or `stop` has said so.
    """
    asked = asked_of(names)
    look = look_into(folders, Look() if before is None else before.look, stop)
    known = {} if before is None or before.asked.key != asked.key else before.known
    fresh = {path: stamp for path, stamp in look.stamps.items() if known.get(path) != stamp}
    settled = {path: stamp for path, stamp in fresh.items() if path not in look.unsettled}
    rows = kept_rows(asked.key, settled) if settled and before is None else []
    there = {row.path for row in rows}
    others = {path: stamp for path, stamp in settled.items() if path not in there}
    if others:
        with Remembered(survey_path(), code_version()) as store:
            survey = Survey(asked.wanted, store, StandingProcesses(1))
            files = ((path, stamp.size_bytes, stamp.changed_ns) for path, stamp in others.items())
            rows += [row_of(row, others[row.path]) for row in survey.remembered(files)]
    there = {row.path for row in rows}
    missing = {path: stamp for path, stamp in settled.items() if path not in there}
    kept = {path: stamp for path, stamp in known.items() if look.stamps.get(path) == stamp}
    return Found(asked, look, rows, missing, kept | settled)


def vet_all(
    paths: Iterable[str], wanted: Wanted, engine: StandingProcesses, tell: Callable[[Row], object]
) -> None:
    """Vet programs one after the other, each remembered as soon as it is done.

    Raises
    ------
    BeadlineError
        What is remembered cannot be written, a card names a check that does not exist, or the engine was stopped.
    """
    with (
        Remembered(survey_path(), code_version()) as store,
        closing(Survey(wanted, store, engine).rows(paths)) as rows,
    ):
        for row in rows:
            tell(row)


def pictures_of(contents: Iterable[str], cards: Cards, stop: Stop) -> Mapping[str, bytes]:
    """Return the small pictures of programs as PNG, by content; b"" where there is none.

    Raises
    ------
    BeadlineError
        What is remembered cannot be read.
    """
    key = picture_key(cards)
    pictures = {}
    with Remembered(survey_path(), code_version()) as store:
        for content in contents:
            if stop():
                break
            pictures[content] = store.picture(content, key)
    return pictures
