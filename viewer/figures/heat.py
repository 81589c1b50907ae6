"""What the program sets while beads are laid (nozzle, plate, fan), and what is left on at its end."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from viewer.arrays import F64
from viewer.layers.layers import Layers
from viewer.read.machine_state import Heater, MachineState
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


@dataclass(frozen=True, slots=True)
class LastTarget:
    """The last target that a heater gets in a program."""

    line: int
    """Where it is written; the first of several that say the same behind the last bead."""
    after_beads: bool
    """It holds only after the last bead."""
    is_off: bool


def last_target(state: MachineState, moves: Moves, heater: Heater) -> LastTarget | None:
    """Return the last target of the plate, or of the nozzle that is hottest at the end; None where none is ever set."""
    beads = np.flatnonzero(moves.kind == BEAD)
    last_bead = int(beads[-1]) if len(beads) else -1
    last = state.lasting_targets(last_bead).of(heater)
    if not len(last):
        return None
    row = int(np.lexsort((last.line, last.target_c))[-1])
    after = not len(beads) or int(last.move[row]) > last_bead
    return LastTarget(int(last.line[row]), after, float(last.target_c[row]) <= 0.0)
