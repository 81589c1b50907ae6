"""Which moment of a layer is on show, and which line runs then, in words; no Qt."""

from __future__ import annotations

from typing import Final

import numpy as np

from viewer.program import Program
from viewer.shown.numbers import count_text, duration_text
from viewer.shown.window.model.view_state import ViewState
from viewer.timing import CAUSES

_WAITING: Final = {"pauses": "pause", "tool changes": "tool change"}


def moment_texts(state: ViewState) -> tuple[str, ...]:
    """Say which moment is shown and which line runs then; shorter and shorter."""
    if state.timed is None or not state.layers:
        return ("no layer",)
    whole = duration_text(state.layer_seconds)
    if state.moment_s is None:
        return (f"all of the layer, {whole}", whole)
    passed = duration_text(state.moment_s)
    line, cause = running_at(state.timed, state.layer, state.moment_s)
    what = f"{_WAITING.get(cause, cause)}, line {count_text(line)}" if cause else f"line {count_text(line)}"
    return (f"{passed} of {whole}, {what}", f"{passed}, {what}", f"{passed} of {whole}", passed)


def running_at(program: Program, layer: int, moment_s: float) -> tuple[int, str]:
    """Return the line that runs at a moment of a layer, and what it waits for ("" while it moves).

    Parameters
    ----------
    layer
        From 1.
    moment_s
        Seconds since the layer's beginning.
    """
    timing = program.timing
    elapsed_s = float(timing.moments.layer_start_s[layer - 1]) + moment_s
    waits = timing.waits
    # of waits that begin at the same moment, those that take no time come first
    row = int(np.searchsorted(waits.start_s, elapsed_s, side="right")) - 1
    if row >= 0 and elapsed_s < waits.start_s[row] + waits.seconds[row]:
        return int(program.events.line[waits.event[row]]), CAUSES[int(waits.cause[row])]
    move = timing.progress.move_at_time(elapsed_s)
    first, last = int(program.layers.first_move[layer - 1]), int(program.layers.first_move[layer]) - 1
    return int(program.moves.line[min(max(move, first), last)]), ""
