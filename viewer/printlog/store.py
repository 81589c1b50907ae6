"""The store: one SQLite file that several processes may write to at the same time."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterable
from datetime import datetime
from typing import Any

from viewer.errors import BeadlineError
from viewer.printlog.from_sql import print_of, state_of, text_of, values_of
from viewer.printlog.history import CAUSES, History, history_of_rows
from viewer.printlog.log_file import VARIABLE, LogFile, log_path
from viewer.printlog.rows import Entry, Print, Spool, SpoolState, Weighing
from viewer.printlog.schema import SELECT_ENTRIES, SELECT_PRINTS

__all__ = ["VARIABLE", "PrintLog", "log_path"]


class PrintLog(LogFile):
    """The print log, open; a context manager. What it needs and raises stands at `LogFile`."""

    # writing -----------------------------------------------------------------------------------------

    def add(self, prints: Iterable[Print]) -> int:
        """Note prints, all of them or none; return how many were new (a `uid` that is there already is left alone).

        Raises
        ------
        BeadlineError
            One contradicts itself or names a spool that is not there.
        """
        count = 0
        with self._writing():
            for one in prints:
                count += self._insert(one.checked())
        return count

    def delete(self, number: int) -> None:
        """Delete a print for good; its bytes are overwritten in the file.

        Raises
        ------
        BeadlineError
            There is no print of this number.
        """
        self._change("DELETE FROM print WHERE id = ?", (number,), number)

    def forget_person(self, number: int) -> None:
        """Delete for whom a print was, and keep the rest.

        Raises
        ------
        BeadlineError
            There is no print of this number.
        """
        self._change("UPDATE print SET for_whom = '' WHERE id = ?", (number,), number)

    def change(self, one: Print) -> None:
        """Put other values in place of those of the print of its number; the old ones are overwritten in the file.

        Raises
        ------
        BeadlineError
            It contradicts itself, names a spool that is not there, or there is no print of this number.
        """
        one.checked()
        with self._writing():
            values = self._values(one)
            names = ", ".join(f"{name} = :{name}" for name in values)
            self._expect(
                f"UPDATE print SET {names} WHERE id = :number", values | {"number": one.number}, one.number
            )
        self._forget_old()

    def add_spool(self, spool: Spool) -> None:
        """Note a spool.

        Raises
        ------
        BeadlineError
            There is one of this label.
        """
        with self._writing():
            if self._base.execute("SELECT 1 FROM spool WHERE label = ?", (spool.label,)).fetchone():
                raise BeadlineError(f"There is a spool {spool.label} already; give this one another label.")
            self._base.execute(
                "INSERT INTO spool (label, filament, full_g, tare_g, begun, emptied) VALUES (?, ?, ?, ?, ?, ?)",
                (spool.label, spool.filament, spool.full_g, spool.tare_g, text_of(spool.begun), text_of(spool.emptied)),
            )  # fmt: skip

    def weigh(self, weighing: Weighing) -> None:
        """Note what a spool weighs, with the spool itself.

        Raises
        ------
        BeadlineError
            There is no such spool, or its own mass is unknown or more than that.
        """
        with self._writing():
            spool = self._spool_row(weighing.spool)
            if spool["tare_g"] is None:
                raise BeadlineError(
                    f"What the empty spool {weighing.spool} weighs is unknown, so its weight says nothing; note the "
                    "spool with its tare."
                )
            if weighing.gross_g < spool["tare_g"]:
                raise BeadlineError(
                    f"The spool {weighing.spool} weighs {spool['tare_g']:g} g when it is empty, more than "
                    f"{weighing.gross_g:g} g; weigh it again, spool and filament together."
                )
            self._base.execute(
                "INSERT INTO weighing (spool_id, at, gross_g) VALUES (?, ?, ?)",
                (spool["id"], text_of(weighing.at), weighing.gross_g),
            )

    def end_spool(self, label: str, at: datetime | None) -> None:
        """Note when a spool was empty; None: it is in use again.

        Raises
        ------
        BeadlineError
            There is no such spool.
        """
        with self._writing():
            number = self._spool_row(label)["id"]
            self._base.execute("UPDATE spool SET emptied = ? WHERE id = ?", (text_of(at), number))

    def delete_spool(self, label: str) -> None:
        """Delete a spool and its weighings; prints that drew from it stay, without a spool.

        Raises
        ------
        BeadlineError
            There is no such spool.
        """
        with self._writing():
            self._base.execute("DELETE FROM spool WHERE id = ?", (self._spool_row(label)["id"],))

    # reading -----------------------------------------------------------------------------------------

    def prints(
        self,
        *,
        printer: str | None = None,
        sha256: str | None = None,
        words: str = "",
        limit: int | None = None,
    ) -> list[Print]:
        """Return prints, the latest first.

        Parameters
        ----------
        printer, sha256
            Only those of this printer card or program.
        words
            Only those that have it in program, filament, reason, words, for whom or note.
        limit
            At most so many.
        """
        where, values = ["1"], list[Any]()
        for column, value in (("print.printer", printer), ("print.sha256", sha256)):
            if value is not None:
                where.append(f"{column} = ?")
                values.append(value)
        if words:
            columns = ("program", "print.filament", "reason", "words", "for_whom", "note")
            where.append(f"({' OR '.join(f'instr(lower({column}), ?)' for column in columns)})")
            values += [words.lower()] * len(columns)
        text = f"{SELECT_PRINTS} WHERE {' AND '.join(where)} ORDER BY started DESC, print.id DESC LIMIT ?"
        with self._told():
            return [
                print_of(row) for row in self._base.execute(text, (*values, -1 if limit is None else limit))
            ]

    def entries(self, limit: int | None = None) -> list[Entry]:
        """Return all prints, or the latest few, as lines of a list, the latest first."""
        with self._told():
            return list(map(Entry._make, self._plain(SELECT_ENTRIES, (-1 if limit is None else limit,))))

    def print_of(self, number: int) -> Print:
        """Return one print.

        Raises
        ------
        BeadlineError
            There is no print of this number.
        """
        with self._told():
            row = self._base.execute(f"{SELECT_PRINTS} WHERE print.id = ?", (number,)).fetchone()
        if row is None:
            raise BeadlineError(f"There is no print {number} in the log any more; somebody deleted it.")
        return print_of(row)

    def history(self, printer: str | None = None) -> History:
        """Return the prints, of one printer card or all, as columns."""
        causes = ", ".join(f"coalesce(json_extract(parts_s, '$.\"{cause}\"'), 0.0)" for cause in CAUSES)
        real = "round((julianday(ended) - julianday(started)) * 86400.0)"
        with self._told():
            return history_of_rows(
                self._plain(
                    f"SELECT printer, filament, outcome = 'done', {real}, computed_s, {causes} FROM print "
                    "WHERE ? IS NULL OR printer = ? ORDER BY id",
                    (printer, printer),
                )
            )

    def numbered_history(self) -> tuple[list[int], History]:
        """Return the numbers of all prints, and the prints as columns, both in the order of the numbers."""
        with self._told():
            self._base.execute("BEGIN")  # nobody's print comes between the two
            try:
                numbers = [row[0] for row in self._plain("SELECT id FROM print ORDER BY id", ())]
                return numbers, self.history()
            finally:
                self._base.execute("COMMIT")

    def count(self) -> int:
        """Return how many prints there are."""
        with self._told():
            return int(self._base.execute("SELECT count(*) FROM print").fetchone()[0])

    def spools(self) -> list[SpoolState]:
        """Return the spools by label, each with what is left."""
        with self._told():
            rows = self._base.execute("SELECT * FROM spool ORDER BY label").fetchall()
            return [self._state(row) for row in rows]

    # inside ------------------------------------------------------------------------------------------

    def _plain(self, text: str, values: tuple[Any, ...]) -> list[tuple[Any, ...]]:
        """Return rows as plain tuples, which are quicker: a log may have 100,000 prints."""
        reader = self._base.cursor()
        reader.row_factory = None
        return reader.execute(text, values).fetchall()

    def _insert(self, one: Print) -> int:
        if self._base.execute("SELECT 1 FROM print WHERE uid = ?", (one.uid,)).fetchone():
            return 0
        values = self._values(one)
        names = ", ".join(values)
        marks = ", ".join(f":{name}" for name in values)
        self._base.execute(f"INSERT INTO print ({names}) VALUES ({marks})", values)
        return 1

    def _values(self, one: Print) -> dict[str, Any]:
        """Return the columns of a print, its cards noted."""
        spool = None if one.spool is None else self._spool_row(one.spool)["id"]
        return values_of(one, spool, self._card(one.printer_card), self._card(one.filament_card))

    def _card(self, text: str) -> int | None:
        """Return the number of a card's text, which is kept once."""
        if not text:
            return None
        self._base.execute("INSERT OR IGNORE INTO card (text) VALUES (?)", (text,))
        return int(self._base.execute("SELECT id FROM card WHERE text = ?", (text,)).fetchone()[0])

    def _spool_row(self, label: str) -> sqlite3.Row:
        found: sqlite3.Row | None = self._base.execute(
            "SELECT * FROM spool WHERE label = ?", (label,)
        ).fetchone()
        if found is None:
            raise BeadlineError(
                f"There is no spool {label} in the print log; note it first (`beadline log spools --add {label}`)."
            )
        return found

    def _change(self, statement: str, values: tuple[Any, ...], number: int) -> None:
        with self._writing():
            self._expect(statement, values, number)
        self._forget_old()

    def _expect(self, statement: str, values: tuple[Any, ...] | dict[str, Any], number: int | None) -> None:
        """Run a statement that must find the print of a number."""
        if self._base.execute(statement, values).rowcount == 0:
            raise BeadlineError(
                f"There is no print {number} in the log; `beadline log list` shows the numbers."
            )

    def _forget_old(self) -> None:
        """Empty the file of writes beside the store: what was deleted must not stay there."""
        with self._told():
            self._base.execute("PRAGMA wal_checkpoint(TRUNCATE)")

    def _state(self, row: sqlite3.Row) -> SpoolState:
        drawn = self._base.execute(
            "SELECT ended, computed_g, COALESCE(weight_g, computed_g) AS drawn_g FROM print WHERE spool_id = ?",
            (row["id"],),
        ).fetchall()
        weighed = self._base.execute(
            "SELECT at, gross_g FROM weighing WHERE spool_id = ? ORDER BY at, id", (row["id"],)
        ).fetchall()
        return state_of(row, drawn, weighed)
