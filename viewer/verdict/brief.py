"""What decides an answer, in few words: for tiles and lists, where a whole sentence has no room."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import Final

from viewer.checks.finding import Finding, NotChecked, Passed
from viewer.checks.questions import Question
from viewer.checks.run import check_named
from viewer.numerals import number_text, told_apart

OTHER_FILAMENT: Final = "Made for another filament"
SHORT: Final = 56
"""Letters up to which a sentence is brief enough itself."""
OF_CARD: Final = frozenset({"too-hot-for-machine", "beyond-flow", "more-tools", "made-for", "quick-layers"})
"""Checks whose limit is a value of a card; others state or compute it."""


def brief_findings(findings: Sequence[Finding]) -> str:
    """Return what the gravest finding is about, with value and limit, and how many others there are."""
    first = findings[0]
    others = len(findings) - 1
    alike = others > 0 and all(one.slug == first.slug for one in findings)
    text = (
        (first.sentence.removesuffix(".") if others else first.sentence)
        if len(first.sentence) <= SHORT and (alike or not others)
        else f"{_title_of(first)}{_measure(first)}"
    )
    if not others:
        return text
    if others == 1 and not alike:
        return f"{text}; {_title_of(findings[1])}"
    return f"{text}, and {others} more"


def brief_note(note: Finding) -> str:
    """Return what a note is about that leaves a yes a yes, without the limit: it would read as a no beside it."""
    if len(note.sentence) <= SHORT:
        return note.sentence
    return f"Note: {_title(note.slug).lower()}{_measure(replace(note, limit=None))}"


def brief_not_checked(missing: NotChecked) -> str:
    """Return what was not checked, or why where that is short."""
    return (
        missing.sentence if len(missing.sentence) <= SHORT else f"Not checked: {_title(missing.slug).lower()}"
    )


def brief_passed(passed: Passed) -> str:
    """Return what holds."""
    return passed.brief or passed.sentence


def _title_of(finding: Finding) -> str:
    """Return the check's title; of the filament's diameter what is meant by it."""
    return OTHER_FILAMENT if is_other_filament(finding) else _title(finding.slug)


def is_other_filament(finding: Finding) -> bool:
    """Tell whether a finding says that the program was made for filament of another diameter (its value, mm)."""
    return finding.slug == "nozzle-mismatch" and finding.question is Question.FILAMENT


def _title(slug: str) -> str:
    check = check_named(slug)
    return slug if check is None else check.title


def _measure(finding: Finding) -> str:
    """Return value and limit of a finding, where it has them: ``: 14 mm, limit 10``."""
    if finding.value is None or "," in finding.unit:  # a unit that needs explaining is too long here
        return ""
    unit = f" {finding.unit}" if finding.unit else ""
    if finding.limit is None:
        return f": {number_text(finding.value)}{unit}"
    value, limit = told_apart(finding.value, finding.limit)
    whose = "the card says" if finding.slug in OF_CARD or is_other_filament(finding) else "limit"
    return f": {value}{unit}, {whose} {limit}"
