"""What settings in comments state: material, nozzle, filament, layers, plate, temperatures, printer and its limits.

Programs of many origins keep their settings in comments, as ``; key = value``, ``;Key: value`` or ``;   key,value``.
They are read by the trade words of the key and the range of the value, not by origin. Read strictly: a key counts only
if all of its words are known, and a value only if it is a plain number in its range, a list of them, or a material's
abbreviation. What is empty, a placeholder or in another unit states nothing.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

import numpy as np

from viewer.read.blocks import Source
from viewer.read.comments.dialect import NUMBER, fold, word_set
from viewer.read.notes import DOUBTFUL, MESSAGE, OWN_LINE, WORD_COMMAND, Notes
from viewer.read.texts import fetch_places

MAX_PLACES: Final = 2
"""A setting stands in a header, in a trailer or in both; what stands before more moves than that is a mark."""
MAX_STATEMENTS: Final = 200
MAX_NAME: Final = 60

Value = float | str | tuple[float, float]


@dataclass(frozen=True, slots=True)
class Statement:
    """One setting that a comment states."""

    quantity: str
    """One of the keys of `KEYS`."""
    values: tuple[Value, ...]
    """One, or one a tool."""
    line: int
    text: str


def _keys(*spellings: str) -> tuple[frozenset[str], ...]:
    return tuple(word_set(spelling) for spelling in spellings)


KEYS: Final[dict[str, tuple[frozenset[str], ...]]] = {
    "material": _keys(
        "material", "filament", "filament type", "material type", "print material", "filament material",
        "printing material", "material name", "filament name", "initial filament",
    ),
    "nozzle_mm": _keys(
        "nozzle", "nozzle diameter", "nozzle size", "nozzle diameter mm", "extruder diameter", "extruder nozzle diameter",
        "extruder param nozzle diameter", "extruder nozzle size", "machine nozzle size", "machine nozzle diameter",
    ),
    "filament_diameter_mm": _keys("filament diameter", "material diameter", "filament diameter mm", "filament dia"),
    "layer_height_mm": _keys("layer height", "layer thickness", "layer height mm", "layer thickness mm"),
    "first_layer_height_mm": _keys(
        "first layer height", "initial layer height", "first layer thickness", "initial layer thickness",
        "layer height initial", "initial layer print height",
    ),
    "nozzle_c": _keys(
        "temperature", "nozzle temperature", "nozzle temp", "print temperature", "printing temperature", "print temp",
        "extruder temperature", "extruder temp", "hotend temperature", "hot end temperature",
        "material print temperature",
    ),
    "first_layer_nozzle_c": _keys(
        "first layer temperature", "nozzle temperature initial layer", "first layer nozzle temperature",
        "initial layer temperature", "initial layer print temperature",
    ),
    "plate_c": _keys(
        "bed temperature", "bed temp", "plate temperature", "plate temp", "build plate temperature",
        "heated bed temperature", "heatbed temperature", "platform temperature", "material bed temperature",
    ),
    "first_layer_plate_c": _keys(
        "first layer bed temperature", "initial layer bed temperature", "bed temperature initial layer",
        "first layer plate temperature",
    ),
    "plate_mm": _keys(
        "bed shape", "printable area", "bed size", "plate size", "print bed size", "build plate size", "print area",
    ),
    "plate_x_mm": _keys("machine width", "bed width", "plate width"),
    "plate_y_mm": _keys("machine depth", "bed depth", "plate depth"),
    "printer": _keys(
        "printer", "printer name", "printer model", "printer type", "machine", "machine name", "machine model",
        "target machine name",
    ),
    **{
        f"max_{axis}_mm_s": _keys(f"machine max feedrate {axis}", f"machine max speed {axis}", f"max feedrate {axis}")
        for axis in "xyze"
    },
    **{
        f"accel_{axis}_mm_s2": _keys(f"machine max acceleration {axis}", f"max acceleration {axis}")
        for axis in "xyze"
    },
    **{f"jerk_{axis}_mm_s": _keys(f"machine max jerk {axis}", f"max jerk {axis}") for axis in "xyze"},
    "accel_print_mm_s2": _keys("machine max acceleration extruding"),
    "accel_travel_mm_s2": _keys("machine max acceleration travel"),
    "accel_retract_mm_s2": _keys("machine max acceleration retracting"),
    "junction_deviation_mm": _keys("machine max junction deviation"),
}  # fmt: skip
"""By quantity: the sets of words that a key may consist of (common practice, no source)."""

RANGES: Final[dict[str, tuple[float, float]]] = {
    "nozzle_mm": (0.1, 2.0), "filament_diameter_mm": (1.0, 4.0), "layer_height_mm": (0.01, 2.0),
    "first_layer_height_mm": (0.01, 2.0), "nozzle_c": (140.0, 500.0), "first_layer_nozzle_c": (140.0, 500.0),
    "plate_c": (20.0, 200.0), "first_layer_plate_c": (20.0, 200.0), "plate_x_mm": (50.0, 3000.0),
    "plate_y_mm": (50.0, 3000.0),
    **{f"max_{axis}_mm_s": (0.1, 5000.0) for axis in "xyze"},
    **{f"accel_{axis}_mm_s2": (1.0, 200_000.0) for axis in ("x", "y", "z", "e", "print", "travel", "retract")},
    **{f"jerk_{axis}_mm_s": (0.001, 500.0) for axis in "xyze"},
    "junction_deviation_mm": (0.0001, 1.0),
}  # fmt: skip
"""Least and most of a value; others are switches, other units or mistakes (common practice, no source)."""

_QUANTITY_OF: Final = {words: quantity for quantity, spellings in KEYS.items() for words in spellings}
_KEYED: Final = re.compile(
    r"\s*(?P<key>[A-Za-z][A-Za-z0-9_ .#/\[\]()-]{1,60}?)\s*(?P<sign>[:=]|(?<=[A-Za-z0-9]),(?=\S))\s*(?P<value>\S.*?)\s*",
    re.DOTALL,
)
_BRACKETS: Final = re.compile(r"[\[(][^\])]*[\])]")
_UNITS: Final = {
    "mm": r"\s*(?:mm)?",
    "c": r"\s*(?:°|deg(?:rees)?)?\s*C?",
    "s": r"\s*(?:mm/s)?",
    "s2": r"\s*(?:mm/s2)?",
}
_LIST: Final = re.compile(r"[,;|]")
_AREA: Final = re.compile(rf"({NUMBER.pattern})\s*[xX*]\s*({NUMBER.pattern})(?:\s*mm)?")
_TOKEN: Final = re.compile(r"[A-Za-z0-9]+")
_PLACEHOLDER: Final = re.compile(
    r".*[{}\[\]%$<>\\].*|removed|none|null|unknown|undefined|default|n/?a", re.IGNORECASE | re.DOTALL
)

MATERIALS: Final = word_set(
    "PLA ABS PETG PET ASA TPU TPE TPC PA PC PP PE PVA PVB HIPS PEEK PEKK PEI POM PMMA BVOH PCTG CPE PPS"
)
"""Abbreviations of plastics (ISO 1043-1 and common practice)."""
_MATERIAL_FORMS: Final = (
    (re.compile(r"PET-G|PETG[0-9]*", re.IGNORECASE), "PETG"),
    (re.compile(r"NYLON[0-9]*|PA[0-9]+", re.IGNORECASE), "PA"),
    (re.compile(r"TPU[0-9]+A?", re.IGNORECASE), "TPU"),
)


def material_of(text: str) -> str:
    """Return the plastic that a text names by its abbreviation, "" where it names none or several."""
    for form, name in _MATERIAL_FORMS:
        text = form.sub(name, text)
    found = {token.upper() for token in _TOKEN.findall(text)} & MATERIALS
    return found.pop() if len(found) == 1 else ""


def read_statements(notes: Notes, source: Source) -> tuple[Statement, ...]:
    """Return what settings in comments state, in program order.

    Raises
    ------
    ReadError
        The file is gone before its comments could be read again.
    """
    left_out = WORD_COMMAND | DOUBTFUL | MESSAGE
    wanted = [
        number
        for number, (text, flags) in enumerate(zip(notes.shape_text, notes.shape_flags, strict=True))
        if flags & OWN_LINE and not flags & left_out and quantity_of(text)
    ]
    rows = np.flatnonzero(np.isin(notes.shape, wanted)) if wanted else np.zeros(0, np.intp)
    marks = {
        shape for shape in wanted if len(np.unique(notes.move[rows[notes.shape[rows] == shape]])) > MAX_PLACES
    }
    rows = rows[~np.isin(notes.shape[rows], list(marks))][:MAX_STATEMENTS]
    texts = fetch_places(source, notes.offset[rows], notes.length[rows].tolist())
    found = (read_statement(text, line) for text, line in zip(texts, notes.line[rows].tolist(), strict=True))
    return tuple(statement for statement in found if statement is not None)


def quantity_of(text: str) -> str:
    """Return what a comment's key is about, "" where it is no such setting."""
    keyed = _split(text)
    return keyed[0] if keyed else ""


def read_statement(text: str, line: int = 0) -> Statement | None:
    """Return what one comment states; None where its key or its value is not understood."""
    keyed = _split(text)
    if keyed is None:
        return None
    quantity, value = keyed
    values = tuple(_values(quantity, value.strip().strip('"').strip()))
    return Statement(quantity, values, line, text.strip()[:200]) if values else None


def _split(text: str) -> tuple[str, str] | None:
    """Return the quantity and the value's text of a line ``key = value``, ``key: value`` or ``key,value``."""
    keyed = _KEYED.fullmatch(text)
    if keyed is None or (keyed["sign"] == "," and not keyed["key"].isalnum()):
        return None
    words = frozenset(fold(_BRACKETS.sub(" ", keyed["key"])))
    quantity = _QUANTITY_OF.get(words, "")
    return (quantity, keyed["value"]) if quantity else None


def _values(quantity: str, text: str) -> Iterator[Value]:
    """Yield the values of a setting; none at all where one of them is not understood."""
    if not text or _PLACEHOLDER.fullmatch(text):
        return
    if quantity == "printer":
        if len(text) <= MAX_NAME and any(map(str.isalpha, text)):
            yield text
        return
    if quantity == "plate_mm":
        yield from _area(text)
        return
    items = [item.strip().strip('"') for item in _LIST.split(text)]
    read = [material_of(item) for item in items] if quantity == "material" else _numbers(quantity, items)
    if all(read):
        yield from read


def _numbers(quantity: str, items: list[str]) -> list[float]:
    """Return the numbers of a list; 0 stands for one that is none, or out of its range."""
    low, high = RANGES[quantity]
    unit = _UNITS[quantity.rpartition("_")[2]]
    found = [re.fullmatch(rf"({NUMBER.pattern}){unit}", item, re.IGNORECASE) for item in items]
    numbers = [float(one[1]) if one else 0.0 for one in found]
    return [number if low <= number <= high else 0.0 for number in numbers]


def _area(text: str) -> Iterator[tuple[float, float]]:
    """Yield width and depth of a plate: stated as such, or by the corners of its outline."""
    pairs = [_AREA.fullmatch(item.strip()) for item in _LIST.split(text)]
    if not pairs or None in pairs:
        return
    points = np.array([(float(pair[1]), float(pair[2])) for pair in pairs if pair is not None])
    size = points[0] if len(points) == 1 else points.max(axis=0) - points.min(axis=0)
    if len(points) != 2 and np.all((size >= RANGES["plate_x_mm"][0]) & (size <= RANGES["plate_x_mm"][1])):
        yield (float(size[0]), float(size[1]))
