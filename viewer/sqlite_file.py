"""A file of SQLite that several processes may write to at once: opening, schema, transactions, errors in sentences."""

from __future__ import annotations

import os
import sqlite3
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path
from types import TracebackType
from typing import Final, Self

from viewer.errors import BeadlineError

BUSY_S: Final = 10.0
"""How long a process waits for another that is writing."""


class SqliteFile:
    """An open file of SQLite; a context manager. What it holds, and what its errors mean, its subclasses know.

    Parameters
    ----------
    path
        The file; it is made where it is not there, its folder must be.
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
        with self._told():
            self._base = sqlite3.connect(self.path, timeout=BUSY_S, isolation_level=None)
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

    def sentence_of(self, problem: sqlite3.Error) -> str:
        """Return what a person can do about an error of SQLite."""
        raise NotImplementedError

    def newer_sentence(self, found: int, known: int) -> str:
        """Return what a person can do about a file with schema `found`, where only `known` are known."""
        raise NotImplementedError

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
        try:
            base.execute("PRAGMA journal_mode = WAL")  # stays as it is where the file system cannot
        except sqlite3.OperationalError as problem:
            if "locked" in str(problem):
                raise
        with self._writing():
            start = int(
                base.execute("PRAGMA user_version").fetchone()[0]
            )  # another process may have been quicker
            for number in range(start, len(migrations)):
                for statement in migrations[number].split(";"):
                    base.execute(statement)
                base.execute(f"PRAGMA user_version = {number + 1}")

    @contextmanager
    def _writing(self) -> Iterator[None]:
        """Run a transaction: all of it or nothing."""
        with self._told():
            self._base.execute("BEGIN IMMEDIATE")
            try:
                yield
                self._base.execute("COMMIT")
            except BaseException:
                if self._base.in_transaction:
                    self._base.execute("ROLLBACK")
                raise

    @contextmanager
    def _told(self) -> Iterator[None]:
        """Tell in a sentence what SQLite says."""
        try:
            yield
        except sqlite3.Error as problem:
            raise BeadlineError(self.sentence_of(problem)) from problem
