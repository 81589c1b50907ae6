"""The store: one SQLite file that several processes may write to at the same time."""

from __future__ import annotations

import json
import os
import sqlite3
from collections.abc import Iterable
from datetime import datetime
from pathlib import Path
from typing import Any, Final

from viewer.errors import BeadlineError
from viewer.printlog.history import CAUSES, History, history_of_rows
from viewer.printlog.rows import Outcome, Print, Spool, SpoolState, Weighing
from viewer.printlog.schema import MIGRATIONS, SELECT_PRINTS
from viewer.sqlite_file import SqliteFile

VARIABLE: Final = "BEADLINE_PRINT_LOG"
"""Environment variable: the file of the log, e.g. in a folder that the bench shares."""


def log_path(workshop_says: str | None = None) -> Path:
    """Return the file of the log: as the variable says, else the workshop card, else in the person's data folder."""
    if name := os.environ.get(VARIABLE) or workshop_says:
        return Path(name).expanduser()
    import platformdirs

    return platformdirs.user_data_path("beadline", appauthor=False) / "prints.sqlite3"


class PrintLog(SqliteFile):
    """The print log, open; a context manager.

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
        folder = Path(path).parent
        try:
            folder.mkdir(parents=True, exist_ok=True)
        except OSError as problem:
            raise BeadlineError(
                f"The folder of the print log, {folder}, cannot be made ({problem.strerror}); name another "
                f"file with {VARIABLE}."
            ) from problem
        super().__init__(path, MIGRATIONS)

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
        self._change("DELETE FROM print WHERE id = ?", number)

    def forget_person(self, number: int) -> None:
        """Delete for whom a print was, and keep the rest.

        Raises
        ------
        BeadlineError
            There is no print of this number.
        """
        self._change("UPDATE print SET for_whom = '' WHERE id = ?", number)

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
                (spool.label, spool.filament, spool.full_g, spool.tare_g, _text(spool.begun), _text(spool.emptied)),
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
                (spool["id"], _text(weighing.at), weighing.gross_g),
            )

    def back_up(self, path: str | os.PathLike[str]) -> None:
        """Copy the log as it is now to another file, also while others write to it."""
        with self._told(), sqlite3.connect(path) as copy:
            self._base.backup(copy)
        copy.close()

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
                _print_of(row) for row in self._base.execute(text, (*values, -1 if limit is None else limit))
            ]

    def history(self, printer: str | None = None) -> History:
        """Return the prints, of one printer card or all, as columns."""
        causes = ", ".join(f"coalesce(json_extract(parts_s, '$.\"{cause}\"'), 0.0)" for cause in CAUSES)
        real = "round((julianday(ended) - julianday(started)) * 86400.0)"
        with self._told():
            return history_of_rows(
                self._base.execute(
                    f"SELECT printer, filament, outcome = 'done', {real}, computed_s, {causes} FROM print "
                    "WHERE ? IS NULL OR printer = ? ORDER BY id",
                    (printer, printer),
                ).fetchall()
            )

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

    def _set_up(self) -> None:
        self._base.execute("PRAGMA foreign_keys = ON")
        self._base.execute("PRAGMA secure_delete = ON")

    def newer_sentence(self, found: int, known: int) -> str:
        """Return what to do about a log that a newer Beadline wrote."""
        return (
            f"The print log {self.path} was written by a newer Beadline (schema {found}, this one knows "
            f"{known}); update this one, or name another file with {VARIABLE}."
        )

    def sentence_of(self, problem: sqlite3.Error) -> str:
        """Return what to do about an error of SQLite."""
        return _sentence(self.path, problem)

    def _insert(self, one: Print) -> int:
        if self._base.execute("SELECT 1 FROM print WHERE uid = ?", (one.uid,)).fetchone():
            return 0
        spool = None if one.spool is None else self._spool_row(one.spool)["id"]
        values = {
            "uid": one.uid, "program": one.program, "sha256": one.sha256, "printer": one.printer,
            "filament": one.filament, "printer_card_id": self._card(one.printer_card),
            "filament_card_id": self._card(one.filament_card), "computed_s": one.computed_s,
            "parts_s": json.dumps(dict(one.parts_s)), "computed_g": one.computed_g, "started": _text(one.started),
            "ended": _text(one.ended), "outcome": one.outcome.value, "layer": one.layer, "reason": one.reason,
            "words": one.words, "weight_g": one.weight_g, "spool_id": spool, "charge": one.charge,
            "currency": one.currency, "for_whom": one.for_whom, "note": one.note, "invented": int(one.invented),
        }  # fmt: skip
        names = ", ".join(values)
        marks = ", ".join(f":{name}" for name in values)
        self._base.execute(f"INSERT INTO print ({names}) VALUES ({marks})", values)
        return 1

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

    def _change(self, statement: str, number: int) -> None:
        with self._writing():
            if self._base.execute(statement, (number,)).rowcount == 0:
                raise BeadlineError(
                    f"There is no print {number} in the log; `beadline log list` shows the numbers."
                )
        with self._told():  # what was deleted must not stay in the file beside the store
            self._base.execute("PRAGMA wal_checkpoint(TRUNCATE)")

    def _state(self, row: sqlite3.Row) -> SpoolState:
        spool = Spool(
            label=row["label"], filament=row["filament"], full_g=row["full_g"], tare_g=row["tare_g"],
            begun=datetime.fromisoformat(row["begun"]), emptied=_time(row["emptied"]),
        )  # fmt: skip
        drawn = self._base.execute(
            "SELECT ended, computed_g, COALESCE(weight_g, computed_g) AS drawn_g FROM print WHERE spool_id = ?",
            (row["id"],),
        ).fetchall()
        weighed = self._base.execute(
            "SELECT at, gross_g FROM weighing WHERE spool_id = ? ORDER BY at", (row["id"],)
        ).fetchall()
        left, since = (
            (weighed[-1]["gross_g"] - row["tare_g"], weighed[-1]["at"]) if weighed else (spool.full_g, "")
        )
        left -= sum(one["drawn_g"] for one in drawn if one["ended"] > since)
        return SpoolState(spool, left, sum(one["drawn_g"] for one in drawn), _drift(weighed, drawn))


def _drift(weighed: list[sqlite3.Row], drawn: list[sqlite3.Row]) -> float | None:
    if len(weighed) < 2:
        return None
    first, last = weighed[0], weighed[-1]
    computed = sum(one["computed_g"] for one in drawn if first["at"] < one["ended"] <= last["at"])
    return (first["gross_g"] - last["gross_g"]) / computed if computed > 0.0 else None


def _print_of(row: sqlite3.Row) -> Print:
    return Print(
        program=row["program"], sha256=row["sha256"], printer=row["printer"], filament=row["filament"],
        computed_s=row["computed_s"], parts_s=json.loads(row["parts_s"]), computed_g=row["computed_g"],
        started=datetime.fromisoformat(row["started"]), ended=datetime.fromisoformat(row["ended"]),
        outcome=Outcome(row["outcome"]), layer=row["layer"], reason=row["reason"], words=row["words"],
        weight_g=row["weight_g"], spool=row["spool"], charge=row["charge"], currency=row["currency"],
        for_whom=row["for_whom"], note=row["note"], printer_card=row["printer_card"] or "",
        filament_card=row["filament_card"] or "", invented=bool(row["invented"]), uid=row["uid"], number=row["id"],
    )  # fmt: skip


def _text(moment: datetime | None) -> str | None:
    return None if moment is None else moment.isoformat(timespec="seconds")


def _time(text: str | None) -> datetime | None:
    return None if text is None else datetime.fromisoformat(text)


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
        return (
            f"The drive of the print log {path} is full, and nothing was noted; make room and note it again."
        )
    if "unable to open" in text:
        return (
            f"The print log {path} cannot be opened; see whether its folder is there, or name another file with "
            f"{VARIABLE}."
        )
    if "malformed" in text or "not a database" in text or "corrupt" in text:
        return (
            f"The print log {path} is damaged ({text}); put a backup in its place, or move it away to begin a new one. "
            "Nothing in it was changed."
        )
    return f"The print log {path} could not be used ({text}); nothing was noted."
