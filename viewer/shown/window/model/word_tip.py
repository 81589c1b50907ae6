"""A word of the trade as a tooltip."""

from __future__ import annotations

from html import escape

from viewer.lesson.words import Word
from viewer.numerals import capital


def word_tip(word: Word) -> str:
    """Return what a word means, why the thing is there and what goes wrong, as rich text that wraps."""
    term = capital(word.term)
    return (
        f"<p><b>{escape(term)}</b><br>{escape(word.what)}<br>{escape(word.why)}<br>{escape(word.without)}</p>"
    )
