"""Where each key of a TOML text stands: the place that the parser does not keep.

The text has been parsed by `tomllib` before, so it is known to be TOML 1.0; this scan only follows
tables, dotted keys, strings, arrays and inline tables, and writes down the places::

    [heat]                  ("heat",)                  line 1
    nozzle_max_c = 260      ("heat", "nozzle_max_c")   line 2
    list = ["a",
            "b"]            ("heat", "list", 1)        line 4
"""

from __future__ import annotations

import re
import tomllib
from dataclasses import dataclass
from typing import Final

KeyPath = tuple[str | int, ...]

_BLANK: Final = re.compile(r"(?:[ \t\n]|#[^\n]*)*")
_STRING: Final = re.compile(
    r'"""(?:[^\\]|\\.)*?"""(?:"{0,2})' r"|'''.*?'''(?:'{0,2})" r'|"(?:[^"\\]|\\.)*"' r"|'[^']*'", re.DOTALL
)
_BARE_KEY: Final = re.compile(r"[A-Za-z0-9_-]+")
_SCALAR: Final = re.compile(r"[^,\]}#\n]*")


@dataclass(frozen=True, slots=True)
class Place:
    """Where one key stands in the text: its own offset and the span of its value."""

    key: int
    value: int
    end: int


@dataclass(frozen=True, slots=True)
class Statement:
    """One ``key = value`` under a header or at the top: the header's path, the key's, and where both ends are."""

    section: KeyPath
    path: KeyPath
    start: int
    end: int


@dataclass(frozen=True, slots=True)
class Layout:
    """How a text is laid out."""

    places: dict[KeyPath, Place]
    headers: dict[KeyPath, int]
    """Offset of each ``[header]``."""
    statements: tuple[Statement, ...]
    """In the order of the text."""


class _Scan:
    """One walk over the text; `places`, `headers` and `statements` are what it finds."""

    def __init__(self, text: str) -> None:
        self.text = text
        self.at = 0
        self.places: dict[KeyPath, Place] = {}
        self.headers: dict[KeyPath, int] = {}
        self.statements: list[Statement] = []
        self.last_of: dict[KeyPath, int] = {}  # arrays of tables: the index that a header last began

    def document(self) -> None:
        table: KeyPath = ()
        self.blank()
        while self.at < len(self.text):
            if self.text[self.at] == "[":
                start = self.at
                table = self.header()
                self.headers[table] = start
            else:
                start = self.at
                path = self.key_and_value(table)
                self.statements.append(Statement(table, path, start, self.at))
            self.blank()

    def blank(self) -> None:
        match = _BLANK.match(self.text, self.at)
        self.at = match.end() if match else self.at

    def header(self) -> KeyPath:
        start, doubled = self.at, self.text.startswith("[[", self.at)
        self.at += 2 if doubled else 1
        parts = self.key()
        self.at += 2 if doubled else 1
        path: KeyPath = ()
        for i, part in enumerate(parts):
            path = (*path, part)
            self.note(path, start)
            if doubled and i == len(parts) - 1:
                self.last_of[path] = self.last_of.get(path, -1) + 1
            if path in self.last_of:
                path = (*path, self.last_of[path])
                self.note(path, start)
        return path

    def note(self, path: KeyPath, start: int) -> None:
        self.places.setdefault(path, Place(start, self.at, self.at))

    def key(self) -> list[str]:
        parts = []
        while True:
            self.blank()
            match = _STRING.match(self.text, self.at) or _BARE_KEY.match(self.text, self.at)
            assert match is not None  # tomllib has read a key here
            self.at = match.end()
            quoted = match[0][0] in "\"'"
            parts.append(tomllib.loads(f"k = {match[0]}")["k"] if quoted else match[0])
            self.blank()
            if self.text[self.at] != ".":
                return parts
            self.at += 1

    def key_and_value(self, table: KeyPath) -> KeyPath:
        start = self.at
        parts = self.key()
        self.at += 1  # the equals sign
        for i in range(1, len(parts)):
            self.note((*table, *parts[:i]), start)
        path = (*table, *parts)
        self.value(path, start)
        return path

    def value(self, path: KeyPath, key: int | None = None) -> None:
        self.blank()
        start = self.at
        first = self.text[start]
        if first == "[":
            self.array(path)
        elif first == "{":
            self.inline_table(path)
        else:
            match = (_STRING if first in "\"'" else _SCALAR).match(self.text, start)
            assert match is not None  # tomllib has read a value here
            self.at = start + len(match[0].rstrip())
        self.places[path] = Place(start if key is None else key, start, self.at)

    def array(self, path: KeyPath) -> None:
        self.at += 1
        self.blank()
        index = 0
        while self.text[self.at] != "]":
            self.value((*path, index))
            self.after_item()
            index += 1
        self.at += 1

    def inline_table(self, path: KeyPath) -> None:
        self.at += 1
        self.blank()
        while self.text[self.at] != "}":
            self.key_and_value(path)
            self.after_item()
        self.at += 1

    def after_item(self) -> None:
        self.blank()
        if self.text[self.at] == ",":
            self.at += 1
            self.blank()


def key_places(text: str) -> dict[KeyPath, Place]:
    r"""Find every key, table and array item of ``text``.

    Parameters
    ----------
    text
        TOML that `tomllib` has accepted, with ``\n`` line ends.

    Returns
    -------
    dict
        From the key's path (names, and indices into arrays) to its `Place`.
    """
    return layout_of(text).places


def layout_of(text: str) -> Layout:
    r"""Find the headers and statements of ``text`` as well: TOML that `tomllib` has accepted, ``\n`` line ends."""
    scan = _Scan(text)
    scan.document()
    return Layout(scan.places, scan.headers, tuple(scan.statements))


def line_of(text: str, path: KeyPath) -> int:
    """Return the line (from 1) of the key at ``path``, else of the nearest table around it, else 1."""
    places = key_places(text)
    while path and path not in places:
        path = path[:-1]
    return text.count("\n", 0, places[path].key) + 1 if path else 1
