"""The verdict as the first lines of `vet` and `figures`."""

from __future__ import annotations

from collections.abc import Iterator

from viewer.shown.console.colour import painted
from viewer.shown.console.tables import paragraph
from viewer.shown.verdict_text import WIDEST_WORD, answer_text
from viewer.verdict import Verdict


def verdict_pieces(verdict: Verdict, columns: int) -> Iterator[str]:
    """Yield one paragraph for each question: the answer's word in front, question and sentence behind it."""
    indent = " " * (WIDEST_WORD + 4)
    for answer in verdict.answers:
        text = paragraph(answer_text(answer), columns, indent)
        word = f"  {answer.word.value:<{WIDEST_WORD}}  "
        yield painted(word + text.removeprefix(indent), answer.word)
