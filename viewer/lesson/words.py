"""The table of words: `word` finds one by its key, `word_of_role` that of a role, `words_in` those of a text."""

from __future__ import annotations

import re
from functools import cache
from typing import Final

from viewer.lesson.bead_words import BEAD_WORDS
from viewer.lesson.machine_words import MACHINE_WORDS
from viewer.lesson.word import Word

__all__ = ["WORDS", "Word", "find_word", "spellings", "word", "word_of_role", "words_in"]

WORDS: Final = (*BEAD_WORDS, *MACHINE_WORDS)
"""Every word of the trade that is explained anywhere."""


def word(key: str) -> Word:
    """Return the entry of a word by its key.

    Raises
    ------
    KeyError
        There is no such key.
    """
    return _by_key()[key]


def find_word(said: str) -> Word | None:
    """Return the entry of a word as people type it: its key, term, plural; None where there is none."""
    return _by_spelling().get(_plain(said))


def spellings() -> tuple[str, ...]:
    """Return all spellings in which a word is found."""
    return tuple(_by_spelling())


def word_of_role(role: int) -> Word:
    """Return the entry that explains a role, by its number in `viewer.layers.layers.ROLE_NAMES`.

    Raises
    ------
    KeyError
        There is no such role.
    """
    return _by_role()[role]


def words_in(*texts: str) -> tuple[str, ...]:
    """Return the keys of the words that occur in some texts, in the order of their first occurrence.

    Of words that contain one another the longer one counts: ``first layer`` is not ``layer``.
    """
    found: dict[str, None] = {}
    for text in texts:
        for hit in _pattern().finditer(text.casefold()):
            found.setdefault(_by_spelling()[_plain(hit[0])].key)
    return tuple(found)


def _plain(said: str) -> str:
    return " ".join(said.casefold().replace("_", " ").split())


@cache
def _by_key() -> dict[str, Word]:
    return {one.key: one for one in WORDS}


@cache
def _by_role() -> dict[int, Word]:
    return {one.role: one for one in WORDS if one.role is not None}


@cache
def _by_spelling() -> dict[str, Word]:
    """Return every spelling; where one is a form of one word and the key of another, the key counts."""
    forms = {form: one for one in WORDS for form in (*one.forms, one.term)}
    return forms | _by_key()


@cache
def _pattern() -> re.Pattern[str]:
    spellings = sorted(_by_spelling(), key=len, reverse=True)
    return re.compile(rf"(?<![\w-])(?:{'|'.join(map(re.escape, spellings))})(?![\w-])")
