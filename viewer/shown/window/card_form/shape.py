"""What a card's form consists of, read off the card's struct: sections, rows, fields with their units and bounds.

Nothing here knows Qt. A field's description is the one written beside it in `viewer.cards`.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Final, Literal

import msgspec
import msgspec.inspect as shapes

from viewer.cards import Kind
from viewer.cards.kinds import STRUCTS
from viewer.shown.finding_text import readable

KeyPath = tuple[str, ...]
FieldKind = Literal["text", "number", "whole", "switch", "choice", "lines", "rules", "words"]

_UNITS: Final = (  # the longest first
    ("_mm_s2", "mm/s²"), ("_mm3_s", "mm³/s"), ("_g_cm3", "g/cm³"), ("_c_s", "°C/s"), ("_mm_s", "mm/s"),
    ("_percent", "%"), ("_per_kg", "for 1 kg"), ("_per_hour", "an hour"), ("_per_kwh", "for 1 kWh"), ("_mm", "mm"),
    ("_c", "°C"), ("_s", "s"), ("_w", "W"), ("_g", "g"),
)  # fmt: skip
_SECTIONS: Final[Mapping[Kind, tuple[tuple[str, tuple[str, ...]], ...]]] = {
    "printer": (
        ("The printer", ("name", "height_mm", "nozzle_mm", "nozzle_hardened", "filament_diameter_mm", "tools")),
        ("Plate", ("plate",)),
        ("Head and reach", ("head", "reach")),
        ("Speed and acceleration", (
            "max_speed_mm_s", "max_acceleration_mm_s2", "print_acceleration_mm_s2", "travel_acceleration_mm_s2",
            "retract_acceleration_mm_s2", "motion_measured", "planner_buffer_moves", "min_segment_time_s",
            "obeys_program_limits",
        )),
        ("Corners", ("corner",)),
        ("Heat and power", ("melt_mm3_s", "heat", "power_w")),
        ("Homing and waiting", ("homing", "levelling_s", "tool_change_s", "pause_s")),
        ("How programs are read", ("retract_mm", "retract_mm_s", "bare_axis_words", "e_follows_g90")),
    ),
    "filament": (
        ("The filament", ("name", "density_g_cm3", "diameter_mm", "abrasive")),
        ("Heat", ("nozzle_c", "plate_c", "melt_mm3_s", "layer_s", "fan_percent", "fan_from_layer")),
        ("Money and spool", ("price_per_kg", "spool_left_g")),
        ("Cautions", ("cautions",)),
    ),
    "workshop": (
        ("The place", ("name", "hours", "print_log")),
        ("Money", ("currency", "charge_per_hour", "price_per_kwh")),
        ("Checks", ("checks",)),
        ("Trade words", ("words",)),
    ),
}  # fmt: skip
_LABELS: Final[Mapping[KeyPath, str]] = {
    ("height_mm",): "print height", ("nozzle_mm",): "nozzle bore", ("filament_diameter_mm",): "filament diameter",
    ("melt_mm3_s",): "melts at most", ("heat", "nozzle_max_c"): "hottest nozzle",
    ("heat", "plate_max_c"): "hottest plate", ("homing", "x_mm"): "home, X", ("homing", "y_mm"): "home, Y",
    ("homing", "z_mm"): "home, Z", ("homing", "seconds"): "homing", ("retract_mm",): "G10 length",
    ("retract_mm_s",): "G10 speed", ("e_follows_g90",): "E follows G90", ("layer_s",): "shortest layer",
    ("fan_percent",): "part fan at least", ("fan_from_layer",): "part fan from layer",
    ("cautions",): "one a line", ("corner", "right_angle_mm_s"): "at a right angle",
    ("planner_buffer_moves",): "moves seen ahead", ("min_segment_time_s",): "shortest move",
    ("head", "left_mm"): "head, left of the nozzle", ("head", "right_mm"): "head, right of it",
    ("head", "front_mm"): "head, before it", ("head", "back_mm"): "head, behind it",
    ("head", "underside_mm"): "head, underside", ("head", "gantry_mm"): "gantry, underside",
    ("reach", "left_mm"): "reach, lowest X", ("reach", "right_mm"): "reach, highest X",
    ("reach", "front_mm"): "reach, lowest Y", ("reach", "back_mm"): "reach, highest Y",
    ("reach", "top_mm"): "reach, highest Z",
    ("levelling_s",): "probing the plate", ("pause_s",): "answering a pause",
}  # fmt: skip
"""Where the key alone would not say it to a person."""
FURTHER: Final = "Further"
"""Section of fields that no other section names."""


@dataclass(frozen=True, slots=True)
class Field:
    """One value that a person enters."""

    path: KeyPath
    kind: FieldKind
    short: str = ""
    """What stands before it where a row has several: X, low, opens ..."""
    unit: str = ""
    choices: tuple[str, ...] = ()
    required: bool = False
    """Whether it may not be left empty."""


@dataclass(frozen=True, slots=True)
class Row:
    """One line of the form: a label, one field or a few that belong together, what it means."""

    label: str
    fields: tuple[Field, ...]
    description: str


@dataclass(frozen=True, slots=True)
class Section:
    """Rows under one heading."""

    title: str
    rows: tuple[Row, ...]


def sections_of(kind: Kind) -> tuple[Section, ...]:
    """Return the form of one kind of card; every field of its struct is in it once."""
    struct = shapes.type_info(STRUCTS[kind])
    assert isinstance(struct, shapes.StructType)
    fields = {field.name: field for field in struct.fields}
    made = [
        Section(title, tuple(row for name in names for row in _rows((name,), fields[name])))
        for title, names in _SECTIONS[kind]
    ]
    named = {name for _, names in _SECTIONS[kind] for name in names}
    rest = tuple(row for name, field in fields.items() if name not in named for row in _rows((name,), field))
    return (*made, Section(FURTHER, rest)) if rest else tuple(made)


def _rows(path: KeyPath, field: shapes.Field) -> Iterator[Row]:
    kind, optional = _plain(field.type)
    about = _description(field.type)
    if not isinstance(kind, shapes.StructType):
        label, unit = _LABELS.get(path, label_and_unit(path[-1])[0]), label_and_unit(path[-1])[1]
        required = not optional and not isinstance(kind, shapes.CollectionType | shapes.DictType)
        yield Row(label, (_field(path, kind, "", unit, required),), about)
    elif len(kind.fields) <= 4 and all(len(inner.name) <= 6 and inner.required for inner in kind.fields):
        label, unit = _LABELS.get(path, label_and_unit(path[-1])[0]), label_and_unit(path[-1])[1]
        parts = tuple(
            _field((*path, inner.name), _plain(inner.type)[0], _short(inner.name), unit, not optional)
            for inner in kind.fields
        )
        yield Row(label, parts, about or (kind.cls.__doc__ or "").strip().splitlines()[0])
    else:
        for inner in kind.fields:
            yield from _rows((*path, inner.name), inner)


def _field(path: KeyPath, kind: shapes.Type, short: str, unit: str, required: bool) -> Field:
    if isinstance(kind, shapes.LiteralType):
        return Field(path, "choice", short, unit, tuple(str(value) for value in kind.values), True)
    if isinstance(kind, shapes.DictType):
        return Field(path, "words" if isinstance(_plain(kind.value_type)[0], shapes.StrType) else "rules")
    kinds: tuple[tuple[type[shapes.Type], FieldKind], ...] = (
        (shapes.BoolType, "switch"), (shapes.FloatType, "number"), (shapes.IntType, "whole"),
        (shapes.CollectionType, "lines"), (shapes.StrType, "text"),
    )  # fmt: skip
    name = next(name for of_type, name in kinds if isinstance(kind, of_type))
    return Field(path, name, short, unit, (), required)


def _plain(kind: shapes.Type) -> tuple[shapes.Type, bool]:
    """Return a type without descriptions and None, and whether None was allowed."""
    if isinstance(kind, shapes.Metadata):
        return _plain(kind.type)
    if isinstance(kind, shapes.UnionType):
        some = [inner for inner in kind.types if not isinstance(inner, shapes.NoneType)]
        return _plain(some[0])[0], len(some) < len(kind.types)
    return kind, False


def _description(kind: shapes.Type) -> str:
    extra = getattr(kind, "extra_json_schema", None) or {}
    return readable(str(extra.get("description", "")))


def label_and_unit(name: str) -> tuple[str, str]:
    """Part a field's name into words and the unit at its end.

    >>> label_and_unit("print_acceleration_mm_s2")
    ('print acceleration', 'mm/s²')
    """
    for ending, unit in _UNITS:
        if name.endswith(ending):
            return name.removesuffix(ending).replace("_", " "), unit
    return ("seconds", "s") if name == "seconds" else (name.replace("_", " "), "")


def _short(name: str) -> str:
    return name.upper() if len(name) == 1 else name


def value_at(raw: object, path: KeyPath) -> object:
    """Return the value at a path of a card as plain objects; None where there is none."""
    for step in path:
        if not isinstance(raw, dict):
            return None
        raw = raw.get(step)
    return raw


def plain_card(card: msgspec.Struct) -> dict[str, object]:
    """Return a card as plain objects."""
    plain: dict[str, object] = msgspec.to_builtins(card)
    return plain
