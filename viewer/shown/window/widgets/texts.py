"""Labels in the sizes of the type scale (`style.scale`), which the style sheet gives them and keeps with the text."""

from __future__ import annotations

from typing import Literal

from PySide6.QtWidgets import QLabel

Level = Literal["caption", "text", "value", "headline"]


def wrapped(text: str, faint: bool = False, level: Level = "text") -> QLabel:
    """Return a text that is broken into lines.

    Parameters
    ----------
    faint
        It steps back.
    level
        Its size in the type scale; values and headlines are bold.
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
