"""Kernels on the beads and the mask of a layer: how thick the part is across its loops."""

# mypy: allow-untyped-defs, allow-untyped-calls
from __future__ import annotations

import numpy as np

from viewer.jit import kernel
from viewer.shape.kernels.bits import INFILL, JOIN_MM, SHELL

ALONG = 4.0
"""Bead widths: how far ahead of and behind a thin place the mask is followed."""


@kernel
def find_thin(beads, chosen, mask, hollows, grid, step, limit, jump, found):
    """Measure the layer's thickness across the chosen beads, every ``step`` mm of path; return the number of thin points.

    From a point of the bead the mask is followed in steps of a quarter of a cell until nothing is set: to the left and
    the right for the thickness, then ahead and back for the extent. ``found`` (capacity, 6): x, y, thickness, extent
    along the bead, bead width, row of the bead, for points where the thickness is below ``limit`` bead widths; points
    beyond the capacity are left out. ``jump`` (bead widths) is the widest gap that is passed over.
    """
    rows, columns = mask.shape
    pace = 0.25 * grid[2]
    count = 0
    due = 0.5 * step
    for k in range(len(beads)):
        dx, dy, w = beads[k, 2] - beads[k, 0], beads[k, 3] - beads[k, 1], beads[k, 4]
        length = np.sqrt(dx * dx + dy * dy)
        if not (chosen[k] and length > 0.0):
            continue
        gap = abs(beads[k, 0] - beads[k - 1, 2]) + abs(beads[k, 1] - beads[k - 1, 3]) if k > 0 else JOIN_MM
        if gap >= JOIN_MM or not chosen[k - 1]:
            due = min(0.5 * step, 0.5 * length)  # a post may be a single short bead
        while due <= length and count < len(found):
            x, y = beads[k, 0] + due / length * dx, beads[k, 1] + due / length * dy
            across = along = 0.0
            for way in range(4):
                if way == 2 and across >= limit * w - pace:
                    break
                ux = (-dy, dy, dx, -dx)[way] / length
                uy = (dx, -dx, dy, -dy)[way] / length
                far = limit * w - across if way < 2 else ALONG * w
                last = 0.0
                for s in range(1, int(far / pace) + 1):
                    i = min(max(int((y + s * pace * uy - grid[1]) / grid[2]), 0), rows - 1)
                    j = min(max(int((x + s * pace * ux - grid[0]) / grid[2]), 0), columns - 1)
                    if (mask[i, j] & (SHELL | INFILL)) != 0 or hollows[i, j] != 0:
                        last = s * pace
                    elif s * pace - last > jump * w:
                        break
                if way < 2:
                    across += last
                else:
                    along += last
            if across < limit * w - pace:
                found[count, 0], found[count, 1], found[count, 2] = x, y, across
                found[count, 3], found[count, 4], found[count, 5] = along, w, k
                count += 1
            due += step
        due -= length
    return count


@kernel
def count_apart(x, y, order, near):
    """Return how many points (n,), taken in order, lie farther than ``near`` from all those counted before.

    ``order`` (n,) has their rows sorted by x, so that only neighbours are compared.
    """
    n = len(x)
    counted = np.zeros(n, np.bool_)
    place = np.empty(n, np.int64)
    for p in range(n):
        place[order[p]] = p
    for j in range(n):
        alone = True
        for step in range(-1, 2, 2):
            p = place[j] + step
            while alone and 0 <= p < n and abs(x[order[p]] - x[j]) <= near:
                i = order[p]
                if counted[i]:
                    alone = (x[i] - x[j]) ** 2 + (y[i] - y[j]) ** 2 > near * near
                p += step
        counted[j] = alone
    return counted.sum()
