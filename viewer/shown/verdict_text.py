"""The verdict as plain object and in words."""

from __future__ import annotations

from typing import Any

from viewer.shown.finding_text import readable
from viewer.verdict import Answered, Verdict


def verdict_object(verdict: Verdict) -> list[dict[str, Any]]:
    """Return the seven answers as plain objects for JSON; findings by their slugs."""
    return [
        {
            "question": one.question.value,
            "answer": one.answer.value,
            "sentence": one.sentence,
            "findings": [finding.slug for finding in one.findings],
            "passed": [{"slug": passed.slug, "sentence": passed.sentence} for passed in one.passed],
            "not_checked": [slug for skipped in one.not_checked for slug in skipped.slugs],
        }
        for one in verdict.answers
    ]


def left_out_text(one: Answered) -> str:
    """Return how much of a question was not checked: ``1 check of it was not made``; "" where all was."""
    count = sum(len(skipped.slugs) for skipped in one.not_checked)
    if not count:
        return ""
    return "1 check of it was not made" if count == 1 else f"{count} checks of it were not made"


def answer_text(one: Answered) -> str:
    """Return an answer's sentence with units as people write them, and how much was not checked."""
    left = left_out_text(one)
    return readable(one.sentence) + (f" ({left}.)" if left else "")
