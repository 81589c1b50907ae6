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
    beads = np.flatnonzero(moves.kind[own] == BEAD)
    if len(beads) < 2:
        return ()
    # each bead but the last, and what follows it
    between = slice(own.start + int(beads[0]), own.start + int(beads[-1]))
    begins, kind = beads[:-1] - beads[0], moves.kind[between]
    travel = np.where(kind == TRAVEL, moves.length_mm[between], 0.0).astype(np.float64)
    back = np.where(np.isin(kind, (RETRACT, WIPE)), moves.fed_mm[between], 0.0).astype(np.float64)
    length, pulled = np.add.reduceat(travel, begins), -np.add.reduceat(back, begins)
    longest = np.repeat(np.maximum.reduceat(travel, begins), np.diff(beads))
    way = np.repeat(np.arange(len(begins)), np.diff(beads))
    rows = np.flatnonzero((travel == longest) & (travel > 0.0))
    found, at = np.unique(way[rows], return_index=True)
    first, pulled = between.start + begins[found] + 1, np.maximum(pulled[found], 0.0)
    columns = (first, between.start + rows[at], length[found], pulled)
    return tuple(Way(*way) for way in zip(*(column.tolist() for column in columns), strict=True))
