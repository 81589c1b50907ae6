"""Two programs beside each other in lines of words; no Qt."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np

from viewer.numerals import count_text, counted_text, number_text
from viewer.shown.compare_rows import setting_words
from viewer.shown.numbers import duration_text, size_text
from viewer.shown.overrun_rows import part_title, signed_text
from viewer.timing import CAUSES
from viewer.why.areas import IN_A, IN_B, Areas
from viewer.why.compare import Comparison, LayerPairs, Setting

SHORT: Final = {"as commanded": "laying", "held back": "held back"}
"""Parts whose usual words leave no room for the times beside them: as the colours of the time ledger name them."""
SAME_S: Final = 0.05
"""Times that differ by less than this are said to be the same, s."""
WORTH_S: Final = 0.5
"""Layers whose times differ by less than this, in s, and whose filament differs by less than `WORTH_SHARE`, are not
listed."""
WORTH_SHARE: Final = 0.01
MOST_LAYERS: Final = 30
MOST_SETTINGS: Final = 40


@dataclass(frozen=True, slots=True)
class CauseLine:
    """The times of one cause in both programs."""

    title: str
    cause: str
    """Of the time ledger."""
    a_s: float
    b_s: float

    @property
    def times(self) -> str:
        """Both times: "A 4 min 2 s, B 6 min"."""
        return f"A {duration_text(self.a_s)}, B {duration_text(self.b_s)}"

    @property
    def more_s(self) -> float:
        """What B takes longer, s."""
        return self.b_s - self.a_s

    @property
    def more(self) -> str:
        """What B has more, with its sign."""
        return "the same" if abs(self.more_s) < SAME_S else signed_text(self.more_s)


@dataclass(frozen=True, slots=True)
class LayerLine:
    """One height at which both programs differ."""

    text: str
    layer_a: int
    """0: A has no layer of this height."""


def cause_lines(found: Comparison) -> tuple[CauseLine, ...]:
    """Return the causes that take time in one of the programs, in the ledger's order."""
    lines = []
    for pair in found.by_cause:
        if pair.a or pair.b:
            cause = "laying" if pair.name == "as commanded" else pair.name
            title = SHORT.get(pair.name) or part_title(pair.name)
            lines.append(CauseLine(title, cause if cause in CAUSES else "", pair.a or 0.0, pair.b or 0.0))
    return tuple(lines)


def layer_lines(pairs: LayerPairs) -> tuple[LayerLine, ...]:
    """Return the heights at which the programs differ, those that only one of them has among them, from below.

    Of more than `MOST_LAYERS` those are left out whose times differ least.
    """
    seconds = np.abs(pairs.more_s)
    drawn = np.maximum(pairs.drawn_a_mm, pairs.drawn_b_mm)
    apart = np.abs(pairs.more_mm) > WORTH_SHARE * drawn
    rows = np.flatnonzero((seconds >= WORTH_S) | apart | (pairs.layer_a == 0) | (pairs.layer_b == 0))
    kept = np.sort(rows[np.argsort(-seconds[rows], kind="stable")][:MOST_LAYERS])
    return tuple(_layer_line(pairs, int(row)) for row in kept)


def _layer_line(pairs: LayerPairs, row: int) -> LayerLine:
    a, b = int(pairs.layer_a[row]), int(pairs.layer_b[row])
    height = f"at {size_text(float(pairs.height_mm[row]))} mm"
    one, other = float(pairs.seconds_a[row]), float(pairs.seconds_b[row])
    if not a or not b:
        side, number, seconds = ("B", b, other) if not a else ("A", a, one)
        return LayerLine(f"{height}: only in {side}, layer {count_text(number)}, {duration_text(seconds)}", a)
    longer = float(pairs.more_s[row])
    more = signed_text(longer) if abs(longer) >= SAME_S else "same time"
    filament = float(pairs.more_mm[row])
    drawn = f", {filament:+.1f} mm of filament" if abs(filament) >= 0.05 else ""
    return LayerLine(f"{height}, layer {count_text(a)}: {more}{drawn}", a)


def left_out(pairs: LayerPairs, lines: int) -> str:
    """Return how the heights are matched: how many both have, and how many are listed."""
    if not pairs.both:
        return (
            f"No layer of A has the height of a layer of B: {counted_text(pairs.only_a, 'layer')} in A,"
            f" {count_text(pairs.only_b)} in B."
        )
    alone = f"{count_text(pairs.only_a)} only in A, {count_text(pairs.only_b)} only in B"
    text = f"{counted_text(pairs.both, 'height')} in both, {alone}"
    return f"{text}; the {count_text(lines)} that differ most" if lines == MOST_LAYERS else text


def setting_lines(found: Comparison) -> tuple[str, ...]:
    """Return what comments and printer cards state differently, a line each."""
    lines = [_setting(setting_words(one)) for one in found.settings]
    lines += [f"printer card, {_setting(one)}" for one in found.card_keys]
    more = len(lines) - MOST_SETTINGS
    return tuple(lines) if more <= 0 else (*lines[:MOST_SETTINGS], f"and {count_text(more)} more")


def _setting(one: Setting) -> str:
    name = one.name.replace("_", " ")
    return f"{name}: A {one.a or 'not stated'}, B {one.b or 'not stated'}"


def areas_text(areas: Areas | None, layer: int) -> str:
    """Return what only one of the programs lays at the height of the layer on show."""
    if areas is None or areas.layer != layer:
        return ""
    if not areas.layers_b:
        return f"Layer {count_text(layer)}: B has no layer of this height."
    if areas.alike:
        return f"Layer {count_text(layer)}: both lay filament at the same places."
    one, other, both = (f"{number_text(areas.mm2(bits))} mm²" for bits in (IN_A, IN_B, IN_A | IN_B))
    return f"Layer {count_text(layer)}: {one} only in A, {other} only in B (hatched), {both} in both."
