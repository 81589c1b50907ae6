"""A file of SQLite that several processes may write to at once: opening, schema, transactions, errors in sentences."""

from __future__ import annotations

import os
import random
import sqlite3
import time
from abc import ABC, abstractmethod
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path
from types import TracebackType
from typing import Final, Self

from viewer.errors import BeadlineError

BUSY_S: Final = 10.0
"""How long a process waits for another that is writing."""
_ASKING_S: Final = (0.001, 0.005)
"""How long it waits before it asks again whether the file can be written to, at least and at most."""


class SqliteFile(ABC):
    """An open file of SQLite; a context manager. What it holds, and what its errors mean, its subclasses know.

    Parameters
    ----------
    path
        The file; it and its folder are made where they are not there.
    migrations
        Statements, parted by semicolons, that bring the file from one schema to the next; `user_version` counts them.

    Raises
    ------
    BeadlineError
        It is damaged, locked, of a newer version, or cannot be opened. Every method raises it for the same reasons,
        and then has changed nothing.
    """

    def __init__(self, path: str | os.PathLike[str], migrations: Sequence[str]) -> None:
        self.path = Path(path)
        try:
            self.path.parent.mkdir(parents=True, exist_ok=True)
        except OSError as problem:
            raise BeadlineError(self.folder_sentence(str(problem.strerror))) from problem
        with self._told():
            self._base = self._connected()
        self._base.row_factory = sqlite3.Row  # by name and by place
        try:
            with self._told():
                self._set_up()
                self._migrate(migrations)
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

    @property
    @abstractmethod
    def is_own(self) -> bool:
        """Whether it lies in the person's own folders, where no other computer writes to it."""

    @abstractmethod
    def sentence_of(self, problem: sqlite3.Error) -> str:
        """Return what a person can do about an error of SQLite."""

    @abstractmethod
    def folder_sentence(self, reason: str) -> str:
        """Return what a person can do about a folder that cannot be made."""

    @abstractmethod
    def newer_sentence(self, found: int, known: int) -> str:
        """Return what a person can do about a file with schema `found`, where only `known` are known."""

    def _connected(self) -> sqlite3.Connection:
        """Connect to the file."""
        return sqlite3.connect(self.path, timeout=BUSY_S, isolation_level=None)

    @abstractmethod
    def _set_up(self) -> None:
        """Set the connection up, before anything is read."""

    def _migrate(self, migrations: Sequence[str]) -> None:
        """Bring the file to today's schema."""
        base = self._base
        found = int(base.execute("PRAGMA user_version").fetchone()[0])
        if found > len(migrations):
            raise BeadlineError(self.newer_sentence(found, len(migrations)))
        if found == len(migrations):
            return
        if self.is_own:
            self._write_ahead()
        with self._writing():
            start = int(
                base.execute("PRAGMA user_version").fetchone()[0]
            )  # another process may have been quicker
            for number in range(start, len(migrations)):
                for statement in migrations[number].split(";"):
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
            raise BeadlineError(self.sentence_of(problem)) from problem
