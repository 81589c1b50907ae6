"""Sentences of the inbox about all of its programs; no Qt."""

from __future__ import annotations

from collections import Counter
from collections.abc import Collection
from typing import TYPE_CHECKING, Final

from viewer.numerals import count_text, counted_text
from viewer.shown.window.inbox.inbox_rows import InboxRow
from viewer.survey.row import WORDS

if TYPE_CHECKING:
    from viewer.cards.kinds import Cards
    from viewer.shown.window.inbox.folder_look import FolderState

NO_FOLDER: Final = (
    "Watch a folder or a drive in which programs arrive: each is vetted as soon as it comes, and what needs a person is "
    "seen before it is printed."
)
EMPTY: Final = "No program is here yet; what comes is vetted at once."
WAITING: Final = "The first programs are being vetted; each has its row as soon as it is done."
GONE: Final = "No watched folder can be read now; above stands why."
NOTHING_WANTED: Final = "No program is as asked for above."


def count_line(shown: int, rows: Collection[InboxRow], waiting: int) -> str:
    """Return how many programs there are, by verdict, how many are shown, and how many wait."""
    total = len(rows)
    programs = counted_text(total, "program")
    if shown != total:
        programs = f"{count_text(shown)} of {programs}"
    words = Counter(row.word for row in rows)
    told = [f"{count_text(words[word])} {word}" for word in WORDS if words[word]]
    line = programs + (f": {', '.join(told)}" if told else "")
    return line + (f"   ·   {count_text(waiting)} being vetted or waiting" if waiting else "")


def cards_text(cards: Cards | None) -> str:
    """Return under which cards the programs are judged, and when they would be begun; "" before that is known."""
    if cards is None:
        return ""
    judged = f"judged on {cards.printer.name} with {cards.filament.name}, {cards.workshop.name}"
    return f"{judged}   ·   done at: if begun now"


def empty_text(rows: int, waiting: int, states: Collection[FolderState]) -> str:
    """Return why no program is shown.

    Parameters
    ----------
    rows
        How many programs there are, wanted or not.
    waiting
        How many are being vetted or wait for it.
    states
        The watched folders.
    """
    if rows:
        return NOTHING_WANTED
    if waiting:
        return WAITING
    if states and all(state.sentence and not state.programs for state in states):
        return GONE
    return EMPTY if states else NO_FOLDER
