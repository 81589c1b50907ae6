"""`beadline vet`: what a keeper should know before printing; the exit status says whether to stop."""

from __future__ import annotations

import argparse
from collections.abc import Iterator
from typing import Any, Final

import msgspec
import numpy as np

from viewer.checks.finding import Finding, Hazard, Severity
from viewer.checks.run import Report, run_checks
from viewer.program import Program
from viewer.shown.console.opening import Bench, programs_in, start_asked
from viewer.shown.console.plain import json_text
from viewer.shown.console.progress import Progress, prepare_first_run
from viewer.shown.console.stopping import interruptible
from viewer.shown.console.streams import emit, in_one_line, say
from viewer.shown.console.tables import paragraph, width
from viewer.shown.finding_text import evidence_text, readable, verdict_text, with_caution

CAUTIONS_AGAIN: Final = {
    Hazard.HEAT: "The caution above about heat, fumes and fire holds here too.",
    Hazard.MOVING_PARTS: "The caution above about moving axes holds here too.",
}


def vet(asked: argparse.Namespace) -> int:
    """Check programs; give the exit status: 0 nothing says stop, 1 something does, 2 one could not be read.

    Raises
    ------
    BeadlineError
        A card is not valid, or the result could not be written.
    """
    start = start_asked(asked)
    files, sentences = programs_in(asked.files)
    for sentence in sentences:
        say(sentence)
    stops = 0
    indented = len(asked.files) == 1 and len(files) == 1
    with interruptible() as stop:
        bench = Bench.of(asked, stop)
        prepare_first_run()

        def work(program: Program, progress: Progress) -> None:
            nonlocal stops
            report = run_checks(program, progress, stop, start)
            progress.clear()
            stops += report.count(Severity.STOP)
            emit(
                [json_text(report_object(program, report), indented)]
                if asked.json
                else _for_people(program, report)
            )

        bench.each(files, work)
        return 2 if bench.failed or sentences else int(stops > 0)


def report_object(program: Program, report: Report) -> dict[str, Any]:
    """Return what was found in a program as a plain object, the form that ``vet --json`` prints."""
    return {
        "schema": 1,
        "path": str(program.path),
        "printer": program.printer.name,
        "filament": program.filament.name,
        "counts": {severity.value: report.count(severity) for severity in Severity},
        "findings": findings_list(report),
        "not_checked": [msgspec.to_builtins(skipped) for skipped in report.not_checked],
    }


def findings_list(report: Report) -> list[dict[str, Any]]:
    """Return the findings as plain objects, the gravest first."""
    return [_plain(finding) for finding in report.findings]


def _plain(finding: Finding) -> dict[str, Any]:
    plain: dict[str, Any] = msgspec.to_builtins(finding, enc_hook=_number)
    plain.pop("move")  # a number of our columns; whoever reads the object has the line
    if (
        finding.hazard is Hazard.HEAT
    ):  # schema 1 has this caution in the remedy; that of other hazards it has not
        plain["remedy"] = with_caution(finding.remedy, finding.hazard)
    return plain


def _number(scalar: Any) -> float | int:
    """Return a number of an array as Python's own; anything else is a mistake of ours.

    A finding made of array values may carry one: without this the whole JSON would be lost for it.
    """
    if not isinstance(scalar, np.number):
        raise TypeError(f"a finding holds {type(scalar).__name__}, which has no form in JSON")
    number: float | int = scalar.item()
    return number


def _remedy(finding: Finding, cautioned: set[Hazard]) -> str:
    """Return what to do; the caution about a hazard is written once and referred to later."""
    if finding.hazard in cautioned:
        return f"{finding.remedy} {CAUTIONS_AGAIN[finding.hazard]}".lstrip()
    if finding.hazard is not None:
        cautioned.add(finding.hazard)
    return with_caution(finding.remedy, finding.hazard)


def _for_people(program: Program, report: Report) -> Iterator[str]:
    columns = width()
    # Never wrapped: a folder's verdicts are found by their lines.
    yield f"{in_one_line(str(program.path))}: {verdict_text(report)}\n"
    yield paragraph(f"on {program.printer.name} with {program.filament.name}", columns, "  ")
    cautioned: set[Hazard] = set()
    for finding in report.findings:
        yield f"\n  {finding.severity.value:<5} {finding.slug}\n"
        yield paragraph(readable(finding.sentence), columns, "        ")
        if evidence := evidence_text(finding):
            yield paragraph(evidence, columns, "        ")
        if remedy := _remedy(finding, cautioned):
            yield paragraph(readable(remedy), columns, "        ")
    if report.not_checked:
        yield "\n  Not checked:\n"
    slugs_by_sentence: dict[str, list[str]] = {}
    for skipped in report.not_checked:
        slugs_by_sentence.setdefault(skipped.sentence, []).append(skipped.slug)
    for sentence, slugs in slugs_by_sentence.items():
        yield paragraph(f"{', '.join(slugs)}: {readable(sentence)}", columns, "        ")
    yield "\n"
