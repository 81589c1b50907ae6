"""The file of the log: opened, brought to today's schema, written to in transactions; its errors in sentences."""

from __future__ import annotations

import os
import random
import sqlite3
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from types import TracebackType
from typing import Final, Self

from viewer.errors import BeadlineError
from viewer.printlog.schema import MIGRATIONS

VARIABLE: Final = "BEADLINE_PRINT_LOG"
"""Environment variable: the file of the log, e.g. in a folder that the bench shares."""
BUSY_S: Final = 10.0
"""How long a process waits for another that is writing."""

_ASKING_S: Final = (0.001, 0.005)
"""How long it waits before it asks again whether the file can be written to, at least and at most."""


def log_path(workshop_says: str | None = None) -> Path:
    """Return the file of the log: as the variable says, else the workshop card, else in the person's data folder."""
    if name := os.environ.get(VARIABLE) or workshop_says:
        return Path(name).expanduser()
    return own_path()


def own_path() -> Path:
    """Return the log's file in the person's data folder."""
    import platformdirs

    return platformdirs.user_data_path("beadline", appauthor=False) / "prints.sqlite3"


class LogFile:
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
        self.path = Path(path)
        try:
            self.path.parent.mkdir(parents=True, exist_ok=True)
        except OSError as problem:
            raise BeadlineError(
                f"The folder of the print log, {self.path.parent}, cannot be made ({problem.strerror}); name another "
                f"file with {VARIABLE}."
            ) from problem
        with self._told():
            self._base = self._connected()
        self._base.row_factory = sqlite3.Row  # by name and by place
        try:
            with self._told():
                self._prepare()
        except BaseException:
            self._base.close()
            raise

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, problem: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.close()

    def close(self) -> None:
        """Close the file; what was written stays."""
        self._base.close()

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
                f"{self.path.absolute().as_uri()}?immutable=1", uri=True, timeout=BUSY_S, isolation_level=None
            )
        return sqlite3.connect(self.path, timeout=BUSY_S, isolation_level=None)

    def _prepare(self) -> None:
        """Set the connection up, and bring the file to today's schema."""
        base = self._base
        base.execute("PRAGMA foreign_keys = ON")
        base.execute("PRAGMA secure_delete = ON")
        found = int(base.execute("PRAGMA user_version").fetchone()[0])
        if found > len(MIGRATIONS):
            raise BeadlineError(
                f"The print log {self.path} was written by a newer Beadline (schema {found}, this one knows "
                f"{len(MIGRATIONS)}); update this one, or name another file with {VARIABLE}."
            )
        if found == len(MIGRATIONS):
            return
        if self.path == own_path():
            self._write_ahead()
        with self._writing():
            start = int(
                base.execute("PRAGMA user_version").fetchone()[0]
            )  # another process may have been quicker
            for number in range(start, len(MIGRATIONS)):
                for statement in MIGRATIONS[number].split(";"):
                    base.execute(statement)
                base.execute(f"PRAGMA user_version = {number + 1}")

    def _write_ahead(self) -> None:
        """Let readers and one writer work at once, where the file system can.

        Only in the person's own folder: a file elsewhere may be shared by several computers, and "WAL does not work over
        a network filesystem" (SQLite's documentation, *Write-Ahead Logging*, as remembered).
        """
        try:
            self._base.execute("PRAGMA journal_mode = WAL")  # stays as it is where the file system cannot
        except sqlite3.OperationalError as problem:
            if "locked" in str(problem):
                raise

    @contextmanager
    def _writing(self) -> Iterator[None]:
        """Run a transaction: all of it or nothing."""
        with self._told():
            self._begin()
            try:
                yield
                self._base.execute("COMMIT")
            except BaseException:
                if self._base.in_transaction:
                    self._base.execute("ROLLBACK")
                raise

    def _begin(self) -> None:
        """Begin a transaction that writes, as soon as no other process does.

        SQLite's own waiting asks every 100 ms in the end: beside a process that notes one row after another it may find
        the file locked for all of `BUSY_S`. Here it is asked every few milliseconds, at random.
        """
        until = time.monotonic() + BUSY_S
        self._base.execute("PRAGMA busy_timeout = 0")
        try:
            while True:
                try:
                    self._base.execute("BEGIN IMMEDIATE")
                    return
                except sqlite3.OperationalError as problem:
                    if "locked" not in str(problem) or time.monotonic() > until:
                        raise
                time.sleep(random.uniform(*_ASKING_S))
        finally:
            self._base.execute(f"PRAGMA busy_timeout = {round(1000.0 * BUSY_S)}")

    @contextmanager
    def _told(self) -> Iterator[None]:
        """Tell in a sentence what SQLite says."""
        try:
            yield
        except sqlite3.Error as problem:
            raise BeadlineError(_sentence(self.path, problem)) from problem


def _stands_alone(path: Path) -> bool:
    """Whether a file lies where nothing can be written, with nothing beside it that belongs to it."""
    may_be_written = os.access(path, os.W_OK) or os.access(path.parent, os.W_OK)
    beside = any(path.with_name(path.name + end).exists() for end in ("-wal", "-shm", "-journal"))
    return path.exists() and not may_be_written and not beside


def _sentence(path: Path, problem: sqlite3.Error) -> str:
    """Return what a person can do about an error of SQLite."""
    text = str(problem)
    if "locked" in text or "busy" in text:
        return f"The print log {path} is being written to by another process; try again. Nothing was noted."
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
        return f"The drive of the print log {path} did not take what was to be written, and nothing was noted; see to it."
    if "malformed" in text or "not a database" in text or "corrupt" in text:
        return (
            f"The print log {path} is damaged ({text}); put a backup in its place, or move it away to begin a new one. "
            "Nothing in it was changed."
        )
    return f"The print log {path} could not be used ({text}); nothing was noted."
