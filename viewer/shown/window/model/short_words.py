"""Long names in sentences: a file's name has no blanks to break a line at, and would make a pane wider."""

from __future__ import annotations

from typing import Final

LONGEST: Final = 44
"""Letters; a longer word is written with an ellipsis in its middle."""


def short_words(text: str, longest: int = LONGEST) -> str:
    """Return a text whose long words are shortened in their middle: beginning and ending of a name stay."""
    return " ".join(_short(word, longest) for word in text.split(" "))


def _short(word: str, longest: int) -> str:
    if len(word) <= longest:
        return word
    end = (longest - 1) // 3
    return f"{word[: longest - 1 - end]}…{word[-end:]}"
