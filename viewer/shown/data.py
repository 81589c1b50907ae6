"""What is known of a program as plain objects: the one place where the form of all JSON is made.

``figures --json`` and ``vet --json`` print what `figures_object` and `findings_object` return; the same objects are
the Python interface (`viewer.figures_object`, `viewer.findings_object`). No Qt and no console here.
"""

from __future__ import annotations

from dataclasses import asdict
from datetime import datetime
from typing import Any, Final

import msgspec
import numpy as np

from viewer.checks.extent import BeadRun, Extent, Measure, Region
from viewer.checks.finding import Finding, Hazard, Severity
from viewer.checks.run import Report, run_checks
from viewer.figures.clock_times import clock_times
from viewer.figures.tables import Extent as Span
from viewer.printlog.past import Past
from viewer.program import Program
from viewer.shown.finding_text import with_caution
from viewer.verdict import Verdict, verdict_of
from viewer.verdict.offers import offers_of

SCHEMA: Final = 1
"""Version of the form of both objects; it rises when a key is renamed or changes its meaning."""


def figures_object(
    program: Program, report: Report | None = None, start: datetime | None = None, past: Past | None = None
) -> dict[str, Any]:
    """Return all figures and findings of a program, the object that ``figures --json`` prints.

    Parameters
    ----------
    report
        What the checks found; None: they are run here.
    start
        When the print starts; None: there are no times of day (``clock`` is None).
    past
        What the print log says, from `recall`; without it nothing of it is used.
    """
    found = findings_object(program, report, start, past)
    return {
        **_program_part(program),
        **_figures_part(program),
        **_reading_part(program),
        "clock": None if start is None else msgspec.to_builtins(clock_times(program.figures.time, start)),
        "log": found["log"],
        "verdict": found["verdict"],
        "findings": found["findings"],
        "not_checked": found["not_checked"],
        "offers": found["offers"],
    }


def findings_object(
    program: Program, report: Report | None = None, start: datetime | None = None, past: Past | None = None
) -> dict[str, Any]:
    """Return what the checks found in a program, the object that ``vet --json`` prints.

    Parameters
    ----------
    report
        What the checks found; None: they are run here.
    start
        When the print starts, for the checks that look at the clock; it is used only where the checks are run here.
    past
        What the print log says, from `recall`; without it nothing of it is used.
    """
    if report is None:
        report = run_checks(program, start=start)
    return {
        "schema": SCHEMA,
        "path": str(program.path),
        "printer": program.printer.name,
        "filament": program.filament.name,
        "counts": {severity.value: report.count(severity) for severity in Severity},
        "log": past_object(past),
        "verdict": verdict_object(verdict_of(program, report, past=past)),
        "findings": [finding_object(finding) for finding in report.findings],
        "not_checked": [
            {"slug": skipped.slug, "sentence": skipped.told, "failed": skipped.failed}
            for skipped in report.not_checked
        ],
        "offers": [msgspec.to_builtins(offer) for offer in offers_of(program)],
    }


def past_object(past: Past | None) -> dict[str, Any]:
    """Return what the print log says as a plain object; ``None`` where it says nothing."""
    past = past or Past()
    estimate, spool = past.estimate, past.spool
    return {
        "estimate": None if estimate is None else asdict(estimate),
        "spool": None
        if spool is None
        else {"label": spool.label, "left_g": spool.left_g, "drift": spool.drift},
        "problem": past.problem or None,
    }


def verdict_object(verdict: Verdict) -> list[dict[str, Any]]:
    """Return the seven answers as plain objects, always in the same order."""
    return [
        {
            "question": answer.question.value,
            "asked": answer.question.asked,
            "answer": answer.word.value,
            "headline": answer.headline,
            "sentence": answer.sentence,
            "findings": list(dict.fromkeys(finding.slug for finding in answer.findings)),
            "passed": [{"slug": one.slug, "sentence": one.sentence} for one in answer.passed],
            "not_checked": [
                {"slugs": list(one.slugs), "sentence": one.sentence, "failed": one.failed}
                for one in answer.not_checked
            ],
        }
        for answer in verdict.answers
    ]


def finding_object(finding: Finding) -> dict[str, Any]:
    """Return one finding as a plain object, without rows of moves: numbers of our columns."""
    plain: dict[str, Any] = msgspec.to_builtins(finding, enc_hook=_number)
    for one in (plain, *plain["places"]):
        one.pop("move")  # whoever reads the object has the line
    plain["extents"] = list(map(_extent_object, finding.extents))
    for one, place in zip(plain["places"], finding.places, strict=True):
        one["extents"] = list(map(_extent_object, place.extents))
    del plain["alike"]  # said to those who join findings
    del plain["question"]  # the answers of the verdict name their findings
    if (
        finding.hazard is Hazard.HEAT
    ):  # schema 1 has this caution in the remedy; those of other hazards it has not
        plain["remedy"] = with_caution(finding.remedy, finding.hazard)
    return plain


def _extent_object(extent: Extent) -> dict[str, Any]:
    """Return what to draw as an object whose ``kind`` says what it is; beads by the lines of the program."""
    match extent:
        case BeadRun(layer, _, _, from_mm, to_mm, lines):
            return {"kind": "beads", "layer": layer, "lines": list(lines), "from_mm": from_mm, "to_mm": to_mm}
        case Region(layer, polygons):
            return {"kind": "region", "layer": layer, "polygons": [list(map(list, one)) for one in polygons]}
        case Measure(layer, start, end, text):
            ends = {"start_mm": list(start), "end_mm": list(end)}
            return {"kind": "measure", "layer": layer, **ends, "text": text}


def _program_part(program: Program) -> dict[str, Any]:
    return {
        "schema": SCHEMA,
        "program": {
            "path": str(program.path),
            "bytes": program.source.file_bytes,
            "lines": program.tally.lines,
            "sha256": program.sha256,
        },
        "printer": msgspec.to_builtins(program.printer),
        "filament_card": msgspec.to_builtins(program.filament),
        "workshop_card": msgspec.to_builtins(program.workshop),
    }


def _figures_part(program: Program) -> dict[str, Any]:
    figures = program.figures
    plain = msgspec.to_builtins(figures)
    extent = _extent(figures.extent) or {"x": None, "y": None, "z": None}
    return {
        "moves": plain["moves"],
        "path": plain["path"],
        "extent_mm": {**extent, "all": _extent(figures.extent_all), "moves": _extent(figures.extent_moves)},
        "filament": plain["filament"],
        "layers": plain["layers"],
        "time": plain["time"],
        "first_layer": plain["first_layer"],
        "standing": plain["standing"],
        "claims": plain["claims"],
        "failures": plain["failures"],
        "made_for": msgspec.to_builtins(program.made_for),
    }


def _reading_part(program: Program) -> dict[str, Any]:
    return {
        "notes": {"roles_from": program.roles_from, "unread": program.remarks.unread},
        "commands": program.tally.commands,
        "unknown_commands": program.unknown_commands,
        "oddities": {
            name: {"count": oddity.count, "first_line": oddity.first_line}
            for name, oddity in program.tally.oddities.items()
            if oddity.count
        },
    }


def _extent(extent: Span | None) -> dict[str, Any] | None:
    return None if extent is None else {"x": list(extent.x), "y": list(extent.y), "z": list(extent.z)}


def _number(scalar: Any) -> float | int:
    """Return a number of an array as Python's own; anything else is a programming error.

    A finding made of array values may carry one: without this the whole JSON would be lost for it.
    """
    if not isinstance(scalar, np.number):
        raise TypeError(f"a finding holds {type(scalar).__name__}, which has no form in JSON")
    number: float | int = scalar.item()
    return number
