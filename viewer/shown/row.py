"""`Row`: one figure as the faces show it."""

from __future__ import annotations

from dataclasses import dataclass

from viewer.shown.numbers import number_text


@dataclass(frozen=True, slots=True)
class Row:
    """One figure: what it is called, its value, how it reads, how it comes about."""

    group: str
    name: str
    value: float | int | str | None
    """As computed, in `unit`; None: not known, or there is none."""
    unit: str
    text: str
    """For people, with unit."""
    how: str
    """How it is computed, in one or two sentences."""


def amount(group: str, name: str, value: float | None, unit: str, how: str, text: str | None = None) -> Row:
    """Make a row of a number; without `text` it reads as three significant digits and the unit."""
    if text is None:
        text = number_text(value) + (f" {unit}" if unit and value is not None else "")
    return Row(group, name, value, unit, text, how)
