"""`Word`: one word of the trade, and what a beginner should know of it."""

from __future__ import annotations

from typing import NamedTuple


class Word(NamedTuple):
    """One entry of the table of words."""

    key: str  # lower case, as people type it
    term: str  # as it is printed
    what: str  # what it is: one sentence
    why: str  # why it is there
    without: str  # what goes wrong without it, or when it is wrong
    here: str  # how a program and its pictures show it
    role: int | None = None  # the role that it names, as in `viewer.layers.layers.ROLE_NAMES`
    forms: tuple[str, ...] = ()  # other spellings of it in a text, lower case: plurals, verbs
    standard: str = ""  # the term of ISO/ASTM 52900 for it; empty: common practice, no source
