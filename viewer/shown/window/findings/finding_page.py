"""What the Findings pane writes: one finding whole, what was not checked, and what it means to have none."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from html import escape
from typing import Final

from viewer.checks.finding import Check, Finding, Hazard, NotChecked, Passed, Severity
from viewer.numerals import capital, counted_text, told_apart
from viewer.shown.finding_text import CAUTIONS, place_words, readable, where_words
from viewer.shown.html import cell, named_values, row, table
from viewer.shown.numbers import count_text, number_text
from viewer.verdict import Answer

SEVERITY_COLOURS: Final = {Severity.STOP: "stop", Severity.LOOK: "warn", Severity.NOTE: "accent"}
"""Names in `colours.ui`."""
MAX_PLACES_LISTED: Final = 60
BEYOND: Final = (
    "No check knows the state of the machine, of the filament or of the room. "
    "Follow the machine's manual, the local rules and the place's own policy."
)


def where_text(finding: Finding) -> str:
    """Say where a finding lies: layer, place, line."""
    parts = []
    if finding.layer is not None:
        parts.append(f"layer {count_text(finding.layer)}")
    if finding.place_mm is not None:
        parts.append(f"at {place_words(finding.place_mm)}")
    if finding.lines:
        parts.append(f"line {finding.lines[0]}")
    if others := len(finding.places) - 1 + finding.unlisted if finding.places else 0:
        parts.append(f"and {counted_text(others, 'more place')}")
    return ", ".join(parts)


def finding_html(finding: Finding, check: Check | None, faint: str, edge: str) -> str:
    """Write one finding whole.

    Parameters
    ----------
    check
        Its documentation; None where it is not known.
    faint, edge
        Colours of lesser text and of lines, as HTML writes them.
    """
    title = check.title if check else finding.slug
    head = f"{finding.severity.value}: {finding.severity.means}"
    remedy, in_general = finding.remedy, check.what_to_do if check else ""
    parts = [
        f"<p style='margin:0; color:{faint}'>{escape(head)}</p>",
        f"<p style='margin:0 0 6px 0'><b>{escape(capital(title))}</b></p>",
        f"<p style='margin:0 0 6px 0'>{escape(readable(finding.sentence))}</p>",
        _evidence(finding, faint),
        _places(finding),
        _section("What to do", remedy or in_general),
    ]
    if finding.hazard is not None:
        parts.append(caution_html(finding.hazard, edge))
    if check is not None:
        parts += [
            _section("Why it matters", check.why),
            _section("What was looked at", check.looks_at),
            _section("What this check cannot see", check.cannot_see),
            _section("In general", in_general if remedy and remedy != in_general else ""),
        ]
    parts.append(f"<p style='color:{faint}'>Check: {escape(finding.slug)}</p>")
    return "".join(parts)


def caution_html(hazard: Hazard, edge: str) -> str:
    """Write the caution about a hazard in a frame."""
    return table(
        [row(cell(escape(CAUTIONS[hazard])))], padding=6, style=f"margin:6px 0; border:1px solid {edge}"
    )


def not_checked_html(missing: NotChecked, check: Check | None, faint: str) -> str:
    """Write why something was not checked, and what it would have looked at."""
    title = check.title if check else missing.slug
    head = "not checked, because it failed" if missing.failed else "not checked"
    parts = [
        f"<p style='margin:0; color:{faint}'>{head}</p>",
        f"<p style='margin:0 0 6px 0'><b>{escape(capital(title))}</b></p>",
        f"<p style='margin:0 0 6px 0'>{escape(readable(missing.told))}</p>",
    ]
    if check is not None:
        parts += [_section("What would be looked at", check.looks_at), _section("Why it matters", check.why)]
    parts.append(f"<p style='color:{faint}'>Check: {escape(missing.slug)}</p>")
    return "".join(parts)


def passed_html(passed: Passed, check: Check | None, faint: str) -> str:
    """Write what holds, and what was looked at; not by the name of the fault that is not there."""
    parts = [
        f"<p style='margin:0; color:{faint}'>checked, nothing found</p>",
        f"<p style='margin:0 0 6px 0'><b>{escape(readable(passed.sentence))}</b></p>",
    ]
    if check is not None:
        parts += [
            _section("What was looked at", check.looks_at),
            _section("Why it matters", check.why),
            _section("What this check cannot see", check.cannot_see),
        ]
    parts.append(f"<p style='color:{faint}'>Check: {escape(passed.slug)}</p>")
    return "".join(parts)


def answer_html(answer: Answer, faint: str) -> str:
    """Write one answer with all that it rests on: findings, what holds, what was not checked."""
    parts = [
        f"<p style='margin:0; color:{faint}'>{escape(answer.question.asked)}</p>",
        f"<p style='margin:0 0 6px 0'><b>{escape(answer.headline)}</b></p>",
        f"<p style='margin:0 0 6px 0'>{escape(readable(answer.sentence))}</p>",
        _listed("Found", [f"{one.severity.value}: {one.sentence}" for one in answer.findings]),
        _listed("Checked, and nothing found", [one.sentence for one in answer.passed]),
        _listed("Not checked", [one.told for one in answer.not_checked]),
        f"<p style='color:{faint}'>{escape(BEYOND)}</p>",
    ]
    return "".join(parts)


def _listed(title: str, sentences: Sequence[str]) -> str:
    if not sentences:
        return ""
    rows = "".join(f"<li>{escape(readable(sentence))}</li>" for sentence in sentences)
    return (
        f"<p style='margin:6px 0 0 0'><b>{escape(title)}</b></p><ul style='margin:2px 0 0 -24px'>{rows}</ul>"
    )


def nothing_found_html(checks: Iterable[Check], not_checked: Sequence[NotChecked], faint: str) -> str:
    """Write what was checked where nothing was found; never that all is well."""
    slugs = {slug for missing in not_checked for slug in missing.slugs}
    themes: dict[str, list[str]] = {}
    for check in checks:
        if check.slug not in slugs:
            themes.setdefault(check.theme, []).append(check.title)
    made = sum(len(titles) for titles in themes.values())
    listed = named_values(((theme, escape("; ".join(titles))) for theme, titles in themes.items()), faint)
    left = ""
    if slugs:
        left = f"<p>Not, or not wholly, checked: {len(slugs)}; the list says why.</p>"
    were = "1 check was" if made == 1 else f"{made} checks were"
    return (
        f"<p style='margin:0 0 6px 0'><b>No finding</b></p><p style='margin:0 0 6px 0'>{were} made:</p>"
        f"{listed}{left}<p>{escape(BEYOND)}</p>"
    )


def _section(title: str, text: str) -> str:
    if not text:
        return ""
    return f"<p style='margin:6px 0 0 0'><b>{escape(title)}</b><br>{escape(readable(text))}</p>"


def _places(finding: Finding) -> str:
    """List the places of a finding that holds at several, each a link ``place:ROW`` that the pane follows."""
    if not finding.places:
        return ""
    total = len(finding.places) + finding.unlisted
    unit = f" {readable(finding.unit)}" if finding.unit else ""
    rows = []
    for number, place in enumerate(finding.places[:MAX_PLACES_LISTED]):
        value = "" if place.value is None else f": {number_text(place.value)}{unit}"
        text = where_words(place) or (f"line {place.line}" if place.line else "somewhere")
        rows.append(f"<a href='place:{number}'>{number + 1} of {total}</a> {escape(text + value)}")
    if total > len(rows):
        rows.append(f"and {count_text(total - len(rows))} more")
    return f"<p style='margin:6px 0 0 0'><b>Places, the worst first</b><br>{'<br>'.join(rows)}</p>"


def _evidence(finding: Finding, faint: str) -> str:
    rows = []
    unit = f" {readable(finding.unit)}" if finding.unit else ""
    measured, limit = number_text(finding.value), number_text(finding.limit)
    if finding.value is not None and finding.limit is not None:
        measured, limit = told_apart(finding.value, finding.limit)
    if finding.value is not None:
        rows.append(("measured", escape(measured + unit)))
    if finding.limit is not None:
        rows.append(("limit", escape(limit + unit)))
    if finding.layer is not None:
        rows.append(("layer", f"<a href='layer:{finding.layer}'>{count_text(finding.layer)}</a>"))
    if finding.place_mm is not None:
        rows.append(("place", escape(place_words(finding.place_mm))))
    if finding.lines:
        lines = ", ".join(f"<a href='line:{line}'>{line}</a>" for line in finding.lines)
        rows.append(("lines" if len(finding.lines) > 1 else "line", lines))
    return named_values(rows, faint) if rows else ""
