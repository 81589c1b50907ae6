"""The verdict as the first lines of `vet` and `figures`."""

from __future__ import annotations

import shlex
from collections.abc import Iterable, Iterator

from viewer.shown.console.colour import painted
from viewer.shown.console.tables import paragraph
from viewer.shown.finding_text import readable
from viewer.shown.verdict_text import WIDEST_WORD, answer_text
from viewer.verdict import Verdict
from viewer.verdict.offers import Offer


def verdict_pieces(verdict: Verdict, columns: int) -> Iterator[str]:
    """Yield one paragraph for each question: the answer's word in front, question and sentence behind it."""
    indent = " " * (WIDEST_WORD + 4)
    for answer in verdict.answers:
        text = paragraph(answer_text(answer), columns, indent)
        word = f"  {answer.word.value:<{WIDEST_WORD}}  "
        yield painted(word + text.removeprefix(indent), answer.word)


def offer_pieces(offers: Iterable[Offer], columns: int) -> Iterator[str]:
    """Yield a line for each card that agrees better with what the program says, with the option that chooses it."""
    for offer in offers:
        text = f"{readable(offer.said)}: use --{offer.kind} {shlex.quote(offer.slug)}."
        yield paragraph(text, columns, " " * (WIDEST_WORD + 4))
