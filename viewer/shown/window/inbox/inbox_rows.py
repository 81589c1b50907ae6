"""The rows of the inbox: what stands in each column, how they are sorted and which are wanted; no Qt."""

from __future__ import annotations

import os
from collections.abc import Callable, Collection
from dataclasses import dataclass
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any, Final

import msgspec

from viewer.shown.names import in_one_line
from viewer.shown.numbers import clock_text
from viewer.shown.survey.text import MEANS, best_text, decisive_text, mass_text, time_text
from viewer.shown.window.inbox.folder_look import Stamp
from viewer.survey.row import Row

EVERY: Final = ""
"""In place of a word: rows of every verdict."""
TOGETHER_S: Final = 3.0
"""Files that come at shorter distances come together, as by one copying of many (no source)."""


class InboxRow(msgspec.Struct, frozen=True, kw_only=True, array_like=True):
    """One program as the inbox shows it."""

    path: str
    name: str
    folder: str
    content: str | None
    """SHA-256 of the file, by which its picture is found; None: it could not be read."""
    word: str
    """One of `viewer.survey.row.WORDS`."""
    gravity: tuple[int, int, int]
    """What needs a person first is least."""
    decides: str
    """The problem or the gravest finding."""
    time_s: float | None
    time: str
    mass_g: float | None
    mass: str
    best: str
    came_s: float
    lasts: bool
    """Whether it holds as long as the file does: what met too little memory, or a missing right, is tried again."""
    words: str
    """All that can be found by words, in lower case."""


@dataclass(frozen=True, slots=True)
class Column:
    """One column of the table."""

    title: str
    text: Callable[[InboxRow, datetime], str]
    """Of a row, where now is a moment."""
    letters: int
    """How wide it is at first."""
    key: Callable[[InboxRow], Any] | None = None
    """Sorts rows; None where the amount is not known; no key: the column does not sort."""
    ways: tuple[str, str] = ("", "")
    """The words of sorting upward and downward."""
    is_number: bool = False
    falls: bool = False
    """The first way of sorting is from the largest down."""


def row_of(row: Row, stamp: Stamp) -> InboxRow:
    """Return what the inbox shows of a row of the survey."""
    folder, name = map(in_one_line, os.path.split(row.path))
    verdict, best, decides = row.verdict, best_text(row), in_one_line(decisive_text(row))
    return InboxRow(
        path=row.path, name=name, folder=folder, content=row.content, word=row.word, gravity=row.order[:3],
        decides=decides, time_s=None if verdict is None else verdict.time_s,
        time="" if verdict is None else time_text(verdict), mass_g=None if verdict is None else verdict.mass_g,
        mass="" if verdict is None else mass_text(verdict), best=best, came_s=stamp.came_s,
        lasts=row.content is not None and (row.problem is None or row.problem.kind == "not read"),
        words=f"{row.path}\n{decides}\n{best}".lower(),
    )  # fmt: skip


def end_text(row: InboxRow, now: datetime) -> str:
    """Return when it would be done if it were begun now."""
    return "" if row.time_s is None else clock_text(now, row.time_s)


def came_text(row: InboxRow, now: datetime) -> str:
    """Return when the file came, in words where that was today or yesterday."""
    came = datetime.fromtimestamp(row.came_s)
    days = (now.date() - came.date()).days
    day = {0: "today", 1: "yesterday"}.get(days, f"{came:%Y-%m-%d}")
    return f"{day} {came:%H:%M}"


LETTERS: Final = ("A to Z", "Z to A")
LEAST: Final = ("least first", "most first")
COLUMNS: Final = (
    Column("Part", lambda _row, _now: "", 0),
    Column("Program", lambda row, _now: row.name, 27, lambda row: (row.name.lower(), row.path), LETTERS),
    Column("Verdict", lambda row, _now: row.word, 12, lambda row: row.gravity, ("gravest first", "gravest last")),
    Column("What decides", lambda row, _now: row.decides, 40),
    Column("Time", lambda row, _now: row.time, 12, lambda row: row.time_s, LEAST, is_number=True, falls=True),
    Column("Mass", lambda row, _now: row.mass, 10, lambda row: row.mass_g, LEAST, is_number=True, falls=True),
    Column("Done at", end_text, 9, lambda row: row.time_s, ("soonest first", "latest first")),
    Column("Best printer", lambda row, _now: row.best, 13, lambda row: row.best.lower() or None, LETTERS),
    Column("Came", came_text, 11, lambda row: row.came_s, ("oldest first", "newest first"), falls=True),
)  # fmt: skip
PART, PROGRAM, VERDICT, DECIDES, CAME = 0, 1, 2, 3, 8
"""Places of columns."""


@dataclass(frozen=True, slots=True)
class Wish:
    """Which rows are wanted, and in which order."""

    words: str = ""
    """All of them are found in path, finding or printer, in any order."""
    verdict: str = EVERY
    since_yesterday: bool = False
    column: int = CAME
    falling: bool = True


def arranged(rows: Collection[InboxRow], wish: Wish, now: datetime) -> list[InboxRow]:
    """Return the rows that are wanted, sorted; of equal ones the newest first.

    Of those that came together, what needs a person first stands first.
    """
    since = (now - timedelta(days=1)).replace(hour=0, minute=0, second=0, microsecond=0).timestamp()
    words = wish.words.lower().split()
    found = [
        row
        for row in rows
        if (not wish.verdict or row.word == wish.verdict)
        and (not wish.since_yesterday or row.came_s >= since)
        and all(word in row.words for word in words)
    ]
    found.sort(key=lambda row: (-row.came_s, row.path))
    key = COLUMNS[wish.column].key
    if key is None or wish.column == CAME:
        return _by_arrival(found, wish.falling)
    keyed = [(key(row), row) for row in found]
    known = [pair for pair in keyed if pair[0] is not None]
    known.sort(key=lambda pair: pair[0], reverse=wish.falling)
    return [row for _, row in known] + [row for value, row in keyed if value is None]


def _by_arrival(newest_first: list[InboxRow], falling: bool) -> list[InboxRow]:
    """Return rows by when they came; those that came together by what needs a person first, then by name."""
    groups: list[list[InboxRow]] = []
    for row in newest_first:
        if groups and groups[-1][-1].came_s - row.came_s <= TOGETHER_S:
            groups[-1].append(row)
        else:
            groups.append([row])
    in_order = groups if falling else reversed(groups)
    return [
        row
        for group in in_order
        for row in sorted(group, key=lambda one: (one.gravity, one.name.lower(), one.path))
    ]


def spoken(row: InboxRow, now: datetime) -> str:
    """Return a row in one sentence, for a screen reader."""
    amounts = f" {row.time}, {row.mass}, done at {end_text(row, now)}." if row.time_s is not None else ""
    best = f" Best printer: {row.best}." if row.best else ""
    return f"{row.name}: {row.word}, {MEANS[row.word]}. {row.decides}{amounts}{best}"


def without_repeated_folders(folders: Collection[str]) -> list[str]:
    """Return absolute folders, each once, without those that lie in another of them."""
    paths = list(dict.fromkeys(Path(os.path.abspath(folder)) for folder in folders))  # noqa: PTH100 - links stay
    return [str(path) for path in paths if not any(other in path.parents for other in paths)]
