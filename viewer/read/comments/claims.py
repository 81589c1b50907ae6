"""What a program claims about itself in comments: its time, filament, cost, layers, height.

A claim is read as stated. Units can be missing or wrong in real programs (a volume headed ``cm^3``
that is in mm3, a length without a unit that is in m), so each claim says whether its unit was
stated; the comparison with our own figure decides what was meant.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from math import isfinite
from typing import Final

from viewer.read.comments.dialect import NUMBER, fold, word_set
from viewer.read.comments.marks import word_layers
from viewer.units import MM_PER_INCH

UNITS: Final[dict[str, tuple[str, float]]] = {
    "s": ("s", 1.0),
    "mm": ("mm", 1.0),
    "cm": ("mm", 10.0),
    "m": ("mm", 1000.0),
    "in": ("mm", MM_PER_INCH),
    "mm3": ("mm3", 1.0),
    "cm3": ("mm3", 1000.0),
    "g": ("g", 1.0),
    "kg": ("g", 1000.0),
}
"""Unit as stated: the quantity's own unit, and how many of it one of the stated is."""


@dataclass(frozen=True, slots=True)
class Claim:
    """One figure that the program states about itself.

    Parameters
    ----------
    quantity
        ``time_s``, ``part_time_s`` (without what comes before the part), ``first_layer_time_s``,
        ``filament_mm``, ``filament_mm3``, ``filament_g``, ``cost``, ``layers`` or ``height_mm``.
    value
        As stated, in `unit`; times always in s.
    unit
        As stated (``mm cm m in mm3 cm3 g kg s``; a currency's sign or letters for costs), or the
        likeliest where none was.
    unit_sure
        Whether the unit was stated.
    tool
        Number of the tool where the claim is one tool's share, as written; -1: of the whole program.
    """

    quantity: str
    value: float
    unit: str
    unit_sure: bool = True
    tool: int = -1

    @property
    def amount(self) -> float:
        """The value in the unit that the quantity's name ends with (mm, mm3, g, s), taking `unit` as true."""
        return self.value * UNITS[self.unit][1] if self.unit in UNITS else self.value


_QUANTITY: Final = {"mm": "filament_mm", "mm3": "filament_mm3", "g": "filament_g"}
_SPELLED: Final = {
    "mm": "mm millimeter millimeters millimetre millimetres",
    "cm": "cm centimeter centimeters centimetre centimetres",
    "m": "m meter meters metre metres",
    "in": "in inch inches",
    "mm3": "mm3 mm^3 mm**3 mm³ cmm",
    "cm3": "cm3 cm^3 cm**3 cm³ cc ccm ml",
    "g": "g gram grams gramme grammes",
    "kg": "kg kilogram kilograms",
}
_UNIT_OF: Final = {spelling: unit for unit, text in _SPELLED.items() for spelling in text.split()}
_UNIT: Final = "|".join(re.escape(word) for word in sorted(_UNIT_OF, key=len, reverse=True))
_PAIR: Final = re.compile(rf"({NUMBER.pattern})\s*({_UNIT})?(?![^\W_])", re.IGNORECASE)
_KEY_UNIT: Final = re.compile(rf"(?<![^\W_])({_UNIT})(?![^\W_])", re.IGNORECASE)
_PAREN: Final = re.compile(r"\(([^()]*)\)")
_SEPARATOR: Final = re.compile(r"[:=]")
_DIGIT: Final = re.compile(r"[0-9]")
_LETTER: Final = re.compile(r"[^\W\d_]")
_TOOL: Final = re.compile(r"(?:tool|extruder|material|filament|\bT|#)\s*#?\s*([0-9]{1,3})\b", re.IGNORECASE)
_CURRENCY: Final = re.compile(r"[$€£¥]|\b[A-Z]{3}\b")
_DECIMAL_COMMA: Final = re.compile(r"(?<=[0-9]),(?=[0-9])")

_TIME_UNIT: Final = re.compile(
    r"([0-9]+(?:\.[0-9]*)?|\.[0-9]+)\s*"
    r"(d|days?|h|hrs?|hours?|m|mins?|minutes?|s|secs?|seconds?)(?![^\W\d_])",
    re.IGNORECASE,
)
_CLOCK: Final = re.compile(
    r"(?:([0-9]{1,4})\s*d(?:ays?)?[\s,]*)?([0-9]{1,5}):([0-9]{2})(?::([0-9]{2}(?:\.[0-9]*)?))?", re.IGNORECASE
)
_SECONDS: Final = {"d": 86400.0, "h": 3600.0, "m": 60.0, "s": 1.0}
_KEY_SECONDS: Final = {
    "second": 1.0, "sec": 1.0, "s": 1.0, "minute": 60.0, "min": 60.0, "mins": 60.0,
    "hour": 3600.0, "h": 3600.0,
}  # fmt: skip

_TIME_WORDS: Final = word_set(
    "time print printing build estimated estimate est total normal mode model first initial layer "
    "needed required duration approx approximate of the job pre cool machine processing"
) | frozenset(_KEY_SECONDS)
_MATTER: Final = word_set("filament material plastic extruded feedstock")
_MEASURE: Final = word_set(
    "used use usage length volume weight mass needed required consumption consumed extruded total amount"
)
_UNIT_WORDS: Final = frozenset(word for text in _UNIT_OF for word in fold(text))
_FILAMENT_WORDS: Final = (
    _MATTER
    | _MEASURE
    | _UNIT_WORDS
    | word_set("estimated for of by in tool extruder each t print build model extrusion overall approx")
)
_COST_WORDS: Final = _MATTER | word_set(
    "cost price total print printing build estimated job model of the approx used"
)
_COUNT_WORDS: Final = word_set("layer count total number num of no nr")
_HEIGHTS: Final = frozenset(
    frozenset(text.split())
    for text in ("maxz", "max z", "max z height", "object height", "model height", "part height")
)
_STATED: Final = word_set("used total estimated needed required consumed usage")
"""Words that make ``key_with_underscores = value`` a claim; without them it is a setting."""

_SUMMARIES: Final = frozenset(
    {("build", "summary"), ("print", "summary"), ("print", "statistic"), ("statistic",), ("summary",)}
)
_PART_WORDS: Final = word_set("tool extruder material filament length volume weight mass total t")


def read_claim(text: str, heading: str = "") -> list[Claim]:
    """Return what a comment claims; nothing where the figure is missing, zero, negative or a placeholder.

    Parameters
    ----------
    text
        The comment, without its semicolon or parentheses; or a word command of kind ``claim``.
    heading
        For a line of kind ``claim part``: the text of the ``claim heading`` above it.

    Returns
    -------
    list of Claim
        Several where the line gives several figures (``1.968m 5.0g``), or one for each tool
        (``0, 376.94``: the tools are numbered as they stand, tools that use none are left out).
    """
    claims: list[Claim] = []
    for part in text.split(";"):
        key, value, plain = _split(part)
        key = f"{heading.strip().rstrip(':=')} {key}".strip()
        claims += _read(_subject(key, plain), key, value)
    claims = [claim for claim in claims if isfinite(claim.value)]
    count = 0 if claims else word_layers(text)
    return [Claim("layers", count, "")] if count else claims


def claim_kind(text: str) -> tuple[str, str]:
    """Tell whether a comment claims something: ``(kind, quantity)``, kind "" where it does not.

    Kinds are ``claim``, ``claim heading`` (a title, or a claim's words without any figure: the figures
    follow) and ``claim part`` (a figure that says something only under a heading). The quantity is a
    hint: ``filament`` without unit where only the row's text tells the unit.
    """
    for part in text.split(";"):
        key, value, plain = _split(part)
        subject = _subject(key, plain)
        if subject:
            return ("claim" if value else "claim heading", subject)
    words = fold(text)
    if words in _SUMMARIES:
        return ("claim heading", "")
    key, value, plain = _split(text)
    if plain and value and len(words) <= 4 and _is_part(key, value):
        return ("claim part", "")
    return ("", "")


def _is_part(key: str, value: str) -> bool:
    named = frozenset(fold(key))
    bare = not named and _TOOL.search(key) is not None
    return (bare or (bool(named) and named <= _PART_WORDS)) and bool(_figures(value))


def _split(part: str) -> tuple[str, str, bool]:
    """Return key, value, and whether the key is plain words (not ``name_of_a_setting = ``)."""
    for found in _SEPARATOR.finditer(part):
        at = found.start()
        if part[at - 1 : at].isdigit() and part[at + 1 : at + 2].isdigit():
            continue  # a clock time, not a separator
        key = part[:at].strip()
        return key, part[at + 1 :].strip(), not ("_" in key and found.group() == "=")
    number = NUMBER.search(part)
    if number is None:
        return "", "", False
    return part[: number.start()].strip(), part[number.start() :].strip(), True


def _subject(key: str, plain: bool) -> str:
    """Return what a key speaks of: a quantity, ``filament`` (the unit decides which), or nothing."""
    if not key or len(key) > 80:
        return ""
    words = frozenset(fold(key))
    if not words or (not plain and not words & _STATED and "time" not in words):
        return ""
    if words <= _TIME_WORDS and ("time" in words or (words & _STATED and words & _KEY_SECONDS.keys())):
        return _which_time(words)
    if words <= _COUNT_WORDS and "layer" in words:
        return "layers" if words & {"count", "total"} or "layers" in key.lower() else ""
    if words in _HEIGHTS:
        return "height_mm"
    if words & {"cost", "price"}:
        return "cost" if words <= _COST_WORDS else ""
    if words <= _FILAMENT_WORDS and ((words & _MATTER and words & _MEASURE) or words == {"used"}):
        return "filament"
    if "estimated" in words and words & {"volume", "weight", "mass"} and words <= _FILAMENT_WORDS:
        return "filament"
    return ""


def _which_time(words: frozenset[str]) -> str:
    if "layer" in words:
        return "first_layer_time_s" if words & {"first", "initial"} else ""
    if words & {"first", "initial"}:
        return ""
    return "part_time_s" if "model" in words and "total" not in words else "time_s"


def _read(subject: str, key: str, value: str) -> list[Claim]:
    if not subject or not _DIGIT.search(value):
        return []
    if subject == "filament":
        return _read_filament(key, value)
    if subject.endswith("time_s"):
        return _read_time(subject, key, value)
    if subject == "cost":
        return _read_cost(key, value)
    return _read_plain(subject, value)


def _read_time(subject: str, key: str, value: str) -> list[Claim]:
    clock = _CLOCK.fullmatch(value)
    if clock:
        days, hours, minutes, seconds = (float(part or 0.0) for part in clock.groups())
        total, sure = days * 86400.0 + hours * 3600.0 + minutes * 60.0 + seconds, clock.group(4) is not None
    else:
        total, sure = _spelled_time(key, value)
    return [Claim(subject, total, "s", sure)] if total > 0.0 else []


def _spelled_time(key: str, value: str) -> tuple[float, bool]:
    """Return the seconds of ``1h 32m``, ``0 hours 23 minutes`` or a bare number; whether the unit is sure."""
    pieces = _TIME_UNIT.findall(value)
    if pieces and not value.startswith("-"):
        rest = _TIME_UNIT.sub("", value)
        return sum(float(n) * _SECONDS[u[0].lower()] for n, u in pieces), not _DIGIT.search(rest)
    if not NUMBER.fullmatch(value):
        return 0.0, False  # a date, a range, a placeholder
    factors = [_KEY_SECONDS[word] for word in fold(key) if word in _KEY_SECONDS]
    return float(value) * (factors[0] if factors else 1.0), bool(factors)


def _figures(value: str) -> list[tuple[float, str]]:
    """Return the (number, unit) pairs that make up a text, or nothing if anything else stands in it."""
    if _LETTER.search(_PAIR.sub("", value)):
        return []
    return [(float(n), _UNIT_OF[u.lower()] if u else "") for n, u in _PAIR.findall(value)]


def _read_filament(key: str, value: str) -> list[Claim]:
    if "." not in value:
        value = _DECIMAL_COMMA.sub(".", value)
    stated = _KEY_UNIT.search(key[key.find("[") + 1 :] if "[" in key else key)
    key_unit = _UNIT_OF[stated.group().lower()] if stated else ""
    guess = _likely_unit(fold(key))
    items = [_figures(item) for item in _PAREN.sub("", value).split(",")]
    named = _TOOL.search(key)
    claims: list[Claim] = []
    for place, figures in enumerate(items):
        tool = place if len(items) > 1 else int(named.group(1)) if named else -1
        claims += [_amount_of(n, unit, key_unit, guess, tool) for n, unit in figures]
    if len(items) == 1:
        claims += [
            _amount_of(n, unit, "", guess, claims[0].tool if claims else -1)
            for inside in _PAREN.findall(value)
            for n, unit in _figures(inside)
            if unit
        ]
    return _first_of_each([claim for claim in claims if claim.value > 0.0])


def _likely_unit(words: tuple[str, ...]) -> str:
    if "volume" in words:
        return "mm3"
    return "g" if "weight" in words or "mass" in words else "mm"


def _amount_of(number: float, unit: str, key_unit: str, guess: str, tool: int) -> Claim:
    unit_used = unit or key_unit or guess
    return Claim(_QUANTITY[UNITS[unit_used][0]], number, unit_used, bool(unit or key_unit), tool)


def _first_of_each(claims: list[Claim]) -> list[Claim]:
    """Leave out what says the same once more in another unit: ``1656.3 mm (1.66 m)``."""
    found: dict[tuple[str, int], Claim] = {}
    for claim in claims:
        found.setdefault((claim.quantity, claim.tool), claim)
    return list(found.values())


def _read_cost(key: str, value: str) -> list[Claim]:
    number = NUMBER.search(value)
    if number is None or float(number.group()) <= 0.0:
        return []
    currency = _CURRENCY.search(value) or _CURRENCY.search(key)
    return [Claim("cost", float(number.group()), currency.group() if currency else "", currency is not None)]


def _read_plain(subject: str, value: str) -> list[Claim]:
    """Read a count of layers (a whole number) or a height (mm where no unit is stated)."""
    figures = _figures(value)
    if len(figures) != 1 or figures[0][0] <= 0.0:
        return []
    number, unit = figures[0]
    if subject == "layers":
        return [Claim("layers", number, "")] if number.is_integer() and not unit else []
    if unit and UNITS[unit][0] != "mm":
        return []
    return [Claim(subject, number, unit or "mm", bool(unit))]
