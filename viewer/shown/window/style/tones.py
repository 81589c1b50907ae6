"""Colours of text in the Program pane, at least 4.5:1 against its ground (WCAG 2.2, 1.4.3)."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from PySide6.QtGui import QColor

from viewer.shown.pictures.colours import Rgb, ui

if TYPE_CHECKING:  # the window is on screen before numpy is imported
    from viewer.read.words import WordKind

_TONES: Final[dict[str, tuple[Rgb, Rgb]]] = {  # light, dark
    "command": ((11, 94, 104), (98, 196, 208)),
    "letter": ((93, 82, 20), (214, 190, 120)),
    "comment": ((91, 96, 102), (163, 169, 174)),
    "odd": ((168, 32, 26), (242, 135, 123)),
    "current": ((224, 236, 234), (36, 54, 59)),
    "chosen": ((233, 240, 238), (32, 46, 50)),
}
"""The last two are grounds: of the current line and of further chosen lines."""
_OF_KIND: Final[dict[WordKind, str]] = {
    "command": "command",
    "word command": "command",
    "comment": "comment",
    "line number": "comment",
    "checksum": "comment",
    "tape": "comment",
    "doubtful": "odd",
    "unread": "odd",
    "repeated": "odd",
    "misplaced": "odd",
}


def tone(name: str, dark: bool) -> QColor:
    """Return a colour of this pane, or else of the window (`colours.ui`), by its name."""
    pair = _TONES.get(name)
    return QColor(*(pair[dark] if pair else ui(dark)[name]))


def tone_of(kind: WordKind, dark: bool) -> QColor:
    """Return the colour of one kind of word; numbers have that of plain text."""
    return tone(_OF_KIND.get(kind, "text"), dark)
