"""How the cells of a table stand."""

from __future__ import annotations

from PySide6.QtCore import Qt


def alignment(is_number: bool) -> int:
    """Return how a cell and its heading stand: numbers at the right, so that their digits can be compared."""
    side = Qt.AlignmentFlag.AlignRight if is_number else Qt.AlignmentFlag.AlignLeft
    return (side | Qt.AlignmentFlag.AlignVCenter).value
