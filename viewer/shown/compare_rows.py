"""Two programs beside each other, in words."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator

from viewer.numerals import count_text, counted_text, number_text
from viewer.shown.claim_rows import CLAIM_NAMES
from viewer.shown.numbers import distance_text, duration_text, money_text, size_text
from viewer.shown.overrun_rows import NOTHING_S, part_title, signed_text
from viewer.shown.row import Row
from viewer.why.compare import Comparison, LayerPairs, Pair, Setting

WORTH_S = 0.5
"""Differences below this, in s, are not named in the sentence."""
MOST_NAMED = 3
_HEIGHTS = ("height", "usual layer", "height_mm")
_UNITS = {"_mm": "mm", "_c": "°C", "_mm_s": "mm/s", "_mm_s2": "mm/s²"}
_UNIT_END = re.compile(r"_(?:mm(?:_s2?)?|c)$")
_NAMES = {"nozzle_mm": "nozzle diameter", "plate_mm": "plate size"}
"""Quantities that their first words do not tell from others."""
_WORDS = {"accel": "acceleration", "max": "top"}
_AXES = ("x", "y", "z", "e")


def compare_sentence(found: Comparison) -> str:
    """Return the difference in a sentence: "B takes 40 min more: 31 min infill, 9 more layers"."""
    total = found.figures[0].more or 0.0
    reasons = _largest(found.by_role, total)
    layers = next(pair.more for pair in found.figures if pair.name == "layers")
    if layers:
        reasons.append(counted_text(abs(int(layers)), "more layer" if layers > 0 else "fewer layer"))
    if abs(total) < WORTH_S:
        return "Both take the same time" + (f", with {', '.join(reasons)}." if reasons else ".")
    more = "longer" if total > 0.0 else "less"
    told = f": {', '.join(reasons)}" if reasons else ""
    return f"B takes {duration_text(abs(total))} {more}{told}."


def _largest(pairs: Iterable[Pair], total_s: float) -> list[str]:
    """Return the roles that make most of a difference, in its own direction first."""
    apart = [pair for pair in pairs if abs(pair.more or 0.0) >= max(WORTH_S, 0.05 * abs(total_s))]
    apart.sort(key=lambda pair: -abs(pair.more or 0.0))
    return [f"{signed_text(pair.more or 0.0)} {pair.name}" for pair in apart[:MOST_NAMED]]


def compare_rows(found: Comparison) -> Iterator[Row]:
    """Yield all rows; differences are B less A."""
    yield Row("Difference", "in short", None, "", compare_sentence(found), "")
    yield from (_pair_row("Figures (A, B, difference)", pair, pair.name) for pair in found.figures)
    for pair in found.by_cause:
        if pair.a or pair.b:
            name = part_title(pair.name)
            yield _pair_row("Time by cause (A, B, difference)", pair, name)
    yield from (_pair_row("Time by role (A, B, difference)", pair, pair.name) for pair in found.by_role)
    yield from _layer_rows(found.layers)
    yield from _setting_rows("Settings that differ (A, B)", map(setting_words, found.settings))
    yield from _setting_rows("Keys of the printer cards that differ (A, B)", found.card_keys)
    yield from (
        _pair_row("Claims (A, B, difference)", pair, CLAIM_NAMES.get(pair.name, pair.name))
        for pair in found.claims
    )


def _pair_row(group: str, pair: Pair, name: str) -> Row:
    text = f"{_value_text(pair.a, pair)}; {_value_text(pair.b, pair)}"
    if pair.more is not None:
        text += f"; {_more_text(pair.more, pair)}"
    return Row(group, name, pair.more, pair.unit, text, "")


def _value_text(value: float | None, pair: Pair) -> str:
    if value is None:
        return "none"
    if pair.unit == "s":
        return duration_text(value)
    if pair.name == "cost":
        return money_text(value, pair.unit).strip()
    if pair.name in _HEIGHTS:
        return f"{size_text(value)} mm"
    if pair.unit == "mm":
        return distance_text(value)
    if pair.unit in ("mm3", "cm3"):
        return f"{number_text(value / 1000.0 if pair.unit == 'mm3' else value)} cm³"
    return f"{number_text(value)} {pair.unit}".rstrip()


def _more_text(more: float, pair: Pair) -> str:
    if more == 0.0 or (pair.unit == "s" and abs(more) < NOTHING_S):
        return "the same"
    return f"{'+' if more > 0.0 else '-'} {_value_text(abs(more), pair)}"


def _layer_rows(pairs: LayerPairs) -> Iterator[Row]:
    group = "Layers, matched by height"
    text = f"{count_text(pairs.both)} in both, {count_text(pairs.only_a)} only in A, {count_text(pairs.only_b)} only in B"
    yield Row(group, "heights", pairs.both, "", text, "")
    apart = abs(pairs.more_s)
    for k in apart.argsort()[::-1][:MOST_NAMED].tolist():
        if apart[k] < WORTH_S:
            break
        name = f"at {number_text(float(pairs.height_mm[k]))} mm"
        seconds = (
            float(own[k]) if layer[k] else None
            for own, layer in ((pairs.seconds_a, pairs.layer_a), (pairs.seconds_b, pairs.layer_b))
        )
        yield _pair_row(group, Pair(name, "s", *seconds), name)


def setting_words(one: Setting) -> Setting:
    """Return a setting of comments with its name and values in words: ``accel_e_mm_s2`` as acceleration of E, mm/s²."""
    stem = _UNIT_END.sub("", one.name)
    unit = _UNITS.get(one.name.removeprefix(stem), "")
    words = [_WORDS.get(word, word) for word in stem.split("_")]
    if words[-1] in _AXES:
        words = [*words[:-1], *(["speed"] if words[0] == "top" else []), "of", words[-1].upper()]
    elif unit == "°C":
        words.append("temperature")
    a, b = (f"{value} {unit}".rstrip() if value else "" for value in (one.a, one.b))
    return Setting(_NAMES.get(one.name, " ".join(words)), a, b)


def _setting_rows(group: str, settings: Iterable[Setting]) -> Iterator[Row]:
    for one in settings:
        yield Row(group, one.name, None, "", f"{one.a or 'not stated'}; {one.b or 'not stated'}", "")
