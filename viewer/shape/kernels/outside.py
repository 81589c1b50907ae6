"""Kernel on all moves: which beads leave the printer's room."""

# mypy: allow-untyped-defs, allow-untyped-calls
from __future__ import annotations

import numpy as np

from viewer.jit import kernel

BEAD = 1  # as viewer.read.moves; a kernel's constants stand in its own family
PURGE = 8  # as viewer.layers.layers
LEFT, RIGHT, FRONT, BACK, ROUND, ABOVE, BELOW = 0, 1, 2, 3, 4, 5, 6
SIDES = 7


@kernel
def _beyond(side, x, y, z, room):
    """Return how far a point lies beyond one side, mm; negative inside.

    ``room``: left right front back cx cy r top.
    """
    if side == 0:
        return room[0] - x
    if side == 1:
        return x - room[1]
    if side == 2:
        return room[2] - y
    if side == 3:
        return y - room[3]
    if side == 4:
        return np.sqrt((x - room[4]) ** 2 + (y - room[5]) ** 2) - room[6]
    if side == 5:
        return z - room[7]
    return -z


@kernel
def _extend(box, row, x, y, z):
    """Extend a box to hold a point."""
    box[row, 0] = min(box[row, 0], x)
    box[row, 1] = max(box[row, 1], x)
    box[row, 2] = min(box[row, 2], y)
    box[row, 3] = max(box[row, 3], y)
    box[row, 4] = min(box[row, 4], z)
    box[row, 5] = max(box[row, 5], z)


@kernel
def find_outside(kind, role, x_mm, y_mm, z_mm, room, near_mm, first, worst, amount_mm, box):
    """Find beads whose centre line leaves the printer's room.

    ``room`` (8,): left, right, front, back, centre x and y, radius, top, mm; infinite where unknown. Rows of the
    outputs: 0 .. 6 the part's beads by side (left, right, front, back, round, above, below),
    7 .. 13 the purge's. ``first`` and ``worst`` (14,) are moves, -1: none; ``amount_mm`` (14,) is how far
    the worst lies beyond; ``box`` (14, 6) bounds what lies outside (inf, -inf at the beginning). Less than ``near_mm``
    counts as inside.

    A bead is cut where it crosses the side, so that the box holds only what is outside; for the round side
    and heights, which are not straight along the bead or hold for all of it, the end points count.
    """
    left, right, front, back, cx, cy, top = room[0], room[1], room[2], room[3], room[4], room[5], room[7]
    radius_2 = room[6] * room[6]
    x0 = y0 = z0 = 0.0
    was_inside = False
    for i in range(len(kind)):
        x1, y1, z1 = float(x_mm[i]), float(y_mm[i]), float(z_mm[i])
        away_2 = (x1 - cx) * (x1 - cx) + (y1 - cy) * (y1 - cy)
        is_inside = (
            (x1 >= left) & (x1 <= right) & (y1 >= front) & (y1 <= back) & (z1 >= 0.0) & (z1 <= top)
            & (away_2 <= radius_2)
        )  # fmt: skip
        if kind[i] == BEAD and not (was_inside and is_inside):
            group = SIDES if role[i] == PURGE else 0
            for side in range(SIDES):
                a, b = _beyond(side, x0, y0, z0, room), _beyond(side, x1, y1, z1, room)
                most = max(a, b)
                if most <= near_mm:
                    continue
                row = group + side
                if first[row] < 0:
                    first[row] = i
                if most > amount_mm[row]:
                    amount_mm[row] = most
                    worst[row] = i
                if a > 0.0:
                    _extend(box, row, x0, y0, z0)
                if b > 0.0:
                    _extend(box, row, x1, y1, z1)
                if side < ROUND and a * b < 0.0:
                    t = a / (a - b)
                    _extend(box, row, x0 + t * (x1 - x0), y0 + t * (y1 - y0), z0 + t * (z1 - z0))
        x0, y0, z0, was_inside = x1, y1, z1, is_inside
