"""The known name that somebody most likely meant by a misspelt one."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Final

CUTOFF: Final = 0.6
"""Least similarity (0 .. 1, `difflib.SequenceMatcher.ratio`); below it a suggestion misleads more than it helps."""


def nearest_names(wrong: str, known: Iterable[str], most: int = 3) -> list[str]:
    """Return up to `most` known names that are similar to a wrong one, the most similar first; case is ignored.

    >>> nearest_names("Figure", ["figures", "vet", "explain"])
    ['figures']
    """
    import difflib  # not before a name is wrong: the start does not wait for it

    by_folded = {name.casefold(): name for name in known}
    return [
        by_folded[name]
        for name in difflib.get_close_matches(wrong.strip().casefold(), by_folded, most, CUTOFF)
    ]


def nearest_name(wrong: str, known: Iterable[str]) -> str | None:
    """Return the known name that is most similar to a wrong one; None where none is similar."""
    return next(iter(nearest_names(wrong, known, 1)), None)
