"""Fields whose entry is wrong: marked where they stand, and why said beside them."""

from __future__ import annotations

from PySide6.QtWidgets import QLabel, QLineEdit, QWidget


def mark_entry(field: QLineEdit, sentence: str) -> None:
    """Mark a field whose entry is wrong, and let screen readers say why; "" takes that back."""
    field.setAccessibleDescription(sentence)
    _set_wrong(field, bool(sentence))


def mark_note(note: QLabel, wrong: bool) -> None:
    """Let a text beside a field stand out where it says what is wrong there."""
    _set_wrong(note, wrong)


def _set_wrong(widget: QWidget, wrong: bool) -> None:
    if bool(widget.property("wrong")) != wrong:
        widget.setProperty("wrong", wrong)
        widget.style().unpolish(widget)  # the style sheet looks at properties here only
        widget.style().polish(widget)
