"""The list of prints: its columns, and which prints it shows in which order; no Qt."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any, Final

from viewer.numerals import more_or_less
from viewer.printlog.rows import Entry
from viewer.shown.log_text import entry_outcome_text
from viewer.shown.numbers import duration_text, money_text

EVERY: Final = ""
"""No choice of a printer or an outcome."""


@dataclass(frozen=True, slots=True)
class Column:
    """One column of the list."""

    title: str
    text: Callable[[Entry], str]
    key: Callable[[Entry], Any]
    """What it is sorted by; what is not known stands last."""
    letters: int
    """How wide it is at first."""
    is_number: bool = False


@dataclass(frozen=True, slots=True)
class Wanted:
    """Which prints are shown, and in which order."""

    words: str = ""
    """All of them must stand somewhere in a print."""
    printer: str = EVERY
    outcome: str = EVERY
    column: int = 0
    descending: bool = True


def arranged(entries: Sequence[Entry], wanted: Wanted) -> list[int]:
    """Return the places of the wanted prints among all, in the wanted order; those of equal value as they stand."""
    words = wanted.words.casefold().split()
    found = [
        at
        for at, one in enumerate(entries)
        if wanted.printer in (EVERY, one.printer)
        and wanted.outcome in (EVERY, one.outcome)
        and (not words or _has(one, words))
    ]
    key = COLUMNS[wanted.column].key
    keys = {at: key(entries[at]) for at in found}
    known = [at for at in found if keys[at] is not None and keys[at] != ""]
    known.sort(key=lambda at: keys[at], reverse=wanted.descending)
    return known + [at for at in found if keys[at] is None or keys[at] == ""]


def _against_text(one: Entry) -> str:
    ratio = one.against_computed
    if ratio is None:
        return ""
    return "as computed" if abs(ratio - 1.0) < 0.0005 else more_or_less(round(ratio, 3))


def _has(one: Entry, words: list[str]) -> bool:
    text = "\n".join(
        (one.program, one.printer, one.filament, one.outcome, one.reason, one.words, one.spool or "", one.for_whom,
         one.note, one.started)
    ).casefold()  # fmt: skip
    return all(word in text for word in words)


COLUMNS: Final = (
    Column("Started", lambda one: one.started[:16].replace("T", " "), lambda one: one.started, 16),
    Column("Program", lambda one: one.program + (" (invented)" if one.invented else ""),
           lambda one: one.program.casefold(), 29),
    Column("Printer", lambda one: one.printer, lambda one: one.printer.casefold(), 8),
    Column("Filament", lambda one: one.filament, lambda one: one.filament.casefold(), 8),
    Column("Took", lambda one: duration_text(one.real_s), lambda one: one.real_s, 14, is_number=True),
    Column("Against computed", _against_text, lambda one: one.against_computed, 11, is_number=True),
    Column("Outcome", entry_outcome_text, entry_outcome_text, 20),
    Column("Drew", lambda one: f"{one.drawn_g:.1f} g", lambda one: one.drawn_g, 8, is_number=True),
    Column("Spool", lambda one: one.spool or "", lambda one: (one.spool or "").casefold(), 10),
    Column("Charge", lambda one: "" if one.charge is None else money_text(one.charge, one.currency),
           lambda one: one.charge, 9, is_number=True),
    Column("For whom", lambda one: one.for_whom, lambda one: one.for_whom.casefold(), 12),
    Column("Note", lambda one: one.note, lambda one: one.note.casefold(), 20),
)  # fmt: skip
