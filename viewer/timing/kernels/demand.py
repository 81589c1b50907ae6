"""Kernels on timed beads: flow beyond what is melted, speed beyond what the axes reach, seconds in periods."""

# mypy: allow-untyped-defs, allow-untyped-calls
from __future__ import annotations

from viewer.jit import kernel

BEAD = 1  # as viewer.read.moves; a kernel's constants stand in its own family


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
