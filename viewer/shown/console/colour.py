"""Colour on a terminal: severity and answers, where a person watches and has not asked for none (NO_COLOR)."""

from __future__ import annotations

import os
import sys
from typing import Final

from viewer.shown.console.streams import Painted, shown

_RED, _YELLOW, _GREEN, _FAINT = "1;31", "1;33", "32", "2"
_TONES: Final[dict[str, str]] = {
    "stop": _RED, "look": _YELLOW, "note": _FAINT, "no": _RED, "yes": _GREEN, "not known": _FAINT, "not read": _RED,
}  # fmt: skip
"""Control sequences by severity (`Severity`), answer (`Word`) and word of a survey's row; for graphic rendition (ECMA-48,
section 8.3.117): bold red, bold yellow, green, faint."""


def is_coloured() -> bool:
    """Whether standard output is a terminal, one that knows control sequences, and NO_COLOR is unset or empty."""
    if os.environ.get("NO_COLOR") or os.environ.get("TERM") == "dumb":
        return False
    return sys.stdout is not None and sys.stdout.isatty()


def painted(text: str, word: str) -> str:
    """Return text with the first occurrence of a word in its colour; the text as it is where there is no colour."""
    before, found, behind = text.partition(word)
    if not found or not is_coloured():
        return text
    return Painted(f"{shown(before)}\x1b[{_TONES[word]}m{found}\x1b[0m{shown(behind)}")
