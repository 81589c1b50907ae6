"""`beadline vet`: what a keeper should know before printing; the exit status says whether to stop."""

from __future__ import annotations

import argparse
from collections.abc import Iterator
from typing import Final

from viewer.checks.finding import Finding, Hazard, Severity
from viewer.checks.run import Report, run_checks
from viewer.printlog.past import Past
from viewer.program import Program
from viewer.shown.console.colour import painted
from viewer.shown.console.opening import Opener, start_asked
from viewer.shown.console.progress import ProgressLine, prepare_first_run
from viewer.shown.console.stopping import interruptible
from viewer.shown.console.streams import emit, in_one_line, say
from viewer.shown.console.tables import paragraph, width
from viewer.shown.console.verdict_lines import offer_pieces, verdict_pieces
from viewer.shown.data import findings_object
from viewer.shown.finding_text import evidence_text, other_places_text, readable, verdict_text, with_caution
from viewer.shown.json_text import json_text
from viewer.survey.files import programs_in
from viewer.verdict import verdict_of
from viewer.verdict.offers import offers_of

CAUTIONS_AGAIN: Final = {
    Hazard.HEAT: "The caution above about heat, fumes and fire holds here too.",
    Hazard.MOVING_PARTS: "The caution above about moving axes holds here too.",
}


def vet(asked: argparse.Namespace) -> int:
    """Check programs; return the exit status: 0 nothing says stop, 1 something does, 2 not all could be done.

    2 means that a program could not be read, or that a check failed of itself; it goes before 1.

    Raises
    ------
    BeadlineError
        A card is not valid, or the result could not be written.
    """
    start = start_asked(asked)
    files, sentences = programs_in(asked.files)
    for sentence in sentences:
        say(sentence)
    stops = failed = 0
    indented = len(asked.files) == 1 and len(files) == 1
    with interruptible() as stop:
        opener = Opener.of(asked, stop)
        prepare_first_run()

        def work(program: Program, progress: ProgressLine) -> None:
            nonlocal stops, failed
            report = run_checks(program, progress, stop, start)
            past = opener.past(program)
            progress.clear()
            stops += report.count(Severity.STOP)
            failed += len(report.failed)
            emit(
                [json_text(findings_object(program, report, past=past), indented)]
                if asked.json
                else vet_pieces(program, report, past)
            )

        opener.each(files, work)
        return 2 if opener.failed or sentences or failed else int(stops > 0)


def _remedy(finding: Finding, cautioned: set[Hazard]) -> str:
    """Return what to do; the caution about a hazard is written once and referred to later."""
    if finding.hazard in cautioned:
        return f"{finding.remedy} {CAUTIONS_AGAIN[finding.hazard]}".lstrip()
    if finding.hazard is not None:
        cautioned.add(finding.hazard)
    return with_caution(finding.remedy, finding.hazard)


def vet_pieces(program: Program, report: Report, past: Past | None = None) -> Iterator[str]:
    """Yield the verdict on a program, its findings, what passed and what was not checked, as people read them."""
    columns = width()
    # Never wrapped: a folder's verdicts are found by their lines.
    yield f"{in_one_line(str(program.path))}: {verdict_text(report)}\n"
    yield paragraph(f"on {program.printer.name} with {program.filament.name}", columns, "  ")
    yield "\n"
    yield from verdict_pieces(verdict_of(program, report, past=past), columns)
    yield from offer_pieces(offers_of(program), columns)
    cautioned: set[Hazard] = set()
    for finding in report.findings:
        yield painted(f"\n  {finding.severity.value:<5} {finding.slug}\n", finding.severity)
        yield paragraph(readable(finding.sentence), columns, "        ")
        if evidence := evidence_text(finding):
            yield paragraph(evidence, columns, "        ")
        if others := other_places_text(finding):
            yield paragraph(others, columns, "        ")
        if remedy := _remedy(finding, cautioned):
            yield paragraph(readable(remedy), columns, "        ")
    if report.passed:
        yield "\n  Passed:\n"
    for held in report.passed:
        yield paragraph(readable(held.sentence), columns, "        ")
    if report.not_checked:
        yield "\n  Not checked:\n"
    for skipped in report.not_checked:
        yield paragraph(f"{', '.join(skipped.slugs)}: {readable(skipped.sentence)}", columns, "        ")
    yield "\n"
