r"""The kernel that says what each move waits for: what cuts its speed, what limits its ramps, and at which end.

A move that takes T at a speed limit L over a distance d splits into d / commanded, d / L less that (held back), and the
rest, which is lost on ramps::

    speed  L ------------------
             .   _______   .        lost at an end: (peak - v)^2 / (2 a peak)
             . /|       |\ .        lost because the limit is not reached: d / peak - d / L
           v0 / |       | \ v1
             ----------------------> time

The loss at an end follows from the time of the ramp, (peak - v) / a, less the time that its way,
(peak^2 - v^2) / (2 a), takes at the peak.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Final, NamedTuple

import numpy as np

from viewer.jit import inner_kernel, kernel
from viewer.timing.kernels.columns import (
    ACCEL_PRINT,
    ACCEL_RETRACT,
    ACCEL_TRAVEL,
    BEAD,
    INVERSE_ACCEL_X,
    INVERSE_JERK_X,
    INVERSE_SPEED_X,
    JERK,
    MAX_PATH,
    MIN_SEGMENT_S,
    PRIME,
    RETRACT,
    RULE,
    SPEED_FACTOR,
    TRAVEL,
    Machine,
    Moves,
    distance_of,
    is_filament_alone,
)
from viewer.timing.kernels.junctions import Segment, junction_squared, rest_squared
from viewer.timing.kernels.limits import (
    UNSTATED_MM_S,
    Direction,
    acceleration_of,
    direction_of,
    largest_demand,
    speed_limit,
)

if TYPE_CHECKING:
    from viewer.arrays import F32, F64, I64, U8

# what sets a speed limit: positions in viewer.timing.limiters.LIMITERS, one higher; typed, as helper kernels get them
AS_COMMANDED: Final = np.int64(0)
AXIS_X: Final = np.int64(1)  # Y, Z and the filament drive follow
PATH: Final = np.int64(5)
SHORTEST: Final = np.int64(6)
# what limits an acceleration: positions in ACCELERATIONS
OF_PRINT: Final = np.int64(0)
OF_TRAVEL: Final = np.int64(1)
OF_RETRACT: Final = np.int64(2)
OF_AXIS_X: Final = np.int64(3)  # Y, Z and the filament drive follow
# what keeps a speed low at an end: positions in CORNERS
FULL_STOP: Final = np.int64(0)
JERK_X: Final = np.int64(1)  # Y, Z and the filament drive follow
ROUNDING: Final = np.int64(5)
BETWEEN: Final = np.int64(6)
NEIGHBOUR: Final = np.int64(7)
TOO_SHORT: Final = np.int64(8)

LOWERED: Final = 1e-5
"""A junction whose square is lower by this share than its rule allows was lowered by the look-ahead; entry speeds are
stored as float32, whose squares are exact to 1e-7."""


class Motion(NamedTuple):
    """Columns of the plan, read-only: (n,) each."""

    limit: F32
    time: F32
    entry: F32
    peak: F32


class Booked(NamedTuple):
    """Seconds by group of moves; what cuts each move's speed, and its speed at the end; changed."""

    commanded: F64  # (groups,)
    held: F64  # (groups, limiters)
    ramps: F64  # (groups, accelerations, corners)
    limiter: U8  # (n,) AS_COMMANDED ... SHORTEST
    leaving: F32  # (n,) speed at the end, mm/s


class Pending(NamedTuple):
    """The move whose end is not known yet."""

    there: bool
    i: int
    group: int
    accel_by: int
    entry_by: int
    commanded: float  # mm/s, 0: none
    d: float


@inner_kernel
def largest_axis(table, row, first, direction):
    """Return which axis (0 .. 3) has the largest component / limit; see `largest_demand`."""
    best, most = np.int64(0), abs(direction.x) * table[row, first]
    y = abs(direction.y) * table[row, first + 1]
    if y > most:
        best, most = np.int64(1), y
    z = abs(direction.z) * table[row, first + 2]
    if z > most:
        best, most = np.int64(2), z
    if abs(direction.e) * table[row, first + 3] > most:
        best = np.int64(3)
    return best


@inner_kernel
def speed_limited_by(table, row, speed, d, alone, direction):
    """Return what sets the speed limit of a move: the last of the cuts of `speed_limit` that lowers it."""
    v = float(speed * table[row, SPEED_FACTOR])
    by = AS_COMMANDED
    if v <= 0.0:
        v = UNSTATED_MM_S
    if d < v * table[row, MIN_SEGMENT_S]:
        v = d / table[row, MIN_SEGMENT_S]
        by = SHORTEST
    if not alone and table[row, MAX_PATH] < v:
        v = float(table[row, MAX_PATH])
        by = PATH
    if v * largest_demand(table, row, INVERSE_SPEED_X, direction) > 1.0:
        by = AXIS_X + largest_axis(table, row, INVERSE_SPEED_X, direction)
    return by


@inner_kernel
def acceleration_limited_by(table, row, kind, direction):
    """Return what limits the acceleration of a move: that of its kind, or that of an axis."""
    a, by = float(table[row, ACCEL_PRINT]), OF_PRINT
    if kind == TRAVEL:
        a, by = float(table[row, ACCEL_TRAVEL]), OF_TRAVEL
    elif kind == RETRACT or kind == PRIME:
        a, by = float(table[row, ACCEL_RETRACT]), OF_RETRACT
    if a * largest_demand(table, row, INVERSE_ACCEL_X, direction) > 1.0:
        by = OF_AXIS_X + largest_axis(table, row, INVERSE_ACCEL_X, direction)
    return by


@inner_kernel
def junction_limited_by(table, before, after, squared, v):
    """Return what keeps the speed v low at a junction whose rule allows the square ``squared``."""
    if v * v < squared * (1.0 - LOWERED):
        return TOO_SHORT
    top = min(after.limit, before.limit)
    if squared >= top * top:
        return NEIGHBOUR
    if table[after.row, RULE] == JERK:
        u, w = after.direction, before.direction
        change = Direction(u.x - w.x, u.y - w.y, u.z - w.z, u.e - w.e)
        return JERK_X + largest_axis(table, after.row, INVERSE_JERK_X, change)
    return BETWEEN if after.alone or before.alone else ROUNDING


@inner_kernel
def _book_ramps(motion, booked, move, exit_by, v1):
    """Split the time that a move loses on ramps between its two ends and "too short to reach the limit".

    The parts are scaled so that they add up to what the move takes beyond d / limit: the plan is stored as float32.
    """
    i, d = move.i, np.float64(move.d)  # to the compiler, float() of a float32 is one, too
    booked.leaving[i] = v1
    limit, seconds = np.float64(motion.limit[i]), np.float64(motion.time[i])
    at_limit = min(d / limit, seconds)
    at_commanded = min(d / move.commanded, at_limit) if move.commanded > 0.0 else at_limit
    booked.commanded[move.group] += at_commanded
    if booked.limiter[i] != AS_COMMANDED:
        booked.held[move.group, np.int64(booked.limiter[i]) - 1] += at_limit - at_commanded
    else:
        booked.commanded[move.group] += at_limit - at_commanded  # float32 rounds the limit
    lost = seconds - at_limit
    peak, v0 = np.float64(motion.peak[i]), np.float64(motion.entry[i])
    ramp = max(seconds - d / peak, 0.0)  # both ends together
    at_entry, at_exit = (peak - v0) ** 2, (peak - v1) ** 2
    short = max(d / peak - d / limit, 0.0)
    total = ramp + short
    both = at_entry + at_exit
    if total <= 0.0 or both <= 0.0:
        booked.ramps[move.group, move.accel_by, TOO_SHORT] += lost
        return
    share = lost / total
    booked.ramps[move.group, move.accel_by, move.entry_by] += ramp * share * at_entry / both
    booked.ramps[move.group, move.accel_by, exit_by] += ramp * share * at_exit / both
    booked.ramps[move.group, move.accel_by, TOO_SHORT] += short * share


@inner_kernel
def _speed_at_rest(table, motion, segment, move):
    """Return the speed at which the last move before a full stop ends: what the rule allows, as far as it is reached."""
    entry = np.float64(motion.entry[move.i])
    return np.sqrt(min(rest_squared(table, segment), entry * entry + 2.0 * segment.accel * move.d))


@inner_kernel
def _group_of(kind, upright):
    """Return the group of a move: bead, travel, filament alone, height; as the ledger books it."""
    if kind == BEAD and not upright:
        return np.int64(0)
    if is_filament_alone(kind):
        return np.int64(2)
    return np.int64(3) if upright else np.int64(1)


@kernel
def book_limiters(moves: Moves, machine: Machine, starts: I64, motion: Motion, booked: Booked) -> None:
    """Book the time of every move to what it waits for.

    Parameters
    ----------
    moves, machine
        As the plan was made from them.
    starts
        (runs + 1,) first move of each run between full stops, and n.
    motion
        The plan.
    booked
        Changed: seconds are added, ``limiter`` and ``leaving`` are filled.
    """
    table = machine.table
    nothing = Segment(Direction(0.0, 0.0, 0.0, 0.0), 0.0, 0.0, np.int64(0), np.bool_(False))
    before = nothing
    move = Pending(np.bool_(False), np.int64(0), np.int64(0), np.int64(0), np.int64(0), 0.0, 0.0)
    run = -1
    x0 = y0 = z0 = 0.0
    for i in range(len(moves.kind)):
        if i == starts[run + 1]:
            if move.there:
                _book_ramps(motion, booked, move, FULL_STOP, _speed_at_rest(table, motion, before, move))
            run += 1
            move = Pending(np.bool_(False), np.int64(0), np.int64(0), np.int64(0), np.int64(0), 0.0, 0.0)
        x, y, z = float(moves.x_mm[i]), float(moves.y_mm[i]), float(moves.z_mm[i])
        dx, dy, dz = x - x0, y - y0, z - z0
        x0, y0, z0 = x, y, z
        kind, length, fed = moves.kind[i], float(moves.length_mm[i]), float(moves.fed_mm[i])
        d = distance_of(kind, length, fed)
        if d == 0.0:
            continue
        row = np.int64(machine.row_of[i])
        alone = np.bool_(is_filament_alone(kind))
        direction = direction_of(dx, dy, dz, length, fed, alone, before.direction)
        speed = float(moves.speed_mm_s[i])
        v = speed_limit(table, row, speed, d, alone, direction)
        now = Segment(direction, v, acceleration_of(table, row, kind, direction), row, alone)
        entry_by = FULL_STOP
        if move.there:
            squared = junction_squared(table, before, now)
            entry_by = junction_limited_by(table, before, now, squared, np.float64(motion.entry[i]))
            _book_ramps(motion, booked, move, entry_by, np.float64(motion.entry[i]))
        booked.limiter[i] = np.uint8(speed_limited_by(table, row, speed, d, alone, direction))
        upright = dx == 0.0 and dy == 0.0 and dz != 0.0
        move = Pending(
            np.bool_(True), np.int64(i), _group_of(kind, upright),
            acceleration_limited_by(table, row, kind, direction),
            entry_by, speed * float(table[row, SPEED_FACTOR]), d,
        )  # fmt: skip
        before = now
    if move.there:
        _book_ramps(motion, booked, move, FULL_STOP, _speed_at_rest(table, motion, before, move))
