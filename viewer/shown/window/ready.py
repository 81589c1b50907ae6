"""The figures of a whole program as rows: made in the worker, kept as long as the program."""

from __future__ import annotations

from weakref import WeakKeyDictionary

from viewer.program import Program
from viewer.shown.rows import Row, program_rows

_ROWS: WeakKeyDictionary[Program, tuple[Row, ...]] = WeakKeyDictionary()


def rows_of(program: Program) -> tuple[Row, ...]:
    """Give the figures of a program as rows; they are made at the first call."""
    found = _ROWS.get(program)
    return _ROWS.setdefault(program, program_rows(program)) if found is None else found
