"""Change a card's text so that it states another card, and leave everything else as the person wrote it.

Only what differs is touched: comments, order, blank lines and the spelling of unchanged values stay. A key that is
new gets the struct's description as its comment. A key that is no longer stated becomes a comment where it stood::

    price_per_kg = 24.90  # since the last order        # price_per_kg = 24.90  # since the last order
"""

from __future__ import annotations

import re
from typing import Any, Final

import msgspec

from viewer.cards.complaint import field_at, shown_key, shown_path
from viewer.cards.kinds import Card, kind_of
from viewer.cards.toml_places import KeyPath, Layout, Statement, layout_of
from viewer.cards.toml_text import (
    entry_lines,
    inline_table,
    is_table,
    key_line,
    rule_lines,
    table_lines,
    value_text,
)

_ABSENT: Final = object()


def changed_text(text: str, stated: dict[str, Any], card: Card) -> str:
    r"""Return `text` changed to state `card`.

    Parameters
    ----------
    text
        TOML, line ends ``\n``.
    stated
        What `tomllib` reads from `text`. It need not be a valid card.
    card
        What the text is to state.
    """
    edit = _Edit(text, card)
    edit.table((), stated, _to_state(card, stated, ()))
    return edit.text


def _to_state(card: Card, stated: Any, path: KeyPath) -> dict[str, Any]:
    """Return the table at `path` of the card as plain values.

    What is unknown is left out, and so is a default value that the text does not state.
    """
    values: dict[str, Any] = {}
    for key, value in msgspec.to_builtins(_at(card, path)).items():
        here = (*path, key)
        inner = stated.get(key, _ABSENT) if isinstance(stated, dict) else _ABSENT
        if value is None or (inner is _ABSENT and value == _default(card, here)):
            continue
        values[key] = _to_state(card, inner, here) if isinstance(value, dict) else value
    return values


def _at(card: Any, path: KeyPath) -> Any:
    for step in path:
        card = card[step] if isinstance(card, dict) else getattr(card, str(step))
    return card


def _default(card: Card, path: KeyPath) -> Any:
    """Return the plain value that a key has where the text does not state it; `_ABSENT` where it must be stated."""
    field = field_at(path, kind_of(card))
    if field is None or field.required:
        return _ABSENT
    made = field.default_factory() if field.default is msgspec.NODEFAULT else field.default
    return msgspec.to_builtins(made)


def _same(one: Any, other: Any) -> bool:
    """Compare two plain values: true is not 1, but 1 is 1.0."""
    if isinstance(one, list | tuple) and isinstance(other, list | tuple):
        return len(one) == len(other) and all(map(_same, one, other))
    return isinstance(one, bool) == isinstance(other, bool) and bool(one == other)


def _same_keys(one: dict[str, Any], other: dict[str, Any]) -> bool:
    """Tell whether two tables have the same keys, also in the tables inside."""
    return one.keys() == other.keys() and all(
        isinstance(one[key], dict) == isinstance(other[key], dict)
        and (not isinstance(one[key], dict) or _same_keys(one[key], other[key]))
        for key in one
    )


class _Edit:
    """A text that is changed step by step; the places of its keys are looked up again for each step."""

    def __init__(self, text: str, card: Card) -> None:
        self.text = text
        self.card = card

    def table(self, path: KeyPath, stated: dict[str, Any], wanted: dict[str, Any]) -> None:
        """Make the table at `path`, which states `stated`, state `wanted`."""
        if self._is_inline(path) and not _same_keys(stated, wanted):
            layout = layout_of(self.text)
            self._set(path, self._inline_text(path, stated, wanted, layout))
            return
        for key, value in stated.items():
            if key not in wanted or isinstance(value, dict) != isinstance(wanted[key], dict):
                self._comment_out((*path, key))
        for key, value in wanted.items():
            here, now = (*path, key), stated.get(key, _ABSENT)
            if now is _ABSENT or isinstance(now, dict) != isinstance(value, dict):
                self._add(here)
            elif isinstance(value, dict):
                self.table(here, now, value)
            elif not _same(now, value):
                self._set(here, value_text(value))

    def _is_inline(self, path: KeyPath) -> bool:
        place = layout_of(self.text).places.get(path)
        return place is not None and self.text[place.value : place.end].startswith("{")

    def _set(self, path: KeyPath, value: str) -> None:
        place = layout_of(self.text).places[path]
        self.text = self.text[: place.value] + value + self.text[place.end :]

    def _inline_text(self, path: KeyPath, stated: Any, wanted: dict[str, Any], layout: Layout) -> str:
        """Return an inline table with other keys; members that stay keep their spelling."""
        members: dict[str, str] = {}
        for key, value in wanted.items():
            here = (*path, key)
            now = stated.get(key, _ABSENT) if isinstance(stated, dict) else _ABSENT
            place = layout.places.get(here)
            if place is not None and place.end > place.value and _same(now, value):
                members[key] = self.text[place.value : place.end]
            elif isinstance(value, dict):
                members[key] = self._inline_text(here, now, value, layout)
            else:
                members[key] = value_text(value)
        return inline_table(members)

    def _comment_out(self, path: KeyPath) -> None:
        """Make a key and its value, or a table's header and all its keys, comments where they stand."""
        layout = layout_of(self.text)
        spans = [(one.start, one.end) for one in layout.statements if one.path[: len(path)] == path]
        spans += [(start, start) for header, start in layout.headers.items() if header[: len(path)] == path]
        lines = self.text.split("\n")
        for start, end in spans:
            first, last = self.text.count("\n", 0, start), self.text.count("\n", 0, end)
            for number in range(first, last + 1):
                lines[number] = re.sub(r"^([ \t]*)", r"\1# ", lines[number]).rstrip()
        self.text = "\n".join(lines)

    def _add(self, path: KeyPath) -> None:
        value = _at(self.card, path)
        field = field_at(path, kind_of(self.card))
        if field is None and isinstance(value, msgspec.Struct):  # the rule on a check
            self._append([*rule_lines(shown_path(path), value)])
        elif field is None:
            self._insert(path, [key_line(str(path[-1]), value)], [])
        elif is_table(field):
            unknown = [*table_lines(field, None)][1:] if isinstance(value, msgspec.Struct) else []
            self._take_out(unknown)
            self._append([*table_lines(field, value)])
        else:
            self._insert(path, [*entry_lines(field, value)], [*entry_lines(field, None)])

    def _append(self, lines: list[str]) -> None:
        """Add a table at the end."""
        end = "" if self.text.endswith("\n") else "\n"
        self.text += end + "\n".join(lines) + "\n"

    def _take_out(self, lines: list[str]) -> None:
        """Take out the comment that says a table is not known."""
        block = "\n".join(["", *lines, ""])
        if lines and block in self.text:
            self.text = self.text.replace(block, "\n", 1).rstrip("\n") + "\n"

    def _insert(self, path: KeyPath, lines: list[str], unknown: list[str]) -> None:
        """Add a key behind the last one of its table, or in place of the comment that says it is not known."""
        layout, table = layout_of(self.text), path[:-1]
        before = _last_of(layout, table)
        if before is None and table and table not in layout.headers:
            self._append(["", f"[{shown_path(table)}]", *lines])
            return
        start, end = self._place_for(table, before, layout, unknown)
        if before is not None:
            indent = self.text[self.text.rfind("\n", 0, before.start) + 1 : before.start]
            dotted = "".join(f"{shown_key(str(step))}." for step in table[len(before.section) :])
            lines = [indent + (line if line.startswith("#") else dotted + line) for line in lines]
        newline = "" if self.text[:start].endswith("\n") or not start else "\n"
        self.text = self.text[:start] + newline + "\n".join(lines) + "\n" + self.text[end:]

    def _line_end(self, offset: int) -> int:
        """Return where the line behind the one at `offset` begins."""
        end = self.text.find("\n", offset)
        return len(self.text) if end < 0 else end + 1

    def _place_for(
        self, table: KeyPath, before: Statement | None, layout: Layout, unknown: list[str]
    ) -> tuple[int, int]:
        """Return the span of the text that new lines of a table replace."""
        top = layout.headers.get(table, 0)
        if not table or table in layout.headers:
            bottom = min((start for start in layout.headers.values() if start > top), default=len(self.text))
            block = "\n".join(["", *unknown, ""])
            found = self.text.find(block, top, bottom) if unknown else -1
            if found >= 0:
                return found + 1, found + len(block)
        if before is not None:
            top = before.end
        elif not table:
            return 0, 0
        end = self._line_end(top)
        return end, end


def _last_of(layout: Layout, table: KeyPath) -> Statement | None:
    """Return the last key under a table's header; where it has no header, the last dotted key that names it."""
    own = [one for one in layout.statements if one.section == table]
    if not own and table not in layout.headers:
        own = [one for one in layout.statements if table and one.path[: len(table)] == table]
        own = [one for one in own if len(one.section) < len(table) < len(one.path)]
    return own[-1] if own else None
