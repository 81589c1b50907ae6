"""The kernel that gives each move its speed limit, its acceleration and its junction speed: the look-ahead's input."""

from __future__ import annotations

from typing import Final

import numpy as np

from viewer.jit import kernel
from viewer.timing.kernels.columns import Machine, Moves, Profile, Runs, distance_of, is_filament_alone
from viewer.timing.kernels.junctions import Segment, junction_squared, rest_squared
from viewer.timing.kernels.limits import Direction, acceleration_of, direction_of, speed_limit

NO_LIMIT: Final = 1e30
"""Square of a speed that nothing limits; float32 holds it."""


@kernel
def limit_moves(moves: Moves, machine: Machine, runs: Runs, profile: Profile) -> None:
    """Fill ``limit``, ``time`` (2 a d) and ``entry`` (squares of the highest junction speeds) of the profile.

    2 a d, mm2/s2, is by how much the square of the speed can change along a move. ``entry[i]`` belongs to the junction
    between move i and the one before it; where a run begins it is the square of the speed from rest, and
    ``runs.rest`` becomes that at its end. A move without a distance takes part in none: limit 0, nothing at its
    junction, and the next junction is with the move before it.
    """
    table, starts, rest = machine.table, runs.starts, runs.rest
    run = -1
    moving = False  # whether a move of this run with a distance came before
    before = Segment(Direction(0.0, 0.0, 0.0, 0.0), 0.0, 0.0, np.int64(0), np.bool_(False))
    x0 = y0 = z0 = 0.0
    for i in range(len(moves.kind)):
        if i == starts[run + 1]:
            if moving:
                rest[run] = rest_squared(table, before)
            run += 1
            rest[run] = 0.0
            moving = False
        x, y, z = float(moves.x_mm[i]), float(moves.y_mm[i]), float(moves.z_mm[i])
        dx, dy, dz = x - x0, y - y0, z - z0
        x0, y0, z0 = x, y, z
        kind, length, fed = moves.kind[i], float(moves.length_mm[i]), float(moves.fed_mm[i])
        d = distance_of(kind, length, fed)
        if d == 0.0:
            profile.limit[i], profile.time[i], profile.entry[i] = 0.0, 0.0, NO_LIMIT
            continue
        row = np.int64(machine.row_of[i])
        alone = np.bool_(is_filament_alone(kind))
        direction = direction_of(dx, dy, dz, length, fed, alone, before.direction)
        v = speed_limit(table, row, float(moves.speed_mm_s[i]), d, alone, direction)
        a = acceleration_of(table, row, kind, direction)
        now = Segment(direction, v, a, row, alone)
        squared = junction_squared(table, before, now) if moving else rest_squared(table, now)
        profile.limit[i], profile.time[i], profile.entry[i] = v, 2.0 * a * d, squared
        before = now
        moving = True
    if moving:
        rest[run] = rest_squared(table, before)
