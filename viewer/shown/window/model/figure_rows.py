"""The figures of a whole program as rows: made in the worker, kept as long as the program."""

from __future__ import annotations

from typing import Final
from weakref import WeakKeyDictionary

from viewer.program import Program
from viewer.shown.rows import Row, program_rows

FIRST: Final = ("Time", "Filament and cost", "First layer", "Heat and fan", "Shape", "Standing", "Roles")
"""Groups that a keeper asks for first; the others follow as they come, what the file itself is last."""
LAST: Final = ("Program",)
_ROWS: WeakKeyDictionary[Program, tuple[Row, ...]] = WeakKeyDictionary()


def rows_of(program: Program) -> tuple[Row, ...]:
    """Return the figures of a program as rows; they are made at the first call."""
    found = _ROWS.get(program)
    return (
        _ROWS.setdefault(program, tuple(sorted(program_rows(program), key=_place)))
        if found is None
        else found
    )


def _place(row: Row) -> int:
    """Return the place of a row's group; `sorted` keeps the order inside groups and of other groups."""
    if row.group in LAST:
        return len(FIRST) + 1
    return FIRST.index(row.group) if row.group in FIRST else len(FIRST)
