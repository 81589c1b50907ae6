"""What the colours of the plot mean, in words; no Qt."""

from __future__ import annotations

import numpy as np

from viewer.shown.numbers import distance_text
from viewer.shown.pictures.bead_values import Span
from viewer.shown.pictures.scene import ColourKey, Swatch


def tick_texts(span: Span) -> tuple[str, ...]:
    """Return the text of each tick, with as many digits as tell them apart; ends say where there is more."""
    step = span.ticks[1] - span.ticks[0] if len(span.ticks) > 1 else max(abs(span.low), 1e-3) / 10.0
    digits = max(0, -int(np.floor(np.log10(step) + 1e-9)))
    texts = [f"{tick:.{digits}f}" for tick in span.ticks]
    if span.below:
        texts[0] = f"≤ {texts[0]}"
    if span.above:
        texts[-1] = f"≥ {texts[-1]}"
    return tuple(texts)


def swatch_text(swatch: Swatch) -> str:
    """Return a role and its length in the layer, or that it is hidden."""
    return f"{swatch.name} {'(hidden)' if swatch.hidden else distance_text(swatch.length_mm)}"


def key_text(key: ColourKey | None) -> str:
    """Return the key in words, for those who do not see it."""
    if key is None:
        return "nothing is drawn"
    if key.span is not None:
        texts = tick_texts(key.span)
        return f"{key.title}: {texts[0]} to {texts[-1]} {key.unit}"
    return f"{key.title}: " + ", ".join(map(swatch_text, key.swatches))
