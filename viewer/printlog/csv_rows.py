"""The log as CSV, out and in again."""

from __future__ import annotations

import csv
import io
import json
from collections.abc import Iterable, Iterator
from datetime import datetime
from typing import Any, Final

from viewer.errors import BeadlineError
from viewer.printlog.rows import Outcome, Print

COLUMNS: Final = (
    "uid", "program", "sha256", "printer", "filament", "started", "ended", "outcome", "layer", "reason", "words",
    "computed_s", "computed_g", "weight_g", "spool", "charge", "currency", "for_whom", "note", "invented", "parts_s",
    "printer_card", "filament_card",
)  # fmt: skip
_NUMBERS: Final = frozenset({"computed_s", "computed_g", "weight_g", "charge"})
_MAY_BE_EMPTY: Final = frozenset({"weight_g", "charge", "layer", "spool"})
_NEEDED: Final = ("program", "printer", "started", "ended", "outcome")


def csv_of(prints: Iterable[Print]) -> Iterator[str]:
    """Yield the lines of a table of prints, RFC 4180, with a head."""
    yield _line(COLUMNS)
    for one in prints:
        yield _line([_cell(one, name) for name in COLUMNS])


def prints_of_csv(text: str, name: str) -> list[Print]:
    """Return the prints of a table with a head, as `csv_of` writes it; columns may stand in any order or be missing.

    Raises
    ------
    BeadlineError
        A row is not valid; the sentence names file (`name`), row and column. None is returned then.
    """
    rows = csv.DictReader(io.StringIO(text), strict=True)
    try:
        missing = [column for column in _NEEDED if column not in (rows.fieldnames or ())]
        if missing:
            raise BeadlineError(f"{name} has no column {missing[0]}; its first line must name the columns.")
        return [_print_of(row, f"{name}, line {rows.line_num}").checked() for row in rows]
    except csv.Error as problem:
        raise BeadlineError(
            f"{name}, line {rows.line_num}: this is no CSV ({problem}); mend it."
        ) from problem


def _print_of(row: dict[str, str | None], where: str) -> Print:
    values: dict[str, Any] = {}
    for column in COLUMNS:
        text = row.get(column)
        if text is None or (text == "" and column not in _MAY_BE_EMPTY and column not in _NEEDED):
            continue
        try:
            values[column] = _value(column, text)
        except ValueError:
            raise BeadlineError(f"{where}: {column} cannot be {text!r}; mend it or leave it empty.") from None
    if not values.get("uid"):
        values.pop("uid", None)
    for column, otherwise in (
        ("sha256", ""),
        ("filament", ""),
        ("computed_s", 0.0),
        ("parts_s", {}),
        ("computed_g", 0.0),
    ):
        values.setdefault(column, otherwise)
    return Print(**values)


def _value(column: str, text: str) -> Any:
    if text == "" and column in _MAY_BE_EMPTY:
        return None
    if column in _NUMBERS:
        return float(text)
    if column in {"started", "ended"}:
        return datetime.fromisoformat(text).replace(tzinfo=None)
    if column == "layer":
        return int(text)
    if column == "outcome":
        return Outcome(text)
    if column == "invented":
        return {"0": False, "1": True}[text] if text in {"0", "1"} else _refuse()
    if column == "parts_s":
        return {str(cause): float(seconds) for cause, seconds in json.loads(text).items()}
    return text


def _refuse() -> bool:
    raise ValueError


def _cell(one: Print, name: str) -> str:
    value = getattr(one, name)
    if value is None:
        return ""
    if isinstance(value, datetime):
        return value.isoformat(timespec="seconds")
    if name == "parts_s":
        return json.dumps(dict(value))
    return str(int(value)) if isinstance(value, bool) else str(value)


def _line(cells: Iterable[str]) -> str:
    out = io.StringIO()
    csv.writer(out, lineterminator="\n").writerow(cells)
    return out.getvalue()
