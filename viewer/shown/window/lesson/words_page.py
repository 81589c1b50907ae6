"""The page of words of the trade, as HTML; no Qt."""

from __future__ import annotations

from html import escape

from viewer.lesson.words import WORDS, Word
from viewer.numerals import capital


def words_page() -> str:
    """Return every word of the table as HTML: what it is, why it is there, what goes wrong, how it looks here."""
    return "".join(map(_entry, sorted(WORDS, key=lambda one: one.term.casefold())))


def _entry(word: Word) -> str:
    term = capital(word.term)
    standard = f" <i>(ISO/ASTM 52900: {escape(word.standard)})</i>" if word.standard else ""
    told = (("Why", word.why), ("If it is wrong", word.without), ("Here", word.here))
    parts = "".join(f"<br><i>{name}:</i> {escape(text)}" for name, text in told if text)
    return f"<h3>{escape(term)}</h3><p>{escape(word.what)}{standard}{parts}</p>"
