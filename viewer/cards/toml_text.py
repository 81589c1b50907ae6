"""A card as commented TOML; the comments are the structs' own descriptions."""

from __future__ import annotations

import inspect
import textwrap
from collections.abc import Iterator
from typing import Any, Final

import msgspec
import msgspec.inspect as shapes

from viewer.cards.complaint import quoted, shown_key
from viewer.cards.filament import Window
from viewer.cards.kinds import Card, kind_of
from viewer.cards.printer import Axes

_WIDTH: Final = 100
_ON_ONE_LINE: Final = (Axes, Window)
_MAX_EXACT: Final = 2.0**53
"""Up to here a float without fraction is the same number as an integer, and reads better as one."""


def text_of_card(card: Card) -> str:
    """Return ``card`` as TOML text: single values first, then a table for each struct and dict."""
    head = [f"# A {kind_of(card)} card.", *_wrapped(_about(type(card))), ""]
    fields = _shapes_of(type(card))
    lines = [
        line
        for field in fields
        if not is_table(field)
        for line in entry_lines(field, getattr(card, field.name))
    ]
    for field in fields:
        if is_table(field):
            lines += table_lines(field, getattr(card, field.name))
    return "\n".join([*head, *lines]) + "\n"


def _shapes_of(struct: type[msgspec.Struct]) -> tuple[shapes.Field, ...]:
    shape = shapes.type_info(struct)
    assert isinstance(shape, shapes.StructType)
    return shape.fields


def _about(struct: type) -> str:
    return " ".join((inspect.getdoc(struct) or "").split())


def _wrapped(text: str) -> list[str]:
    return textwrap.wrap(text, _WIDTH, initial_indent="# ", subsequent_indent="# ", break_on_hyphens=False)


def _description(field: shapes.Field) -> str:
    extra = getattr(field.type, "extra_json_schema", None) or {}
    return str(extra.get("description", ""))


def _struct_of(shape: shapes.Type) -> type[msgspec.Struct] | None:
    """Return the struct that a field holds, also where it may be unknown."""
    if isinstance(shape, shapes.Metadata):
        return _struct_of(shape.type)
    if isinstance(shape, shapes.UnionType):
        return next(filter(None, map(_struct_of, shape.types)), None)
    return shape.cls if isinstance(shape, shapes.StructType) else None


def is_table(field: shapes.Field) -> bool:
    """Tell whether a field is written as a table of its own, with a header."""
    struct = _struct_of(field.type)
    if struct is not None:
        return struct not in _ON_ONE_LINE
    inner = field.type.type if isinstance(field.type, shapes.Metadata) else field.type
    return isinstance(inner, shapes.DictType)


def entry_lines(field: shapes.Field, value: Any) -> Iterator[str]:
    """Yield the lines of one key; an unknown value is a comment to fill in."""
    comment = _description(field)
    if value is None:
        struct = _struct_of(field.type)
        blank = "{ " + ", ".join(f"{k} = " for k in struct.__struct_fields__) + "}" if struct else ""
        yield from _commented(f"# {field.name} = {blank}".rstrip(), f"{comment} (not known)".strip())
    else:
        yield from _commented(key_line(field.name, value), comment)


def key_line(key: str, value: Any) -> str:
    """Return a key and its value as one line (a list has several)."""
    return f"{shown_key(key)} = {value_text(value)}"


def _commented(line: str, comment: str) -> Iterator[str]:
    beside = f"{line}  # {comment}"
    if not comment:
        yield line
    elif len(beside) <= _WIDTH and "\n" not in line:
        yield beside
    else:
        yield from _wrapped(comment)
        yield line


def table_lines(field: shapes.Field, value: Any) -> Iterator[str]:
    """Yield a blank line, what the table is for, its header and its keys; all as comments where it is unknown."""
    struct = _struct_of(field.type)
    yield ""
    if value is None and struct is not None:
        yield from _wrapped(f"{_about(struct)} (Not known.)")
        yield f"# [{field.name}]"
        yield from (f"# {key} =" for key in struct.__struct_fields__)
    elif struct is not None:
        yield from _wrapped(_about(struct))
        yield f"[{field.name}]"
        yield from _entries(value)
    else:
        yield from _wrapped(_description(field))
        yield from _dict(field.name, value)


def _entries(struct: msgspec.Struct) -> Iterator[str]:
    for field in _shapes_of(type(struct)):
        yield from entry_lines(field, getattr(struct, field.name))


def _dict(name: str, values: dict[str, Any]) -> Iterator[str]:
    yield f"[{name}]"
    for key, value in values.items():
        if isinstance(value, msgspec.Struct):
            yield from [*rule_lines(f"{name}.{shown_key(key)}", value)][1:]
        else:
            yield key_line(key, value)


def value_text(value: Any) -> str:
    """Return a value as TOML writes it."""
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, float):
        whole = value.is_integer() and abs(value) < _MAX_EXACT and str(value) != "-0.0"
        return str(int(value)) if whole else repr(value)
    if isinstance(value, str):
        return quoted(value)
    if isinstance(value, tuple | list):
        return "[\n" + "".join(f"    {value_text(item)},\n" for item in value) + "]" if value else "[]"
    if isinstance(value, msgspec.Struct):
        return inline_table({key: value_text(getattr(value, key)) for key in value.__struct_fields__})
    return str(value)


def inline_table(members: dict[str, str]) -> str:
    """Return keys and written values as an inline table."""
    return "{ " + ", ".join(f"{shown_key(key)} = {text}" for key, text in members.items()) + " }"


def rule_lines(path: str, rule: msgspec.Struct) -> Iterator[str]:
    """Yield a blank line, the header and the keys of a struct that is a value of a dict."""
    yield ""
    yield f"[{path}]"
    yield from _entries(rule)
