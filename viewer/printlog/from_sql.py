"""What the log keeps, as values of SQL and back."""

from __future__ import annotations

import json
import sqlite3
from datetime import datetime
from typing import Any

from viewer.printlog.rows import Outcome, Print, Spool, SpoolState, Weighing


def values_of(
    one: Print, spool_id: int | None, printer_card: int | None, filament_card: int | None
) -> dict[str, Any]:
    """Return the columns of a print; its cards and its spool by their numbers."""
    return {
        "uid": one.uid, "program": one.program, "sha256": one.sha256, "printer": one.printer,
        "filament": one.filament, "printer_card_id": printer_card, "filament_card_id": filament_card,
        "computed_s": one.computed_s, "parts_s": json.dumps(dict(one.parts_s)), "computed_g": one.computed_g,
        "started": text_of(one.started), "ended": text_of(one.ended), "outcome": one.outcome.value, "layer": one.layer,
        "reason": one.reason, "words": one.words, "weight_g": one.weight_g, "spool_id": spool_id, "charge": one.charge,
        "currency": one.currency, "for_whom": one.for_whom, "note": one.note, "invented": int(one.invented),
    }  # fmt: skip


def print_of(row: sqlite3.Row) -> Print:
    """Return a print of a row of `SELECT_PRINTS`."""
    return Print(
        program=row["program"], sha256=row["sha256"], printer=row["printer"], filament=row["filament"],
        computed_s=row["computed_s"], parts_s=json.loads(row["parts_s"]), computed_g=row["computed_g"],
        started=datetime.fromisoformat(row["started"]), ended=datetime.fromisoformat(row["ended"]),
        outcome=Outcome(row["outcome"]), layer=row["layer"], reason=row["reason"], words=row["words"],
        weight_g=row["weight_g"], spool=row["spool"], charge=row["charge"], currency=row["currency"],
        for_whom=row["for_whom"], note=row["note"], printer_card=row["printer_card"] or "",
        filament_card=row["filament_card"] or "", invented=bool(row["invented"]), uid=row["uid"], number=row["id"],
    )  # fmt: skip


def state_of(row: sqlite3.Row, drawn: list[sqlite3.Row], weighed: list[sqlite3.Row]) -> SpoolState:
    """Return a spool with what is left.

    Parameters
    ----------
    drawn
        Its prints: ended, computed_g, and drawn_g as weighed or else computed.
    weighed
        Its weighings: at, gross_g, in the order of time.
    """
    spool = Spool(
        label=row["label"], filament=row["filament"], full_g=row["full_g"], tare_g=row["tare_g"],
        begun=datetime.fromisoformat(row["begun"]), emptied=_time(row["emptied"]),
    )  # fmt: skip
    left, since = (
        (weighed[-1]["gross_g"] - row["tare_g"], weighed[-1]["at"]) if weighed else (spool.full_g, "")
    )
    left -= sum(one["drawn_g"] for one in drawn if one["ended"] > since)
    scales = tuple(
        Weighing(spool.label, datetime.fromisoformat(one["at"]), one["gross_g"]) for one in weighed
    )
    return SpoolState(spool, left, sum(one["drawn_g"] for one in drawn), _drift(weighed, drawn), scales)


def _drift(weighed: list[sqlite3.Row], drawn: list[sqlite3.Row]) -> float | None:
    if len(weighed) < 2:
        return None
    first, last = weighed[0], weighed[-1]
    computed = sum(one["computed_g"] for one in drawn if first["at"] < one["ended"] <= last["at"])
    return (first["gross_g"] - last["gross_g"]) / computed if computed > 0.0 else None


def text_of(moment: datetime | None) -> str | None:
    """Return a moment as it is kept: ISO 8601 to the second, so that texts sort as times do."""
    return None if moment is None else moment.isoformat(timespec="seconds")


def _time(text: str | None) -> datetime | None:
    return None if text is None else datetime.fromisoformat(text)
