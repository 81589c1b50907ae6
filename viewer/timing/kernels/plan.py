"""The loops over moves: speed limits, look-ahead, trapezoids, the ledger.

Distances in mm, speeds in mm/s, accelerations in mm/s2. The "distance" of a move is its path, or, where
there is none, the filament fed; its "speed" goes with it. Directions have four axes: X Y Z as a unit vector
along the chord, E as filament over distance (so +1 or -1 where filament moves alone).
"""

from __future__ import annotations

from typing import Final

import numpy as np

from viewer.arrays import F32, F64, I32, I64, U8
from viewer.jit import inner_kernel, kernel

# columns of the table that `plan.py` makes from `limits_for`
SLOW_X: Final = 0  # 1 / top speed of X; Y Z E follow, s/mm
LAZY_X: Final = 4  # 1 / top acceleration of X; Y Z E follow, s2/mm
SOFT_X: Final = 8  # 1 / jerk of X; Y Z E follow, s/mm
ACCEL_PRINT: Final = 12
ACCEL_TRAVEL: Final = 13
ACCEL_RETRACT: Final = 14
FACTOR: Final = 15
TOP_PATH: Final = 16
MIN_S: Final = 17
RULE: Final = 18  # 0 jerk, 1 deviation, 2 right angle
BEND: Final = 19  # deviation rule: delta, mm; right angle: v^2 (sqrt 2 - 1), mm2/s2
MACHINE_COLUMNS: Final = 20

# a cause is its position in ledger.CAUSES
LAYING: Final = 0
HELD_BACK: Final = 1
RAMPS: Final = 2
TRAVELLING: Final = 3
FILAMENT_ONLY: Final = 4
HEIGHT: Final = 5

BLOCK: Final = 1024
"""Moves between two entries of the running sum of time."""

# kinds of a move, as in viewer.read.moves: a kernel's constants live in its own file
_TRAVEL: Final = 0
_BEAD: Final = 1
_WIPE: Final = 2
_RETRACT: Final = 3
_PRIME: Final = 4
_PLACE: Final = 5

_NO_LIMIT: Final = 1e30
"""Square of a speed that nothing limits; float32 holds it."""
_UNSTATED: Final = 1e9
"""Speed that stands for "none commanded"; finite, so that 0 times it is 0."""
_NOTHING: Final = 1e-9
"""Shortest distance planned, mm: a shorter one takes no time, and the motion goes through it."""


@kernel
def _distance(kind: int, length: float, filament: float) -> float:
    """Return the distance of a move in mm, 0 for one that takes no time."""
    if kind == _PLACE:
        return 0.0
    d = abs(filament) if kind == _RETRACT or kind == _PRIME else length
    return d if d > _NOTHING else 0.0


@inner_kernel
def _worst(machine: F64, row: int, first: int, x: float, y: float, z: float, e: float) -> float:
    """Return how much a direction asks of the axis that it asks most of: its part over the axis's limit."""
    sideways = max(abs(x) * machine[row, first], abs(y) * machine[row, first + 1])
    return float(max(sideways, max(abs(z) * machine[row, first + 2], abs(e) * machine[row, first + 3])))


@inner_kernel
def _at_most(value: float, worst: float) -> float:
    """Cut a value along the path so that the axis asked most keeps its limit."""
    return 1.0 / worst if value * worst > 1.0 else value


@inner_kernel
def _start_squared(machine: F64, row: int, x: float, y: float, z: float, e: float, limit: float) -> float:
    """Return the square of the speed at which a move may start from rest, or end at rest.

    Jerk rule: the highest at which no axis changes its speed by more than its jerk; the other rules: 0.
    """
    if machine[row, RULE] != 0.0:
        return 0.0
    v = _at_most(limit, _worst(machine, row, SOFT_X, x, y, z, e))
    return v * v


@inner_kernel
def _bend_squared(bend: float, cosine: float, squared: float) -> float:
    """Cut the square of a speed by the centripetal limit ``bend`` s / (1 - s) at a corner.

    ``cosine`` is that of the turn; the angle inside the corner is what is left to 180 degrees.
    """
    s = np.sqrt(max(0.0, 0.5 * (1.0 + cosine)))
    rounder = 0.5 * (1.0 - cosine)  # (1 - s) (1 + s): no digits lost where it is nearly straight
    allowed = bend * s * (1.0 + s)
    return allowed / rounder if squared * rounder > allowed else squared


@inner_kernel
def _commanded(machine: F64, row: int, speed: float, d: float, alone: bool) -> float:
    """Return the commanded speed times M220, cut by the path's top speed and the least segment time."""
    v = float(speed * machine[row, FACTOR])
    if v <= 0.0:
        v = _UNSTATED
    if d < v * machine[row, MIN_S]:
        v = d / machine[row, MIN_S]
    return v if alone else min(v, machine[row, TOP_PATH])


@inner_kernel
def _acceleration(machine: F64, row: int, kind: int) -> float:
    """Return the acceleration of a kind of move; a wipe moves filament and counts as printing."""
    if kind == _TRAVEL:
        return float(machine[row, ACCEL_TRAVEL])
    if kind == _RETRACT or kind == _PRIME:
        return float(machine[row, ACCEL_RETRACT])
    return float(machine[row, ACCEL_PRINT])


@kernel
def limit_moves(
    x_mm: F32,
    y_mm: F32,
    z_mm: F32,
    length_mm: F32,
    fed_mm: F32,
    speed_mm_s: F32,
    kind: U8,
    row_of: I32,
    machine: F64,
    starts: I64,
    limit: F32,
    gain: F32,
    corner: F32,
    rest: F64,
) -> None:
    r"""Return each move its speed limit, its acceleration and the highest speed at the corner before it.

    ``limit``: commanded speed times the M220 factor, cut so that no axis exceeds its own top speed
    (v <= top / \|component\|), by the path's top speed, and to distance / least segment time. Where no
    speed is commanded (0) the machine's limits alone hold. ``gain`` = 2 a d, mm2/s2: by how much the square
    of the speed can change along the move. ``corner``: square of the highest speed at the corner between
    this move and the one before. The corner's values are those that hold during the later move.

    Rules, with u the directions before and after and v the common speed:

    * jerk: \|v (u_after - u_before)\| <= jerk on each of the four axes;
    * deviation: v^2 = a delta s / (1 - s), s = sin(theta / 2), theta the angle *inside* the corner in X Y Z
      (180 degrees: straight on), a the smaller of the two accelerations. It is the centripetal limit
      v^2 = a r of the circle that touches both moves and passes the corner at the distance delta:
      (r + delta) s = r. Filament alone next to a path, or against itself: a stop;
    * right angle: the same with a delta = v90^2 (sqrt 2 - 1), so that a 90 degree corner is taken at v90.

    ``starts`` are the first moves of the runs between full stops (the first is 0, a last entry n ends it);
    ``rest[k]`` is the square of the speed at which run k may end: see `_start_squared`.
    """
    run = -1
    moving = False
    px = py = pz = pe = 0.0  # direction before the corner
    before_alone = False
    before_limit = before_accel = 0.0
    before_row = 0
    x0 = y0 = z0 = 0.0
    for i in range(len(kind)):
        if i == starts[run + 1]:
            if moving:
                rest[run] = _start_squared(machine, before_row, px, py, pz, pe, before_limit)
            run += 1
            rest[run] = 0.0
            moving = False
        x, y, z = float(x_mm[i]), float(y_mm[i]), float(z_mm[i])
        dx, dy, dz = x - x0, y - y0, z - z0
        x0, y0, z0 = x, y, z
        k = kind[i]
        length, filament = float(length_mm[i]), float(fed_mm[i])
        d = _distance(k, length, filament)
        if d == 0.0:
            limit[i], gain[i], corner[i] = 0.0, 0.0, _NO_LIMIT
            continue
        r = row_of[i]
        alone = k == _RETRACT or k == _PRIME
        chord = dx * dx + dy * dy + dz * dz
        if alone:
            dx, dy, dz, de = 0.0, 0.0, 0.0, (1.0 if filament > 0.0 else -1.0)
        else:
            de = filament / length
            if chord > 0.0:
                scale = 1.0 / np.sqrt(chord)
                dx, dy, dz = dx * scale, dy * scale, dz * scale
            else:  # shorter than the stored digits: straight on
                dx, dy, dz = px, py, pz
        v = _at_most(
            _commanded(machine, r, float(speed_mm_s[i]), d, alone), _worst(machine, r, SLOW_X, dx, dy, dz, de)
        )
        a = _at_most(_acceleration(machine, r, k), _worst(machine, r, LAZY_X, dx, dy, dz, de))
        if not moving:
            squared = _start_squared(machine, r, dx, dy, dz, de, v)
        else:
            top = min(v, before_limit)
            squared = top * top
            if machine[r, RULE] == 0.0:
                top = _at_most(top, _worst(machine, r, SOFT_X, dx - px, dy - py, dz - pz, de - pe))
                squared = top * top
            elif alone or before_alone:
                if alone != before_alone or de != pe:
                    squared = 0.0
            else:
                bend = machine[r, BEND] * (min(a, before_accel) if machine[r, RULE] == 1.0 else 1.0)
                squared = _bend_squared(bend, dx * px + dy * py + dz * pz, squared)
        limit[i], gain[i], corner[i] = v, 2.0 * a * d, squared
        px, py, pz, pe = dx, dy, dz, de
        before_alone, before_limit, before_accel, before_row = alone, v, a, r
        moving = True
    if moving:
        rest[run] = _start_squared(machine, before_row, px, py, pz, pe, before_limit)


@kernel
def look_ahead(gain: F32, corner: F32, starts: I64, rest: F64, depth: int) -> None:
    r"""Lower each corner's speed to one from which the moves ahead can be met by braking; in place.

    With S the running sum of 2 a d and J the squares in ``corner``, the square of the speed at which move i
    is entered is at most J_i, J_j + S_j - S_i for every corner j of the next ``depth`` moves, and, where
    the run goes on beyond them, S_{i+depth} - S_i: what the controller does not see yet may be a stop.
    ``depth`` 0 sees all of the run. The sum starts again at each full stop, so it keeps its digits.

    The minimum over a sliding window is kept in a queue of growing keys, which each corner enters and
    leaves once: O(n). Moves without a distance count as moves.
    """
    ring = 4
    for run in range(len(rest)):
        while ring < min(depth, starts[run + 1] - starts[run]) + 2:
            ring *= 2
    mask = ring - 1  # a power of two: "& mask" wraps round without a division
    key = np.empty(ring)  # J_j + S_j, up to a constant; grows from front to back
    place = np.empty(ring, np.int64)  # j of that key
    ahead = np.empty(ring)  # 2 a d from corner j to the end of the run, at j & mask
    for run in range(len(rest)):
        first, end = starts[run], starts[run + 1]
        if depth == 0 or depth >= end - first:
            bound = rest[run]
            for i in range(end - 1, first - 1, -1):
                bound = min(float(corner[i]), bound + float(gain[i]))
                corner[i] = bound
            continue
        front, count = 0, 0
        left = 0.0
        ahead[end & mask] = 0.0
        later = rest[run]
        for i in range(end - 1, first - 1, -1):
            new = later - left  # the corner i + 1 comes into sight
            while count > 0 and key[(front + count - 1) & mask] >= new:
                count -= 1
            key[(front + count) & mask], place[(front + count) & mask] = new, i + 1
            count += 1
            if place[front] > i + depth:
                front = (front + 1) & mask
                count -= 1
            left += float(gain[i])
            ahead[i & mask] = left
            later = float(corner[i])
            bound = min(later, key[front] + left)
            if i + depth < end:
                bound = min(bound, left - ahead[(i + depth) & mask])
            corner[i] = max(bound, 0.0)


@kernel
def run_moves(
    length_mm: F32,
    fed_mm: F32,
    kind: U8,
    starts: I64,
    rest: F64,
    limit: F32,
    time: F32,
    entry: F32,
    peak: F32,
    block_s: F64,
) -> float:
    """Run all moves as trapezoids; give the whole time in seconds.

    On the way in ``time`` holds 2 a d and ``entry`` the squares that `look_ahead` left; on the way out they
    hold seconds and the speed at the start. The speed at the end is the next corner's or what the
    acceleration reaches: v1^2 <= v0^2 + 2 a d. The highest speed is p^2 = min(limit^2, (v0^2 + v1^2) / 2 +
    a d); the time (2 p - v0 - v1) / a for speeding up and braking, and what is left of d at p.
    ``block_s[k]`` becomes the time before move k * BLOCK. Moves without a distance get 0 in all columns.
    """
    total = 0.0
    for run in range(len(rest)):
        first, end = starts[run], starts[run + 1]
        square0 = float(entry[first])
        v0 = np.sqrt(square0)
        for i in range(first, end):
            if i % BLOCK == 0:
                block_s[i // BLOCK] = total
            d = _distance(kind[i], float(length_mm[i]), float(fed_mm[i]))
            change = float(time[i])
            square1 = min(float(entry[i + 1]) if i + 1 < end else rest[run], square0 + change)
            v1 = np.sqrt(square1)
            if d == 0.0:
                time[i], entry[i], peak[i] = 0.0, 0.0, 0.0
                square0, v0 = square1, v1
                continue
            top = float(limit[i])
            squares = square0 + square1
            square = min(top * top, 0.5 * (squares + change))
            square = max(square, square0, square1)  # float32 rounds the corners up, too
            highest = np.sqrt(square)
            seconds = (2.0 * highest - v0 - v1) * (2.0 * d / change)
            cruise = d * (1.0 - (2.0 * square - squares) / change)
            if cruise > 0.0:
                seconds += cruise / highest
            time[i], entry[i], peak[i] = seconds, v0, highest
            total += float(time[i])  # as stored, so that sums over the column agree
            square0, v0 = square1, v1
    return total


@kernel
def time_before(time: F32, block_s: F64, marks: I64, out: F64) -> None:
    """Return the time of all moves before each mark (0 .. n) in seconds, waits left out."""
    n = len(time)
    for k in range(len(marks)):
        mark = min(max(marks[k], 0), n)
        block = min(mark // BLOCK, max(len(block_s) - 1, 0))
        total = block_s[block] if len(block_s) > 0 else 0.0
        for i in range(block * BLOCK, mark):
            total += float(time[i])
        out[k] = total


@kernel
def book_moves(
    x_mm: F32,
    y_mm: F32,
    z_mm: F32,
    length_mm: F32,
    speed_mm_s: F32,
    kind: U8,
    row_of: I32,
    factor: F64,
    role: U8,
    first_move: I32,
    limit: F32,
    time: F32,
    by_layer: F64,
    by_role: F64,
) -> None:
    """Book the time of every move to its cause, adding to ``by_layer`` and ``by_role``.

    A bead's time is d / commanded speed laying, d / limit less that held back, and what is left speeding up
    and braking; rounding never makes a part negative, and the parts add up to the time. ``role`` of length
    0: all in row 0.
    """
    layer = 0
    x0, y0, z0 = np.float32(0.0), np.float32(0.0), np.float32(0.0)
    for i in range(len(kind)):
        while layer < len(first_move) and i >= first_move[layer]:
            layer += 1
        x, y, z = x_mm[i], y_mm[i], z_mm[i]
        level = x == x0 and y == y0 and z != z0
        x0, y0, z0 = x, y, z
        seconds = float(time[i])
        if seconds == 0.0:
            continue
        part = role[i] if len(role) > 0 else np.uint8(0)
        k = kind[i]
        if k != _BEAD or level:
            cause = FILAMENT_ONLY if k == _RETRACT or k == _PRIME else HEIGHT if level else TRAVELLING
            by_layer[layer, cause] += seconds
            by_role[part, cause] += seconds
            continue
        d = float(length_mm[i])
        at_limit = min(d / float(limit[i]), seconds)
        commanded = float(speed_mm_s[i]) * factor[row_of[i]]
        laying = min(d / commanded, at_limit) if commanded > 0.0 else at_limit
        held, ramps = at_limit - laying, seconds - at_limit
        by_layer[layer, LAYING] += laying
        by_layer[layer, HELD_BACK] += held
        by_layer[layer, RAMPS] += ramps
        by_role[part, LAYING] += laying
        by_role[part, HELD_BACK] += held
        by_role[part, RAMPS] += ramps


@kernel
def nominal_time(length_mm: F32, fed_mm: F32, speed_mm_s: F32, kind: U8) -> float:
    """Return the sum of distance over commanded speed in seconds; moves without a speed count 0."""
    total = 0.0
    for i in range(len(kind)):
        v = float(speed_mm_s[i])
        if v > 0.0:
            total += _distance(kind[i], float(length_mm[i]), float(fed_mm[i])) / v
    return total
