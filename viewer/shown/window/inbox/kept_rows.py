"""The rows of the inbox as it was closed, in one file, so that thousands are there at once; no Qt.

All of it is remembered by surveys as well (`viewer.survey.store`), from where ten thousand rows take seconds. A row is
taken from here only where cards, code and the file's size and times are what they were.
"""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import Final

import msgspec

from viewer.errors import OutputError
from viewer.shown.window.inbox.folder_look import Stamp
from viewer.shown.window.inbox.inbox_rows import InboxRow
from viewer.survey.parts import code_version
from viewer.survey.store import survey_path
from viewer.written import write_whole

FORM: Final = 2
"""Version of what is kept; it rises when `InboxRow` changes, or a text in it."""


class _Kept(msgspec.Struct, frozen=True, array_like=True):
    form: int
    code: str
    cards: str
    stamps: list[Stamp]
    rows: list[InboxRow]


def kept_path() -> Path:
    """Return the file, beside what surveys remember."""
    return survey_path().with_name("inbox.msgpack")


def kept_rows(cards: str, stamps: Mapping[str, Stamp]) -> list[InboxRow]:
    """Return the rows that still hold.

    Parameters
    ----------
    cards
        Names the cards by their contents (`Asked.key`).
    stamps
        Of the programs whose rows are wanted.
    """
    try:
        kept = msgspec.msgpack.decode(kept_path().read_bytes(), type=_Kept)
    except (OSError, msgspec.DecodeError):
        return []  # there is none, or another version wrote it: the rows are looked up one by one
    told = (kept.form, kept.code, kept.cards, len(kept.stamps))
    if told != (FORM, code_version(), cards, len(kept.rows)):
        return []
    return [row for row, stamp in zip(kept.rows, kept.stamps, strict=True) if stamps.get(row.path) == stamp]


def keep_rows(cards: str, rows: Mapping[str, InboxRow], stamps: Mapping[str, Stamp]) -> None:
    """Keep rows until the inbox is opened again.

    Raises
    ------
    OutputError
        The file cannot be written.
    """
    there = [path for path, row in rows.items() if path in stamps and row.lasts]
    kept = _Kept(
        FORM, code_version(), cards, [stamps[path] for path in there], [rows[path] for path in there]
    )
    path = kept_path()
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
    except OSError as problem:
        raise OutputError(
            f"{path.parent} cannot be made ({problem.strerror}); see to the rights of its folder."
        ) from problem
    write_whole(path, [msgspec.msgpack.encode(kept)])
