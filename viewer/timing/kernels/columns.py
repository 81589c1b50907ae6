"""The columns that the planner's kernels read and fill, their codes, and the distance of a move.

Distances in mm, speeds in mm/s, accelerations in mm/s2. The *distance* of a move is its path, or, where there is none,
the filament fed; its speed goes with it. A *run* is the moves between two full stops.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Final, NamedTuple

import numpy as np

from viewer.jit import inner_kernel

if TYPE_CHECKING:
    from viewer.arrays import F32, F64, I32, I64, U8

# kinds of a move, as in viewer.read.moves: kernels import nothing from outside their folder
TRAVEL: Final = 0
BEAD: Final = 1
WIPE: Final = 2
RETRACT: Final = 3
PRIME: Final = 4
PLACE: Final = 5

MIN_DISTANCE: Final = 1e-9
"""Shortest distance planned, mm: a shorter move takes no time, and the motion goes through it."""


class Moves(NamedTuple):
    """Columns of `viewer.read.moves.Moves`, read-only: (n,) each."""

    x_mm: F32
    y_mm: F32
    z_mm: F32
    length_mm: F32
    fed_mm: F32
    speed_mm_s: F32
    kind: U8


class Machine(NamedTuple):
    """The limits of the machine, one row a combination of settings, and which row holds when; read-only."""

    table: F64  # (rows, MACHINE_COLUMNS)
    row_of: I32  # (n,)


# columns of `Machine.table`; `viewer.timing.plan` makes it from `limits_for`. Reciprocals: a limit is kept or cut by
# one multiplication and a comparison; only a cut divides. What helper kernels get as an argument is typed: the
# compiler would make a helper of its own for every plain number
INVERSE_SPEED_X: Final = np.int64(0)  # 1 / top speed of X; Y Z E follow, s/mm
INVERSE_ACCEL_X: Final = np.int64(4)  # 1 / top acceleration of X; Y Z E follow, s2/mm
INVERSE_JERK_X: Final = np.int64(8)  # 1 / jerk of X; Y Z E follow, s/mm
ACCEL_PRINT: Final = 12
ACCEL_TRAVEL: Final = 13
ACCEL_RETRACT: Final = 14
SPEED_FACTOR: Final = 15  # M220
MAX_PATH: Final = 16  # top speed along the path
MIN_SEGMENT_S: Final = 17
RULE: Final = 18  # of junctions, see below
CENTRIPETAL: Final = 19  # junction deviation delta, mm; right angle: v^2 (sqrt 2 - 1), mm2/s2
MACHINE_COLUMNS: Final = 20

# rules of junctions, as in viewer.timing.limits
JERK: Final = 0.0
JUNCTION_DEVIATION: Final = 1.0
RIGHT_ANGLE: Final = 2.0


class Runs(NamedTuple):
    """The runs between full stops."""

    starts: I64  # (runs + 1,) first move of each run, read-only; the first is 0, the last entry n
    rest: F64  # (runs,) square of the speed at which a run may end, filled by `limit_moves`


class Profile(NamedTuple):
    """The speed profiles of all moves: (n,) each, filled step by step.

    ========  ===================================  ==========================  ====================
    column    after `limit_moves`                  after `look_ahead`          after `run_moves`
    ========  ===================================  ==========================  ====================
    limit     speed limit, mm/s                    as before                   as before
    time      2 a d, mm2/s2                        as before                   duration, s
    entry     (highest junction speed)^2           (junction speed)^2          entry speed, mm/s
    peak      nothing                              nothing                     highest speed, mm/s
    ========  ===================================  ==========================  ====================

    Columns are used twice because a long program has millions of moves.
    """

    limit: F32
    time: F32
    entry: F32
    peak: F32


@inner_kernel
def is_filament_alone(kind):
    """Whether a kind of move feeds filament without a path, so that it is planned on the E axis."""
    return kind == RETRACT or kind == PRIME


@inner_kernel
def distance_of(kind, length, fed):
    """Return the distance of a move, mm; 0.0 for one that takes no time: a place set, or less than `MIN_DISTANCE`."""
    if kind == PLACE:
        return 0.0
    d = abs(fed) if is_filament_alone(kind) else length
    return d if d > MIN_DISTANCE else 0.0
