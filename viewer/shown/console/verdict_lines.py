"""The seven answers as lines of text: what `vet` and `figures` begin with."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from viewer.shown.console.colour import in_colour
from viewer.shown.console.tables import paragraph
from viewer.shown.verdict_text import answer_text
from viewer.verdict import Answer, Verdict

_INDENT: Final = 2
_WIDTH: Final = max(len(answer.value) for answer in Answer)


def verdict_lines(verdict: Verdict, columns: int) -> Iterator[str]:
    """Yield the questions with their answers, each followed by its sentence."""
    yield "\n"
    indent = " " * (_INDENT + _WIDTH + 2)
    for one in verdict.answers:
        answer = in_colour(one.answer.value, f"{one.answer.value:<{_WIDTH}}")
        yield f"{' ' * _INDENT}{answer}  {one.question.asked}\n"
        yield paragraph(answer_text(one), columns, indent)
