"""The ways between the beads of a layer: how long each is, and whether filament is pulled back on it."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from viewer.layers.layers import Layers
from viewer.read.moves import BEAD, RETRACT, TRAVEL, WIPE, Moves


@dataclass(frozen=True, slots=True)
class Way:
    """From the end of one bead to the beginning of the next, in one layer."""

    first: int
    """Row of the first move after the bead."""
    travel: int
    """Row of the longest travel on it."""
    length_mm: float
    """Of all travel on it."""
    pulled_mm: float
    """Filament pulled back on it; 0: none."""


def ways_of_layer(moves: Moves, layers: Layers, number: int) -> tuple[Way, ...]:
    """Return the ways between the beads of layer ``number`` (from 1) on which the nozzle travels, in their order."""
    own = layers.moves_of(number)
    beads = own.start + np.flatnonzero(moves.kind[own] == BEAD)
    found = []
    for bead, following in zip(beads[:-1].tolist(), beads[1:].tolist(), strict=True):
        if following > bead + 1:
            way = _way(moves, bead + 1, following)
            found += [] if way is None else [way]
    return tuple(found)


def _way(moves: Moves, first: int, end: int) -> Way | None:
    """Return the way that the moves ``first`` to ``end`` (exclusive) make; None without travel."""
    kind = moves.kind[first:end]
    length = np.where(kind == TRAVEL, moves.length_mm[first:end], 0.0)
    if not length.any():
        return None
    back = np.isin(kind, (RETRACT, WIPE))
    pulled = -float(moves.fed_mm[first:end][back].sum(dtype=np.float64))
    return Way(first, first + int(np.argmax(length)), float(length.sum(dtype=np.float64)), max(pulled, 0.0))
