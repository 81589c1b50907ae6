r"""What limits one move by itself: its direction, its speed limit and its acceleration.

A direction has four axes: X Y Z as a unit vector along the chord, E as filament over distance (so +1 or -1 where
filament moves alone). A speed v along the path moves axis k at v \|component k\|, so that an axis's own limit L holds
where v \|component\| / L <= 1: the axis with the largest component / L is the one that limits.
"""

from __future__ import annotations

from typing import Final, NamedTuple

import numpy as np

from viewer.jit import inner_kernel
from viewer.timing.kernels.columns import (
    ACCEL_PRINT,
    ACCEL_RETRACT,
    ACCEL_TRAVEL,
    INVERSE_ACCEL_X,
    INVERSE_SPEED_X,
    MAX_PATH,
    MIN_SEGMENT_S,
    PRIME,
    RETRACT,
    SPEED_FACTOR,
    TRAVEL,
)  # fmt: skip

UNSTATED_MM_S: Final = 1e9
"""Speed that stands for "none commanded"; finite, so that 0 times it is 0."""


class Direction(NamedTuple):
    """Components of a direction, or of the difference of two."""

    x: float
    y: float
    z: float
    e: float


@inner_kernel
def direction_of(dx, dy, dz, length, fed, alone, before):
    """Return the direction of a move from the difference of its ends, its path and the filament fed, all mm.

    ``alone``: filament without a path. A path whose ends are stored as one place has the direction X Y Z of the move
    before it (``before``): it goes straight on.
    """
    if alone:
        return Direction(0.0, 0.0, 0.0, 1.0 if fed > 0.0 else -1.0)
    e = np.float64(fed / length)  # the quotient of two float32, as they are stored
    chord = dx * dx + dy * dy + dz * dz
    if chord > 0.0:
        scale = 1.0 / np.sqrt(chord)
        return Direction(dx * scale, dy * scale, dz * scale, e)
    return Direction(before.x, before.y, before.z, e)


@inner_kernel
def largest_demand(table, row, first, direction):
    r"""Return the largest \|component\| / limit of the four axes, 1/mm/s and the like.

    ``first`` is the column of X in the machine's table of reciprocals: `INVERSE_SPEED_X` and the like.
    """
    sideways = max(abs(direction.x) * table[row, first], abs(direction.y) * table[row, first + 1])
    upright = max(abs(direction.z) * table[row, first + 2], abs(direction.e) * table[row, first + 3])
    return float(max(sideways, upright))


@inner_kernel
def cut_to(value, demand):
    """Cut a value along the path so that value x demand <= 1: no axis exceeds its limit."""
    return 1.0 / demand if value * demand > 1.0 else value


@inner_kernel
def speed_limit(table, row, speed, d, alone, direction):
    r"""Return the speed limit of a move, mm/s: the least of all that holds it back.

    ========================  =====================================================================
    commanded                 speed (F) x M220; where none is commanded (0) the machine alone limits
    shortest segment          d / least segment time, so that no move takes less than that time
    path                      top speed along the path; not for filament alone
    axis                      top speed / \|component\| of the axis with the largest demand
    ========================  =====================================================================
    """
    v = float(speed * table[row, SPEED_FACTOR])
    if v <= 0.0:
        v = UNSTATED_MM_S
    if d < v * table[row, MIN_SEGMENT_S]:
        v = d / table[row, MIN_SEGMENT_S]
    if not alone:
        v = min(v, table[row, MAX_PATH])
    return cut_to(v, largest_demand(table, row, INVERSE_SPEED_X, direction))


@inner_kernel
def acceleration_of(table, row, kind, direction):
    """Return the acceleration of a move, mm/s2: that of its kind, cut so that no axis exceeds its own.

    A wipe moves filament and counts as printing.
    """
    a = float(table[row, ACCEL_PRINT])
    if kind == TRAVEL:
        a = float(table[row, ACCEL_TRAVEL])
    elif kind == RETRACT or kind == PRIME:
        a = float(table[row, ACCEL_RETRACT])
    return cut_to(a, largest_demand(table, row, INVERSE_ACCEL_X, direction))
