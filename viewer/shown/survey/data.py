"""A survey as plain objects for JSON, and as a table for CSV."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable, Iterator, Sequence
from datetime import datetime
from typing import Any, Final

import msgspec

from viewer.checks.questions import Question
from viewer.shown.survey.text import fits_text
from viewer.survey.row import Row, totals_of

SCHEMA: Final = 1
"""Version of the form of the object; it rises when a key is renamed or changes its meaning."""

QUESTIONS: Final = tuple(Question)
COLUMNS: Final = (
    *("path", "sha256", "verdict"),
    *(f"{question.replace(' ', '_')}_answer" for question in QUESTIONS),
    *(
        "stops",
        "looks",
        "notes",
        "worst",
        "worst_severity",
        "worst_sentence",
        "time_s",
        "time_is_least",
        "end",
    ),
    *(
        "mass_g",
        "cost",
        "currency",
        "height_mm",
        "layers",
        "material_stated",
        "nozzle_mm_stated",
        "printer_stated",
    ),
    *("best_printer", "fits", "problem"),
)
"""The columns of the CSV table."""


def survey_object(rows: Sequence[Row], start: datetime) -> dict[str, Any]:
    """Return a survey as one plain object, the one that ``survey --json`` prints.

    Parameters
    ----------
    rows
        Sorted.
    start
        When each would be begun, for their ends.
    """
    return {
        "schema": SCHEMA,
        "start": _moment(start),
        "rows": [row_object(row, start) for row in rows],
        "totals": msgspec.to_builtins(totals_of(rows)),
    }


def row_object(row: Row, start: datetime) -> dict[str, Any]:
    """Return one row as a plain object; without a verdict all of that is None."""
    verdict = row.verdict
    return {
        "path": row.path,
        "sha256": row.content,
        "word": row.word,
        "problem": None if row.problem is None else msgspec.to_builtins(row.problem),
        "verdict": None if verdict is None else msgspec.to_builtins(verdict),
        "end": _moment(row.end(start)),
        "best_printer": None if row.best is None else row.best.printer,
        "fits": msgspec.to_builtins(row.fits),
    }


def survey_csv(rows: Iterable[Row], start: datetime) -> Iterator[str]:
    """Yield the lines of a CSV table (RFC 4180) of rows, its head first; what is not known is empty."""
    yield _line(COLUMNS)
    for row in rows:
        yield _line(_values(row, start))


def _values(row: Row, start: datetime) -> list[object]:
    verdict, problem = row.verdict, row.problem
    told = "" if problem is None else problem.sentence
    if verdict is None:
        return [row.path, row.content, row.word, *[None] * (len(COLUMNS) - 4), told]
    words = {one.question: one.word for one in verdict.answers}
    worst = verdict.worst
    return [
        *(row.path, row.content, row.word),
        *(words[question] for question in QUESTIONS),
        *(verdict.stops, verdict.looks, verdict.notes),
        *((None, None, None) if worst is None else (worst.slug, worst.severity, worst.sentence)),
        *(verdict.time_s, verdict.uncounted, _moment(row.end(start)), verdict.mass_g, verdict.cost, verdict.currency),
        *(verdict.height_mm, verdict.layers, verdict.material, verdict.nozzle_mm, verdict.printer),
        *(None if row.best is None else row.best.printer, fits_text(row.fits), told),
    ]  # fmt: skip


def _line(values: Iterable[object]) -> str:
    text = io.StringIO()
    csv.writer(text, lineterminator="\r\n").writerow("" if value is None else value for value in values)
    return text.getvalue()


def _moment(moment: datetime | None) -> str | None:
    return None if moment is None else moment.isoformat(timespec="seconds")
