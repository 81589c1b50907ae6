"""What is remembered between runs: the parts of rows by content, and the content of files by size and time of change."""

from __future__ import annotations

import os
import sqlite3
import time
from collections.abc import Iterable
from pathlib import Path
from typing import Final

from viewer.sqlite_file import SqliteFile

VARIABLE: Final = "BEADLINE_CACHE"
"""Environment variable: the folder of what can be computed again."""
FRESH_NS: Final = 2_000_000_000
"""A file that was changed this short a time before it was hashed may change again within one tick of its drive's clock
(2 s on some file systems): its size and time do not stand for its content."""
_AT_ONCE: Final = 500
"""Programs of one question; SQLite takes 999 values in one at least (its documentation, *Limits*, as remembered)."""

MIGRATIONS: Final = (
    """
    CREATE TABLE file (
        path BLOB PRIMARY KEY,
        size INTEGER NOT NULL,
        changed_ns INTEGER NOT NULL,
        content TEXT NOT NULL
    ) WITHOUT ROWID;
    CREATE TABLE part (
        content TEXT NOT NULL,
        kind TEXT NOT NULL,
        key TEXT NOT NULL,
        code TEXT NOT NULL,
        data BLOB NOT NULL,
        PRIMARY KEY (content, kind, key)
    ) WITHOUT ROWID
    """,
)


def survey_path() -> Path:
    """Return the file of what is remembered: in the folder that the variable names, else in the person's cache folder."""
    if name := os.environ.get(VARIABLE):
        return Path(name).expanduser() / "survey.sqlite3"
    return own_path()


def own_path() -> Path:
    """Return the file in the person's cache folder."""
    import platformdirs

    return platformdirs.user_cache_path("beadline", appauthor=False) / "survey.sqlite3"


class Remembered(SqliteFile):
    """Parts of rows that were computed before; a context manager.

    Parameters
    ----------
    path
        Its file; it and its folder are made where they are not there.
    code
        `viewer.survey.parts.code_version`: parts of another code are not returned, and make room for this one's.

    Raises
    ------
    BeadlineError
        It is damaged, locked, of a newer version, or cannot be opened; so do all methods.
    """

    def __init__(self, path: str | os.PathLike[str], code: str) -> None:
        self._code = code
        super().__init__(path, MIGRATIONS)

    def _set_up(self) -> None:
        self._base.execute(
            "PRAGMA synchronous = NORMAL"
        )  # a power cut may cost the last rows, never the file

    def note_content(self, path: str, size: int, changed_ns: int, content: str) -> None:
        """Remember the SHA-256 of a file, unless it was changed just now."""
        if time.time_ns() - changed_ns < FRESH_NS:
            return
        with self._writing():
            self._base.execute(
                "INSERT OR REPLACE INTO file (path, size, changed_ns, content) VALUES (?, ?, ?, ?)",
                (_place(path), size, changed_ns, content),
            )

    def parts(self, content: str, with_pictures: bool) -> dict[tuple[str, str], bytes]:
        """Return the parts of a program by kind and key."""
        left_out = "" if with_pictures else " AND kind <> 'picture'"
        with self._told():
            rows = self._base.execute(
                f"SELECT kind, key, data FROM part WHERE content = ? AND code = ?{left_out}",
                (content, self._code),
            ).fetchall()
        return {(row["kind"], row["key"]): row["data"] for row in rows}

    def contents(self, files: Iterable[tuple[str, int, int]]) -> dict[str, str]:
        """Return the SHA-256 of files by path, of those whose content is known by size and time of change (ns)."""
        with self._told():
            ask = self._base.execute
            found = {
                path: ask(
                    "SELECT content FROM file WHERE path = ? AND size = ? AND changed_ns = ?",
                    (_place(path), size, changed_ns),
                ).fetchone()
                for path, size, changed_ns in files
            }
        return {path: str(row[0]) for path, row in found.items() if row is not None}

    def parts_of(self, contents: Iterable[str]) -> dict[str, dict[tuple[str, str], bytes]]:
        """Return the parts of many programs, each by kind and key; a picture is empty: only that it is there."""
        parts: dict[str, dict[tuple[str, str], bytes]] = {}
        asked = list(contents)
        with self._told():
            for at in range(0, len(asked), _AT_ONCE):
                some = asked[at : at + _AT_ONCE]
                rows = self._base.execute(
                    "SELECT content, kind, key, CASE kind WHEN 'picture' THEN x'' ELSE data END FROM part"
                    f" WHERE content IN ({','.join('?' * len(some))}) AND code = ?",
                    (*some, self._code),
                )
                for content, kind, key, data in rows:
                    parts.setdefault(content, {})[kind, key] = data
        return parts

    def picture(self, content: str, key: str) -> bytes:
        """Return the picture of a program; b"" where there is none."""
        with self._told():
            row = self._base.execute(
                "SELECT data FROM part WHERE content = ? AND kind = 'picture' AND key = ? AND code = ?",
                (content, key, self._code),
            ).fetchone()
        return b"" if row is None else bytes(row[0])

    def note_parts(self, content: str, parts: Iterable[tuple[str, str, bytes]]) -> None:
        """Remember parts of a program: kind, key and data of each; all of them or none."""
        with self._writing():
            self._base.executemany(
                "INSERT OR REPLACE INTO part (content, kind, key, code, data) VALUES (?, ?, ?, ?, ?)",
                [(content, kind, key, self._code, data) for kind, key, data in parts],
            )

    def forget_other_code(self) -> None:
        """Delete the parts that another code computed."""
        with self._writing():
            self._base.execute("DELETE FROM part WHERE code <> ?", (self._code,))

    @property
    def is_own(self) -> bool:
        """Whether it lies in the person's cache folder."""
        return self.path == own_path()

    def folder_sentence(self, reason: str) -> str:
        """Return what to do about a folder that cannot be made."""
        return (
            f"The folder of what surveys remember, {self.path.parent}, cannot be made ({reason}); name another with "
            f"{VARIABLE}."
        )

    def newer_sentence(self, found: int, known: int) -> str:
        """Return what to do about a file that a newer Beadline wrote."""
        return (
            f"What surveys remember, {self.path}, was written by a newer Beadline (schema {found}, this one knows "
            f"{known}); update this one, or name another folder with {VARIABLE}."
        )

    def sentence_of(self, problem: sqlite3.Error) -> str:
        """Return what to do about an error of SQLite."""
        text = str(problem)
        if "malformed" in text or "not a database" in text or "corrupt" in text:
            remedy = "delete it: all of it can be computed again"
        elif "locked" in text or "busy" in text:
            remedy = "another process is writing to it; try again"
        elif "full" in text:
            remedy = "make room on its drive"
        else:
            remedy = f"see to the rights of its folder, or name another one with {VARIABLE}"
        return f"What surveys remember, {self.path}, could not be used ({text}); {remedy}."


def _place(path: str) -> bytes:
    return os.fsencode(os.path.abspath(path))  # noqa: PTH100 - links stay: what is behind them may change
