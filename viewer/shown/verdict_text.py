"""The verdict in words, as people read it."""

from __future__ import annotations

from viewer.shown.finding_text import readable
from viewer.verdict import Answer, Word

WIDEST_WORD = max(len(word.value) for word in Word)


def answer_text(answer: Answer) -> str:
    """Return question and sentence."""
    return f"{answer.question.asked} {readable(answer.sentence)}"
