"""Labels in the sizes of the type scale (`style.scale`), which the style sheet gives them and keeps with the text."""

from __future__ import annotations

import re
from typing import Final, Literal

from PySide6.QtWidgets import QLabel

_UNIT: Final = re.compile(r"(?<=\d) (?=(?:d|h|min|s|ms|mm|mm/s|m|g)\b|%)")
"""A space between a number and its unit."""
_WITHIN: Final = re.compile(r"(?<=\d\u00a0[dh]) (?=\d)|(?<=\d\u00a0min) (?=\d)|(?<=[+-]) (?=\d)")
"""A space between the parts of a duration, or behind a sign."""
Level = Literal["caption", "text", "strong", "value", "headline"]


def unbroken(text: str) -> str:
    """Return a text whose figures are not broken between lines: 2.3 % and 1 h 8 min 5 s hold together."""
    return _WITHIN.sub("\u00a0", _UNIT.sub("\u00a0", text))


def wrapped(text: str, faint: bool = False, level: Level = "text") -> QLabel:
    """Return a text that is broken into lines.

    Parameters
    ----------
    faint
        It steps back.
    level
        Its size in the type scale; strong texts, values and headlines are bold.
    """
    label = QLabel(text)
    label.setWordWrap(True)
    sized(label, level)
    if faint:
        label.setProperty("faint", "true")
    return label


def sized(label: QLabel, level: Level) -> None:
    """Give a label its size in the type scale."""
    label.setProperty("level", level)
