"""What the program sets while beads are laid (nozzle, plate, fan), and what is left on at its end."""

from __future__ import annotations

from itertools import pairwise

import numpy as np

from viewer.arrays import F64
from viewer.layers.layers import Layers
from viewer.read.moves import BEAD, Moves
from viewer.read.settings import Settings


def set_on_layers(layers: Layers, moves: Moves, settings: Settings, field: str) -> tuple[F64, F64]:
    """Return the values of a setting that hold for beads, sorted: on layer 1, and on all layers after it.

    Parameters
    ----------
    field
        One of `viewer.read.settings.FIELDS`.

    Returns
    -------
    tuple
        (n,) and (m,) different values each; those that were never set are left out.
    """
    if not len(layers):
        return np.empty(0), np.empty(0)
    bounds = (layers.first_move[0], layers.first_move[1], layers.first_move[-1])
    found = []
    for lo, hi in pairwise(bounds):
        rows = settings.of_move[lo:hi][moves.kind[lo:hi] == BEAD]
        used = np.flatnonzero(np.bincount(rows, minlength=len(settings.table)))
        values = np.unique(settings.column(field)[used])
        found.append(values[~np.isnan(values)])
    return found[0], found[1]
