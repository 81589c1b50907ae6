"""Objects, and word commands (``NAME KEY=VALUE ...``): what they mark and what they set.

A word command's name differs from machine to machine; the words in it and in its keys are read, as in
comments.
"""

from __future__ import annotations

import re
from typing import Final

from viewer.read.comments.dialect import NO_OBJECT, NUMBER, OBJECT_KEYS, fold

_OBJECT: Final = re.compile(
    r"(?P<end>stop|end|finish|finished|done)?\s*(?:start\s+|begin\s+)?"
    r"print(?:ing)?[ _]object\b(?P<closed>[ _]?(?:end|stop)\b)?[\s,:]*"
    r"(?:(?:unique\s+)?label\s+id\s*[:=]?)?(?P<name>.*)",
    re.IGNORECASE | re.DOTALL,
)
_KEYED: Final = re.compile(r"\s*([A-Za-z][A-Za-z _]{0,30}?)\s*:(?P<name>.*)", re.DOTALL)
_PAIR: Final = re.compile(r"""(?:^|\s)([A-Za-z_]\w*)\s*=\s*("[^"]*"|'[^']*'|\S*)""")
_NAME: Final = re.compile(r"\s*([^\s=]+)")

_BEGINS: Final = frozenset({"start", "begin", "set", "current"})
_ENDS: Final = frozenset({"end", "stop", "finish"})
_NAME_KEYS: Final = ("NAME", "OBJECT", "ID", "LABEL")
_PLATE_WORDS: Final = frozenset({"bed", "plate", "heatbed"})
_NOZZLE_WORDS: Final = frozenset({"extruder", "hotend", "nozzle", "ext", "tool"})
_HEAT_WORDS: Final = frozenset({"temp", "temperature", "target"})
_OTHER_HEAT: Final = frozenset(
    {"chamber", "minimum", "min", "maximum", "max", "wait", "standby", "fan", "sensor"}
)
_WARMING: Final = frozenset(
    {"start", "print", "printing", "heat", "heater", "preheat", "temperature", "temp", "warm"}
)
_STARTS: Final = frozenset({"start", "begin"})
_ENDS_PRINT: Final = frozenset({"end", "finish", "stop", "off", "shutdown"})
_WHOLE: Final = frozenset({"print", "job", "gcode", "machine", "printer"})
_MESSAGE_WORDS: Final = frozenset({"msg", "message"})
_LIMITING: Final = frozenset({"limit", "velocity", "accel", "acceleration", "motion"})


def object_mark(text: str) -> str:
    """Tell whether a comment marks an object: ``object``, ``object end`` or "" (neither)."""
    found = _OBJECT.fullmatch(text.strip())
    if found:
        return "object end" if found["end"] or found["closed"] else "object"
    keyed = _KEYED.fullmatch(text)
    if keyed and fold(keyed[1]) in OBJECT_KEYS:
        return "object end" if keyed["name"].strip().lower() in NO_OBJECT else "object"
    return ""


def object_name(text: str) -> str:
    """Return the name that an object mark states, comment or word command; "" where it states none.

    Copies of one object keep what tells them apart (``knob id:0 copy 1``).
    """
    found = _OBJECT.fullmatch(text.strip())
    if found is None:
        found = _KEYED.fullmatch(text)
        if found is not None and fold(found[1]) not in OBJECT_KEYS:
            found = None
    if found is not None:
        return found["name"].strip().strip("\"'").strip()
    pairs = word_pairs(text)
    for key in _NAME_KEYS:
        if key in pairs:
            return pairs[key]
    return ""


def word_pairs(text: str) -> dict[str, str]:
    """Return the ``KEY=VALUE`` pairs of a word command: keys in capitals, quotes taken off."""
    return {key.upper(): value.strip("\"'") for key, value in _PAIR.findall(text)}


def word_kind(text: str) -> tuple[str, int]:
    """Tell what a word command does, and which number of its text is the layer's.

    Returns
    -------
    kind, index
        ``object``, ``object end``, ``limit`` (it sets what :func:`word_settings` gives), ``layer``,
        ``claim`` (a count of layers) or ``nothing``; the index is -1 but for ``layer``.
    """
    name = frozenset(_name_words(text))
    if "object" in name and "define" not in name:
        if name & _ENDS:
            return "object end", -1
        if name & _BEGINS:
            return "object", -1
    if word_settings(text):
        return "limit", -1
    for found in _PAIR.finditer(text):
        words = frozenset(fold(found[1]))
        if words == {"current", "layer"} or (words == {"layer"} and "layer" in name):
            before = sum(1 for _ in NUMBER.finditer(text, 0, found.start(2)))
            return ("layer", before) if NUMBER.fullmatch(found[2]) else ("nothing", -1)
    return ("claim", -1) if word_layers(text) else ("nothing", -1)


def starts_print(words: frozenset[str]) -> bool:
    """Whether a word command's name begins a print by the machine's own procedure (``print_start``)."""
    return bool(words & _STARTS) and bool(words & _WHOLE) and "object" not in words


def ends_print(words: frozenset[str]) -> bool:
    """Whether a word command's name ends a print or switches heaters off (``print_end``, ``heaters_off``)."""
    whole = bool(words & _WHOLE) or bool(words & {"heater", "hotend", "motor", "stepper"})
    return bool(words & _ENDS_PRINT) and whole and "object" not in words


def needs_no_reading(text: str) -> bool:
    """Whether a word command of no :func:`word_kind` is known all the same: start, end, message, object, advance."""
    name = frozenset(_name_words(text))
    said = name.union(*(fold(key) for key in word_pairs(text)))
    known = bool(name & {"object", "limit", "advance"}) or bool(said & _MESSAGE_WORDS)
    return known or starts_print(name) or ends_print(name)


def command_name(text: str) -> str:
    """Return the name of a word command, as it is written."""
    found = _NAME.match(text)
    return found[1] if found else ""


def word_layers(text: str) -> int:
    """Return the count of layers that a word command states, 0 where it states none."""
    for key, value in word_pairs(text).items():
        if (
            frozenset(fold(key)) in ({"total", "layer"}, {"layer", "count"})
            and value.isascii()
            and value.isdigit()
        ):
            return int(value[:9])
    return 0


def word_settings(text: str) -> dict[str, float]:
    """Return what a word command sets, by the meaning of its keys.

    Returns
    -------
    dict
        Any of ``max_path_mm_s``, ``accel_print_mm_s2``, ``accel_travel_mm_s2``,
        ``accel_retract_mm_s2``, ``corner_mm_s``, ``nozzle_c``, ``plate_c``; the names are those of the
        settings table. Zero and negative limits set nothing (a limit of nothing would stop the machine).
    """
    name = frozenset(_name_words(text))
    if not name & (_WARMING | _LIMITING):
        return {}
    pairs = word_pairs(text)
    heater = frozenset(fold(pairs.get("HEATER", "")))
    found: dict[str, float] = {}
    for key, value in pairs.items():
        if not NUMBER.fullmatch(value):
            continue
        words = frozenset(fold(key))
        if name & _LIMITING:
            _take_limit(found, words, float(value))
        if name & _WARMING:
            _take_heat(found, words, heater, float(value))
    return found


def _name_words(text: str) -> tuple[str, ...]:
    return fold(command_name(text))


def _take_limit(found: dict[str, float], words: frozenset[str], value: float) -> None:
    if value <= 0.0:
        return
    if "corner" in words:
        found["corner_mm_s"] = value
    elif words == {"velocity"} or words == {"max", "velocity"} or words == {"speed"}:
        found["max_path_mm_s"] = value
    elif words & {"accel", "acceleration"} and not words & {"decel", "to", "ratio"}:
        kinds = [kind for kind in ("print", "travel", "retract") if kind in words] or ["print", "travel"]
        for kind in kinds:
            found[f"accel_{kind}_mm_s2"] = value


def _take_heat(found: dict[str, float], words: frozenset[str], heater: frozenset[str], value: float) -> None:
    if words & _OTHER_HEAT or value < 0.0:
        return
    named = heater if words & _HEAT_WORDS and heater else words
    if named & _OTHER_HEAT or not (words & _HEAT_WORDS or words <= (_PLATE_WORDS | _NOZZLE_WORDS - {"tool"})):
        return
    if named & _PLATE_WORDS:
        found["plate_c"] = value
    elif named & _NOZZLE_WORDS or not heater:
        found["nozzle_c"] = value
