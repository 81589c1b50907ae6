"""The file of the log: opened, brought to today's schema, written to in transactions; its errors in sentences."""

from __future__ import annotations

import os
import sqlite3
from pathlib import Path
from typing import Final

from viewer import sqlite_file
from viewer.printlog.schema import MIGRATIONS
from viewer.sqlite_file import SqliteFile

VARIABLE: Final = "BEADLINE_PRINT_LOG"
"""Environment variable: the file of the log, e.g. in a folder that the bench shares."""


def log_path(workshop_says: str | None = None) -> Path:
    """Return the file of the log: as the variable says, else the workshop card, else in the person's data folder."""
    if name := os.environ.get(VARIABLE) or workshop_says:
        return Path(name).expanduser()
    return own_path()


def own_path() -> Path:
    """Return the log's file in the person's data folder."""
    import platformdirs

    return platformdirs.user_data_path("beadline", appauthor=False) / "prints.sqlite3"


class LogFile(SqliteFile):
    """The log's file, open; a context manager.

    Parameters
    ----------
    path
        Its file; it and its folder are made where they are not there.

    Raises
    ------
    BeadlineError
        It is damaged, locked, of a newer version, or cannot be opened; the sentence says what to do. Every method
        raises it for the same reasons, and then has changed nothing.
    """

    def __init__(self, path: str | os.PathLike[str]) -> None:
        super().__init__(path, MIGRATIONS)

    def check(self) -> None:
        """Look through the whole file for damage.

        Raises
        ------
        BeadlineError
            It is damaged.
        """
        with self._told():
            found = self._base.execute("PRAGMA quick_check(1)").fetchone()[0]
            if found != "ok":
                raise sqlite3.DatabaseError("malformed: " + " ".join(str(found).split()))

    def back_up(self, path: str | os.PathLike[str]) -> None:
        """Copy the log as it is now to another file, also while others write to it; a damaged one is not copied."""
        self.check()
        with self._told(), sqlite3.connect(path) as copy:
            self._base.backup(copy)
        copy.close()

    # inside ------------------------------------------------------------------------------------------

    def _connected(self) -> sqlite3.Connection:
        """Connect to the file; one in a folder that may only be read is taken as it stands."""
        if _stands_alone(self.path):
            # a file with a log of writes (WAL) cannot be read without files beside it that may not be made there
            return sqlite3.connect(
                f"{self.path.absolute().as_uri()}?immutable=1",
                uri=True,
                timeout=sqlite_file.BUSY_S,
                isolation_level=None,
            )
        return super()._connected()

    def _set_up(self) -> None:
        self._base.execute("PRAGMA foreign_keys = ON")
        self._base.execute("PRAGMA secure_delete = ON")

    @property
    def is_own(self) -> bool:
        """Whether it lies in the person's data folder."""
        return self.path == own_path()

    def folder_sentence(self, reason: str) -> str:
        """Return what to do about a folder that cannot be made."""
        return (
            f"The folder of the print log, {self.path.parent}, cannot be made ({reason}); name another file with "
            f"{VARIABLE}."
        )

    def newer_sentence(self, found: int, known: int) -> str:
        """Return what to do about a log that a newer Beadline wrote."""
        return (
            f"The print log {self.path} was written by a newer Beadline (schema {found}, this one knows "
            f"{known}); update this one, or name another file with {VARIABLE}."
        )

    def sentence_of(self, problem: sqlite3.Error) -> str:
        """Return what to do about an error of SQLite."""
        return _sentence(self.path, problem)


def _stands_alone(path: Path) -> bool:
    """Whether a file lies where nothing can be written, with nothing beside it that belongs to it."""
    may_be_written = os.access(path, os.W_OK) or os.access(path.parent, os.W_OK)
    beside = any(path.with_name(path.name + end).exists() for end in ("-wal", "-shm", "-journal"))
    return path.exists() and not may_be_written and not beside


def _sentence(path: Path, problem: sqlite3.Error) -> str:
    """Return what a person can do about an error of SQLite."""
    text = str(problem)
    if "locked" in text or "busy" in text:
        return f"The print log {path} is being written to by another process; try again. Nothing was changed."
    if "readonly" in text or "read-only" in text:
        return (
            f"The print log {path} may only be read; see to its rights, or name another file with {VARIABLE}."
        )
    if "full" in text:
        return f"The drive of the print log {path} is full, and nothing was changed; make room and try again."
    if "unable to open" in text:
        return (
            f"The print log {path} cannot be opened; see whether its folder is there, or name another file with "
            f"{VARIABLE}."
        )
    if "disk I/O" in text:
        return f"The drive of the print log {path} did not take what was to be written; see to it. Nothing was changed."
    if "malformed" in text or "not a database" in text or "corrupt" in text:
        return (
            f"The print log {path} is damaged ({text}); put a backup in its place, or move it away to begin a new one. "
            "Nothing in it was changed."
        )
    return f"The print log {path} could not be used ({text}); nothing was changed."
