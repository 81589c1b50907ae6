"""Kernels of the checks that walk over all moves once: what lies outside, flows too fast, is held back."""

# mypy: allow-untyped-defs, allow-untyped-calls
from __future__ import annotations

import numpy as np

from viewer.jit import kernel

BEAD = 1  # as viewer.read.moves; a kernel's constants stand in its own file
PURGE = 8  # as viewer.layers.layers

LEFT, RIGHT, FRONT, BACK, ROUND, ABOVE, BELOW = 0, 1, 2, 3, 4, 5, 6
SIDES = 7
WIDTH_BIN_MM = 0.002
WIDTH_BINS = 4096


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
def _stretch(box, row, x, y, z):
    box[row, 0] = min(box[row, 0], x)
    box[row, 1] = max(box[row, 1], x)
    box[row, 2] = min(box[row, 2], y)
    box[row, 3] = max(box[row, 3], y)
    box[row, 4] = min(box[row, 4], z)
    box[row, 5] = max(box[row, 5], z)


@kernel
def find_outside(kind, role, x_mm, y_mm, z_mm, room, near_mm, first, worst, amount_mm, box):
    """Find beads whose centre line leaves the room of the printer.

    Rows of the outputs: 0 .. 6 the part's beads by side (left, right, front, back, round, above, below),
    7 .. 13 the purge's. ``first`` and ``worst`` (14,) are moves, -1: none; ``amount_mm`` (14,) is how far
    the worst lies beyond; ``box`` (14, 6) bounds what lies outside (inf, -inf at the beginning). A side
    that is not known has an infinite limit. Less than `near_mm` counts as inside.

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
                    _stretch(box, row, x0, y0, z0)
                if b > 0.0:
                    _stretch(box, row, x1, y1, z1)
                if side < ROUND and a * b < 0.0:
                    t = a / (a - b)
                    _stretch(box, row, x0 + t * (x1 - x0), y0 + t * (y1 - y0), z0 + t * (z1 - z0))
        x0, y0, z0, was_inside = x1, y1, z1, is_inside


@kernel
def find_flow(
    kind, fed_mm, length_mm, speed_mm_s, peak_mm_s, time_s, area_mm2, limit_mm3_s, least_s, places, sums
):
    """Find beads that need more than ``limit_mm3_s`` at the speed they reach: Q = (filament area / path) v.

    ``places`` (2,): first and worst move, -1: none; ``sums`` (4,): seconds of such beads, highest flow, their
    number, the highest flow that any would have at its commanded speed (M220 not applied). First, worst and
    highest are looked for among beads that take at least `least_s`: a bead of 0.1 mm with a prime in it has no
    flow worth the name.
    """
    for i in range(len(kind)):
        if kind[i] != BEAD or not length_mm[i] > 0.0:
            continue
        flow = fed_mm[i] * area_mm2 / length_mm[i] * peak_mm_s[i]
        if not flow > limit_mm3_s:
            continue
        sums[0] += time_s[i]
        sums[2] += 1.0
        if time_s[i] < least_s:
            continue
        sums[3] = max(sums[3], fed_mm[i] * area_mm2 / length_mm[i] * max(speed_mm_s[i], peak_mm_s[i]))
        if places[0] < 0:
            places[0] = i
        if flow > sums[1]:
            sums[1] = flow
            places[1] = i


@kernel
def find_held_back(
    kind, x_mm, y_mm, z_mm, length_mm, fed_mm, speed_mm_s, time_s, of_move, tops, places, sums
):
    """Find beads whose commanded speed the axes cannot reach.

    ``tops`` (settings rows, 6): top speed of X Y Z E, top speed along the path, factor of M220. The speed a
    bead may have is the least of top / |share of the axis in the path|. ``places`` (2,): first and worst move,
    -1: none; ``sums`` (4,): seconds of such beads, of all, the worst's commanded and possible speed.
    """
    x0 = y0 = z0 = 0.0
    worst = 1.0
    for i in range(len(kind)):
        x1, y1, z1 = float(x_mm[i]), float(y_mm[i]), float(z_mm[i])
        if kind[i] == BEAD and length_mm[i] > 0.0:
            sums[1] += time_s[i]
            row = of_move[i]
            wanted = speed_mm_s[i] * tops[row, 5]
            length = float(length_mm[i])
            most = tops[row, 4]
            for axis in range(4):
                way = abs(x1 - x0) if axis == 0 else abs(y1 - y0) if axis == 1 else abs(z1 - z0)
                if axis == 3:
                    way = abs(float(fed_mm[i]))
                if way * most > tops[row, axis] * length:
                    most = tops[row, axis] * length / way
            if wanted > 1.001 * most:
                sums[0] += time_s[i]
                if places[0] < 0:
                    places[0] = i
                if wanted / most > worst:
                    worst = wanted / most
                    places[1] = i
                    sums[2], sums[3] = wanted, most
        x0, y0, z0 = x1, y1, z1


@kernel
def sum_by_period(kind, time_s, bounds, seconds, first):
    """Sum the seconds of beads by period.

    ``bounds`` (periods, 2): first move and the one after the last; ``seconds`` (periods,); ``first`` (periods,)
    the first bead, -1: none.
    """
    for p in range(len(bounds)):
        for i in range(bounds[p, 0], bounds[p, 1]):
            if kind[i] == BEAD:
                seconds[p] += time_s[i]
                if first[p] < 0:
                    first[p] = i


@kernel
def spread_widths(kind, role, fed_mm, length_mm, first_move, thickness_mm, area_mm2, path_mm):
    """Add the path of the part's beads to bins of their width: ``path_mm`` (bins,).

    Oblong section: A = (w - t) t + pi t^2/4; a bead with less than pi t^2/4 is round. Hold-down and purge
    are left out.
    """
    layer = 0
    last = len(thickness_mm)
    begin = first_move[0]
    for i in range(begin, first_move[last]):
        while layer + 1 < last and i >= first_move[layer + 1]:
            layer += 1
        if kind[i] != BEAD or role[i] >= PURGE - 1 or not length_mm[i] > 0.0:
            continue
        t = thickness_mm[layer]
        area = fed_mm[i] * area_mm2 / length_mm[i]
        disc = 0.25 * np.pi * t * t
        width = (area - disc) / t + t if area >= disc else np.sqrt(4.0 * area / np.pi)
        path_mm[min(int(width / WIDTH_BIN_MM), WIDTH_BINS - 1)] += length_mm[i]
