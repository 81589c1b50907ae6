"""What is wrong with a card, and the one sentence that says so.

The struct library finds the first fault of shape (a type, a bound, an unknown key); this module says it in
the words of somebody who edits the card by hand.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Final

from viewer.cards.kinds import STRUCTS, Kind
from viewer.cards.toml_places import KeyPath, line_of
from viewer.errors import CardError
from viewer.nearest import nearest_name

if TYPE_CHECKING:
    import msgspec
    import msgspec.inspect as shapes

_AT: Final = re.compile(r"(?P<what>.*?)(?: - at `\$(?P<path>.*)`)?", re.DOTALL)
_STEP: Final = re.compile(r"\.(\w+)|\[(\d+|\.\.\.)\]")
_UNKNOWN: Final = re.compile(r"Object contains unknown field `(.*)`", re.DOTALL)
_MISSING: Final = re.compile(r"Object missing required field `(.*)`", re.DOTALL)
_BOUND: Final = re.compile(r"Expected `\w+` (>|>=|<|<=) (\S+)")
_TYPE: Final = re.compile(r"Expected `(\w+)(?: \| null)?`, got `\w+`")
_WANTED: Final = {
    "float": ("must be a number", "write it without quotes and without a unit, for example 1.5"),
    "int": ("must be a whole number", "write it without quotes and without a point, for example 1"),
    "bool": ("must be true or false", "write one of the two, without quotes"),
    "str": ("must be text", "put it in double quotes"),
    "array": ("must be a list", 'write it in brackets, for example ["one", "two"]'),
}
_BOUND_WORDS: Final = {">": "above {}", ">=": "{} or more", "<": "below {}", "<=": "{} or less"}


@dataclass(frozen=True, slots=True)
class Complaint:
    """One fault: the key's path, what is wrong with it, what to do."""

    path: KeyPath
    wrong: str
    remedy: str

    def error(self, where: str, text: str) -> CardError:
        """Return the sentence, with the line that the key has in ``text``, read from ``where``."""
        line = line_of(text, self.path)
        return CardError(f"{where}, line {line}: `{shown_path(self.path)}` {self.wrong}; {self.remedy}.")


def shown_key(key: str) -> str:
    """Return a key as TOML writes it: bare where it may be, else quoted."""
    return key if re.fullmatch(r"[A-Za-z0-9_-]+", key) else quoted(key)


def quoted(text: str) -> str:
    """Return ``text`` as a TOML basic string."""
    short = {'"': '\\"', "\\": "\\\\", "\n": "\\n", "\t": "\\t", "\r": "\\r"}
    return '"' + "".join(short.get(c) or (c if c.isprintable() else _escaped(c)) for c in text) + '"'


def _escaped(character: str) -> str:
    code = ord(character)
    return f"\\u{code:04x}" if code < 0x10000 else f"\\U{code:08x}"


def shown_path(path: KeyPath) -> str:
    """Return a path as one dotted key, indices in brackets."""
    shown = ""
    for step in path:
        shown += f"[{step}]" if isinstance(step, int) else f".{shown_key(step)}"
    return shown.removeprefix(".")


def shown_value(value: object) -> str:
    """Return a value nearly as the card has it, short enough for a sentence."""
    if isinstance(value, dict):
        return "a table"
    if isinstance(value, list):
        return "a list"
    if isinstance(value, bool):
        return str(value).lower()
    shown = quoted(value) if isinstance(value, str) else str(value)
    return shown if len(shown) <= 40 else shown[:36] + " ..."


def complaint_of(error: msgspec.ValidationError, raw: dict[str, Any], kind: Kind) -> Complaint:
    """Turn the struct library's ``error`` about ``raw``, read as a card of ``kind``, into our words."""
    match = _AT.fullmatch(str(error))
    assert match is not None  # every text matches
    path = _path(match["path"] or "", raw, kind)
    what = match["what"]
    if unknown := _UNKNOWN.fullmatch(what):
        return _unknown_key(path, unknown[1], kind)
    if missing := _MISSING.fullmatch(what):
        about = _description(_fields(path, kind)[missing[1]])
        return Complaint((*path, missing[1]), "is missing", f"add it{f' ({about})' if about else ''}")
    return _wrong_value(path, what, _value_at(raw, path), kind)


def _path(text: str, raw: dict[str, Any], kind: Kind) -> KeyPath:
    path: KeyPath = ()
    for name, index in _STEP.findall(text):
        if index == "...":  # the library does not say which key of a dict it was: the first that fails alone
            table = _value_at(raw, path)
            path = (
                *path,
                next(key for key in table if not _passes({path[0]: {key: table[key]}}, path, kind)),
            )
        else:
            path = (*path, name or int(index))
    return path


def _passes(part: dict[Any, Any], path: KeyPath, kind: Kind) -> bool:
    import msgspec

    field = next(f for f in msgspec.structs.fields(STRUCTS[kind]) if f.name == path[0])
    try:
        msgspec.convert(part[path[0]], field.type)
    except msgspec.ValidationError:
        return False
    return True


def _value_at(raw: Any, path: KeyPath) -> Any:
    for step in path:
        raw = raw[step]
    return raw


def _type_at(path: KeyPath, kind: Kind) -> shapes.Type:
    """Return the type that the card's struct has at ``path``, without `None` and descriptions."""
    import msgspec.inspect as shapes

    shape = _bare(shapes.type_info(STRUCTS[kind]))
    for step in path:
        if isinstance(shape, shapes.StructType):
            shape = _bare(next(f.type for f in shape.fields if f.name == step))
        elif isinstance(shape, shapes.DictType):
            shape = _bare(shape.value_type)
    return shape


def _bare(shape: shapes.Type) -> shapes.Type:
    import msgspec.inspect as shapes

    if isinstance(shape, shapes.Metadata):
        return _bare(shape.type)
    if isinstance(shape, shapes.UnionType):
        return _bare(next(t for t in shape.types if not isinstance(t, shapes.NoneType)))
    return shape


def _fields(path: KeyPath, kind: Kind) -> dict[str, shapes.Field]:
    shape = _type_at(path, kind)
    return {f.name: f for f in getattr(shape, "fields", ())}


def field_at(path: KeyPath, kind: Kind) -> shapes.Field | None:
    """Return the field of a card of ``kind`` that lies at ``path``; None for a key of a dict, or an unknown one."""
    return _fields(path[:-1], kind).get(str(path[-1]))


def _description(field: shapes.Field) -> str:
    extra = getattr(field.type, "extra_json_schema", None) or {}
    return str(extra.get("description", ""))


def _unknown_key(path: KeyPath, name: str, kind: Kind) -> Complaint:
    here = list(_fields(path, kind))
    wrong = f"is not a key of a {kind} card"
    if near := nearest_name(name, here):
        right = shown_path((*path, near))
        return Complaint((*path, name), wrong, f"the nearest known one is `{right}`, correct the spelling")
    for other in STRUCTS:
        if not path and other != kind and name in _fields((), other):
            return Complaint((name,), wrong, f"it belongs to a {other} card, give this file as the {other}'s")
    if elsewhere := _tables_with(name, kind):
        table = elsewhere[0]
        place = f"in the table `[{shown_path(table)}]`" if table else "above the first [table]"
        return Complaint((*path, name), wrong, f"it belongs {place}, move it there")
    return Complaint((*path, name), wrong, f"known here are {', '.join(here)}")


def _tables_with(name: str, kind: Kind) -> list[KeyPath]:
    tables: list[KeyPath] = [(), *((key,) for key in _fields((), kind))]
    return [table for table in tables if name in _fields(table, kind)]


def _wrong_value(path: KeyPath, what: str, value: object, kind: Kind) -> Complaint:
    shown = f"is {shown_value(value)}"
    if bound := _BOUND.fullmatch(what):
        must = _BOUND_WORDS[bound[1]].format(bound[2].removesuffix(".0"))
        return Complaint(path, f"{shown}, but must be {must}", f"correct it{_or_leave_out(path, kind)}")
    if typed := _TYPE.fullmatch(what):
        must, remedy = _WANTED.get(typed[1]) or _table_wanted(path, kind)
        return Complaint(path, f"{shown}, but {must}", remedy)
    if what.startswith("Invalid enum value"):
        return _not_a_choice(path, value, _choices(path, kind))
    if "regex" in what:
        return Complaint(
            path, f"{shown}, but must be a time of day", 'write it as "hh:mm", for example "09:00"'
        )
    return Complaint(path, f"{shown}, which cannot be used ({what.lower()})", "correct it")


def _or_leave_out(path: KeyPath, kind: Kind) -> str:
    field = field_at(path, kind)
    unknown = field is not None and not field.required and field.default is None
    return ", or leave it out where it is not known" if unknown else ""


def _table_wanted(path: KeyPath, kind: Kind) -> tuple[str, str]:
    keys = ", ".join(_fields(path, kind)) or "any number of keys"
    return "must be a table", f"write `{shown_path(path)} = {{ ... }}` with {keys}"


def _choices(path: KeyPath, kind: Kind) -> list[str]:
    return [str(value) for value in getattr(_type_at(path, kind), "values", ())]


def _not_a_choice(path: KeyPath, value: object, choices: list[str]) -> Complaint:
    near = nearest_name(str(value), choices)
    remedy = f"the nearest is {quoted(near)}, correct the spelling" if near else "take one of them"
    return Complaint(path, f"is {shown_value(value)}, but must be one of {', '.join(choices)}", remedy)


def not_a_choice(path: KeyPath, value: str, choices: tuple[str, ...]) -> Complaint:
    """Complain that ``value`` is none of ``choices``, with the nearest one."""
    return _not_a_choice(path, value, list(choices))
