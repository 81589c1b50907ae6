"""A word of the trade as a tooltip."""

from __future__ import annotations

from html import escape

from viewer.lesson.words import Word


def word_tip(word: Word) -> str:
    """Return what a word means, why the thing is there and what goes wrong, as rich text that wraps."""
    term = word.term[:1].upper() + word.term[1:]
    return (
        f"<p><b>{escape(term)}</b><br>{escape(word.what)}<br>{escape(word.why)}<br>{escape(word.without)}</p>"
    )
