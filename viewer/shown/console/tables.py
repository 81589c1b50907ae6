"""Rows as a table for people: groups, names and values in two columns, as wide as the terminal."""

from __future__ import annotations

import re
import shutil
import sys
import textwrap
from collections.abc import Iterable, Iterator
from typing import Final

from viewer.shown.row import Row

USUAL: Final = 100
"""Columns where there is no terminal: in a file or a pipe."""
NARROWEST: Final = 50
USUAL_NAME: Final = 35
"""Longer names (claims) get their value on a line of its own."""
_BEFORE_UNIT: Final = re.compile(r"(?<=\d) (?=(?:°C|%|mm|cm|kg|g|m|s|min|h|V|MB|kB|EUR)(?![a-zA-Z]))")
_TIE: Final = "\ue000"
"""Holds a number and its unit together while lines are made; no character of any text."""


def width() -> int:
    """Return the terminal's width, but no less than can be read; the usual one where there is no terminal."""
    if sys.stdout is None or not sys.stdout.isatty():
        return USUAL
    return max(shutil.get_terminal_size((USUAL, 24)).columns, NARROWEST)


def table(rows: Iterable[Row], columns: int = USUAL) -> Iterator[str]:
    """Yield the lines of a table of rows, groups in the order in which they come."""
    rows = list(rows)
    names = min(max((len(row.name) for row in rows), default=0), USUAL_NAME)
    group = None
    for row in rows:
        if row.group != group:
            if group is not None:
                yield "\n"
            group = row.group
            yield f"{group}\n"
        yield from _row(row, names, columns)


def _row(row: Row, names: int, columns: int) -> Iterator[str]:
    indent = " " * (names + 4)
    value = _wrapped(row.text, columns, indent) or [indent]
    if len(row.name) > names:
        yield f"  {row.name}\n"
        yield from (f"{line}\n" for line in value)
        return
    yield f"  {row.name:<{names}}  {value[0].removeprefix(indent)}\n".rstrip() + "\n"
    yield from (f"{line}\n" for line in value[1:])


def paragraph(text: str, columns: int, indent: str = "") -> str:
    """Return one paragraph wrapped, every line behind `indent`."""
    return "\n".join(_wrapped(text, columns, indent)) + "\n"


def _wrapped(text: str, columns: int, indent: str) -> list[str]:
    """Wrap between words alone, and not before a unit: a path that is broken cannot be copied."""
    lines = textwrap.wrap(
        _BEFORE_UNIT.sub(_TIE, text),
        columns,
        initial_indent=indent,
        subsequent_indent=indent,
        break_on_hyphens=False,
        break_long_words=False,
    )
    return [line.replace(_TIE, " ") for line in lines]
