"""Severity and answers in colour, where a person watches; the words say the same without it."""

from __future__ import annotations

import os
import sys
from typing import Final

_CODES: Final = {
    "no": "1;31", "stop": "1;31", "look": "1;33", "not known": "1;35", "note": "1;36", "yes": "1;32",
}  # fmt: skip
"""ECMA-48 SGR parameters of the answers and severities."""


def is_coloured() -> bool:
    """Whether to colour: standard output is a terminal, and NO_COLOR (no-color.org) is not set."""
    return (
        sys.stdout is not None
        and sys.stdout.isatty()
        and not os.environ.get("NO_COLOR")
        and os.environ.get("TERM") != "dumb"
    )


def in_colour(word: str, text: str | None = None) -> str:
    """Return a text (or the word itself) in the colour of an answer or severity."""
    text = word if text is None else text
    return f"\x1b[{_CODES[word]}m{text}\x1b[0m" if is_coloured() else text
