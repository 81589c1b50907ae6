"""What the nozzle has just done with the filament while a layer is played: pulled it back, or fed it again; no Qt."""

from __future__ import annotations

from dataclasses import dataclass
from time import monotonic
from typing import Final

import numpy as np

from viewer.program import Program
from viewer.read.moves import KIND_NAMES, PRIME, RETRACT
from viewer.shown.numbers import size_text
from viewer.shown.pictures.scene import Point
from viewer.shown.window.model.view_state import ViewState

HELD_S: Final = 0.9
"""So long an event stays on show, by the clock on the wall: at real pace it lasts some hundredths of a second."""
FASTEST: Final = 10.0
"""At faster paces events would follow each other faster than they can be read."""


@dataclass(frozen=True, slots=True)
class NozzleEvent:
    """One retract or prime."""

    kind: str
    """``retract`` or ``prime``: also the name of its colour."""
    text: str
    at: Point


def event_between(program: Program, first: int, last: int) -> NozzleEvent | None:
    """Return the last retract or prime among the moves `first` to `last`, both included; None: none is there."""
    kinds = program.moves.kind[max(first, 0) : last + 1]
    found = np.flatnonzero((kinds == RETRACT) | (kinds == PRIME))
    if not len(found):
        return None
    move = max(first, 0) + int(found[-1])
    kind = KIND_NAMES[int(program.moves.kind[move])]
    fed = size_text(abs(float(program.moves.fed_mm[move])))
    what = "pulled back" if kind == "retract" else "fed again"
    at = (float(program.moves.x_mm[move]), float(program.moves.y_mm[move]))
    return NozzleEvent(kind, f"{kind}: {fed} mm {what}", at)


@dataclass(slots=True)
class EventWatch:
    """Follows a layer that is played, and says which event is on show."""

    event: NozzleEvent | None = None
    _since_s: float = 0.0
    _seen: tuple[int, int] | None = None
    """Layer and move up to which it has looked."""

    def follow(self, state: ViewState, move: int | None) -> NozzleEvent | None:
        """Return what happened in the moves since the last time, while it plays; a halt leaves it on show.

        Parameters
        ----------
        move
            The one that runs; None: no nozzle is drawn.
        """
        program, layer = state.program, state.layer
        before, self._seen = self._seen, None if move is None else (layer, move)
        if program is None or move is None or state.playing > FASTEST:
            self.event = None
        elif state.playing:
            self._play(program, layer, move, before)
        elif before != self._seen:
            self.event = None
        return self.event

    def _play(self, program: Program, layer: int, move: int, before: tuple[int, int] | None) -> None:
        first = before[1] + 1 if before is not None and before[0] == layer and before[1] <= move else move
        found = event_between(program, first, move)
        if found is not None:
            self.event, self._since_s = found, monotonic()
        elif monotonic() - self._since_s > HELD_S:
            self.event = None
