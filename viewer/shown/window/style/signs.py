"""Signs of the answers, told apart by shape and colour."""

from __future__ import annotations

from typing import Final

SIGNS: Final[dict[str, tuple[str, str]]] = {
    "yes": ("answer_yes", "good"),
    "look": ("severity_look", "warn"),
    "no": ("severity_stop", "stop"),
    "not known": ("answer_not_known", "faint"),
    "not read": ("file", "stop"),
}
"""Icon and colour (`colours.ui`) of each word of an answer (`verdict.Word`), and of a file that could not be read.

Keys are plain text, so that the start page is on screen before the verdict is imported.
"""
