"""The line of the status bar: how long, how much, what it costs; no Qt."""

from __future__ import annotations

from datetime import datetime
from typing import TYPE_CHECKING

from viewer.shown.numbers import clock_text, distance_text, duration_text, money_text, number_text

if TYPE_CHECKING:  # the window is on screen before the engine is imported
    from viewer.figures.figures import Figures


def summary(figures: Figures, start: datetime | None = None) -> str:
    """Return time, filament and cost in a line; with a start, until when somebody must stay, and when it is done."""
    filament, time = figures.filament, figures.time
    words = [
        duration_text(time.total_s),
        f"{distance_text(filament.drawn_mm)} of filament",
        f"{number_text(filament.mass_g)} g",
    ]
    if filament.cost is not None:
        words.append(money_text(filament.cost, filament.currency))
    if start is not None and time.first_layer_done_s is not None:
        words.append(f"first layer done at {clock_text(start, time.first_layer_done_s)}")
    if start is not None:
        words.append(f"ends at {clock_text(start, time.total_s)}")
    return " · ".join(words)
