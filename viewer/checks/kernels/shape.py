"""Kernels on masks of two layers: what lies over air, which of it is held at both ends, what is thin.

A cell (i, j) covers x from left + j cell and y from front + i cell, as in `viewer.beads.draw`. Regions come as the
runs of `viewer.beads.regions`.
"""

# mypy: allow-untyped-defs, allow-untyped-calls
from __future__ import annotations

import numpy as np

from viewer.jit import kernel

SHELL, INFILL = 1, 2  # as viewer.checks.masks; a kernel's constants stand in its own file
JOIN_MM = 0.02
"""Beads whose ends are nearer than this follow one another: programs write two or three decimals."""
TURN_RAD = 0.5
"""A stretch that turns more than this (29 degrees) over air is no bridge."""
SHORT_MM = 0.05
"""The direction of a bead shorter than this is mostly rounding of the program's decimals."""
TINY = 1e-12
ALONG = 4.0
"""Bead widths: how far ahead and back of a thin place is looked."""
RIM = 3
"""Cells of infill at a hollow's rim that make it infill's: fewer may be a bead's end that pokes through the outline."""
AREA, SUM_X, SUM_Y, LOW_X, HIGH_X, LOW_Y, HIGH_Y, HELD = 0, 1, 2, 3, 4, 5, 6, 7
SPAN, SPANS, MIDDLE_X, MIDDLE_Y, COVERED = 0, 1, 2, 3, 4


@kernel
def count_bare(mask, bit, below):
    """Count the cells with ``bit`` in ``mask`` over cells where ``below`` has nothing."""
    rows, columns = mask.shape
    total = 0
    for i in range(rows):
        count = np.uint32(0)
        for j in range(columns):
            count += np.uint32((mask[i, j] & bit) != 0) & np.uint32(below[i, j] == 0)
        total += count
    return total


@kernel
def mark_bare(mask, bit, below, inner, air):
    """Set ``air`` to 1 where ``mask`` has ``bit`` and neither ``below`` nor ``inner`` has anything; count them."""
    rows, columns = mask.shape
    total = 0
    for i in range(rows):
        count = np.uint32(0)
        for j in range(columns):
            bare = np.uint8((mask[i, j] & bit) != 0) & np.uint8((below[i, j] | inner[i, j]) == 0)
            air[i, j] = bare
            count += np.uint32(bare)
        total += count
    return total


@kernel
def sum_runs(first, begin, end, label, mask, below, labels, sums):
    """Measure regions and write their numbers into ``labels`` (rows, columns), only where they lie.

    ``sums`` (regions, 8), 0 at the beginning: cells, sums of columns and rows, box (first and last column,
    row), and how many cells of ``mask`` over ``below`` touch the region, corners included.
    """
    rows, columns = mask.shape
    for k in range(len(sums)):
        sums[k, LOW_X] = columns
        sums[k, LOW_Y] = rows
    for i in range(rows):
        for run in range(first[i], first[i + 1]):
            b, e, k = begin[run], end[run], label[run]
            sums[k, AREA] += e - b
            sums[k, SUM_X] += 0.5 * (b + e - 1) * (e - b)
            sums[k, SUM_Y] += i * (e - b)
            sums[k, LOW_X] = min(sums[k, LOW_X], b)
            sums[k, HIGH_X] = max(sums[k, HIGH_X], e - 1)
            sums[k, LOW_Y] = min(sums[k, LOW_Y], i)
            sums[k, HIGH_Y] = max(sums[k, HIGH_Y], i)
            for j in range(b, e):
                labels[i, j] = k
            for near in range(max(i - 1, 0), min(i + 2, rows)):
                for j in range(max(b - 1, 0), min(e + 1, columns)):
                    if mask[near, j] != 0 and below[near, j] != 0:
                        sums[k, HELD] += 1.0


@kernel
def find_inner(first, begin, end, label, mask, least, facts, inner):
    """Set ``inner`` to 1 in the hollows of ``mask`` that infill divides: not set, closed in, with infill at the rim.

    The runs are those of the cells that are not set. A hole of the part has outline alone at its rim. A hollow of
    less than ``least`` cells counts too. ``facts`` (regions, 3) is room for: touches the grid's edge,
    cells of infill at the rim, cells.
    """
    rows, columns = mask.shape
    for i in range(rows):
        for run in range(first[i], first[i + 1]):
            b, e, k = begin[run], end[run], label[run]
            facts[k, 2] += e - b
            if i == 0 or i == rows - 1 or b == 0 or e == columns:
                facts[k, 0] = 1
                continue
            rim = int((mask[i, b - 1] & (SHELL | INFILL)) == INFILL)
            rim += int((mask[i, e] & (SHELL | INFILL)) == INFILL)
            for j in range(b, e):
                rim += int((mask[i - 1, j] & (SHELL | INFILL)) == INFILL)
                rim += int((mask[i + 1, j] & (SHELL | INFILL)) == INFILL)
            facts[k, 1] += rim
    for i in range(rows):
        for run in range(first[i], first[i + 1]):
            k = label[run]
            if facts[k, 0] == 0 and (facts[k, 1] >= RIM or facts[k, 2] < least):
                for j in range(begin[run], end[run]):
                    inner[i, j] = 1


@kernel
def nearest_cells(first, begin, end, label, sums, best, place):
    """Write to ``place`` (regions, 2) the column and row of each region's point on a row nearest to its centroid.

    ``best`` (regions,) is room, infinite at the beginning.
    """
    for i in range(len(first) - 1):
        for run in range(first[i], first[i + 1]):
            k = label[run]
            x = sums[k, SUM_X] / sums[k, AREA]
            y = sums[k, SUM_Y] / sums[k, AREA]
            j = min(max(x, float(begin[run])), end[run] - 1.0)
            away = (j - x) ** 2 + (i - y) ** 2
            if away < best[k]:
                best[k] = away
                place[k, 0] = j
                place[k, 1] = i


@kernel
def _to_edge(px, py, beads):
    """How far a point lies from the nearest footprint of ``beads`` (n, 5: x0, y0, x1, y1, width); negative inside."""
    nearest = np.inf
    for k in range(len(beads)):
        dx = beads[k, 2] - beads[k, 0]
        dy = beads[k, 3] - beads[k, 1]
        qx = px - beads[k, 0]
        qy = py - beads[k, 1]
        at = min(max((qx * dx + qy * dy) / max(dx * dx + dy * dy, TINY), 0.0), 1.0)
        away = np.sqrt((qx - at * dx) ** 2 + (qy - at * dy) ** 2)
        nearest = min(nearest, away - 0.5 * beads[k, 4])
    return nearest


@kernel
def find_reach(first, begin, end, label, stride, grid, lower, upper, reach):
    """Return in ``reach`` (regions,) the largest distance, mm, by which each region reaches over the beads below.

    Only every ``stride[k]``-th cell of region k is asked, beginning with its first; 0: none. ``grid`` is left,
    front and cell, mm. The distance is that of the footprints themselves, not of cells.
    """
    seen = np.zeros(len(stride), np.int64)
    for i in range(len(first) - 1):
        for run in range(first[i], first[i + 1]):
            k = label[run]
            if stride[k] == 0:
                continue
            for j in range(begin[run], end[run]):
                if seen[k] % stride[k] == 0:
                    x = grid[0] + (j + 0.5) * grid[2]
                    y = grid[1] + (i + 0.5) * grid[2]
                    reach[k] = max(reach[k], _to_edge(x, y, lower) - min(_to_edge(x, y, upper), 0.0))
                seen[k] += 1


@kernel
def find_spans(beads, chosen, below, reach, air, labels, grid, spans):
    """Follow beads that join and book where they cross air straight, held at both ends, in their region's row.

    A point is held over a cell of ``below``, which is drawn wider by ``reach`` mm: a bead whose side lies on a wall
    is held. On average the points found held lie half a step behind the edges.
    ``beads`` (n, 5); ``spans`` (regions, 5): longest, mm; sums of span^2, span^2 x, span^2 y, span width.
    """
    rows, columns = below.shape
    cell = grid[2]
    aloft = held_before = begun_held = False
    px = py = ux = uy = sx = sy = turned = 0.0
    region = -1
    for k in range(len(beads)):
        x0, y0, x1, y1 = beads[k, 0], beads[k, 1], beads[k, 2], beads[k, 3]
        length = np.sqrt((x1 - x0) ** 2 + (y1 - y0) ** 2)
        joined = k > 0 and chosen[k - 1] and abs(x0 - beads[k - 1, 2]) + abs(y0 - beads[k - 1, 3]) < JOIN_MM
        if not (chosen[k] and joined):
            aloft = held_before = False
            ux = uy = 0.0
        if not chosen[k] or length == 0.0:
            continue
        if length > SHORT_MM:
            vx, vy = (x1 - x0) / length, (y1 - y0) / length
            if aloft and ux * ux + uy * uy > 0.0:
                turned += abs(np.arctan2(ux * vy - uy * vx, ux * vx + uy * vy))
            ux, uy = vx, vy
        steps = max(int(np.ceil(length / cell)), 1)
        for s in range(steps):
            x = x0 + (s + 0.5) / steps * (x1 - x0)
            y = y0 + (s + 0.5) / steps * (y1 - y0)
            i = min(max(int((y - grid[1]) / cell), 0), rows - 1)
            j = min(max(int((x - grid[0]) / cell), 0), columns - 1)
            if below[i, j] != 0:
                if aloft and begun_held and turned < TURN_RAD and region >= 0:
                    span = max(np.sqrt((x - sx) ** 2 + (y - sy) ** 2) + 2.0 * reach - length / steps, 0.0)
                    if span > spans[region, SPAN]:
                        spans[region, SPAN] = span
                    spans[region, SPANS] += span * span
                    spans[region, MIDDLE_X] += 0.5 * span * span * (sx + x)
                    spans[region, MIDDLE_Y] += 0.5 * span * span * (sy + y)
                    spans[region, COVERED] += span * beads[k, 4]
                aloft = False
                held_before = True
            else:
                if not aloft:
                    aloft, begun_held, held_before = True, held_before, False
                    sx, sy = (px, py) if begun_held else (x, y)
                    turned, region = 0.0, -1
                if air[i, j] != 0:
                    region = labels[i, j]
            px, py = x, y


@kernel
def find_thin(beads, chosen, mask, inner, grid, step, limit, jump, found):
    """Measure across chosen beads, every ``step`` mm of their way, how thick the layer is there; give the number.

    From a point of the bead it goes on, a quarter of a cell at a time, until nothing is set: to the left and the right
    for the thickness, then ahead and back. ``found`` (room, 6) gets x, y, thickness, extent along the bead,
    bead width, bead where the thickness is below ``limit`` bead widths; what does not fit is left out. ``jump`` (bead
    widths) is the widest gap that is passed.
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
                    if (mask[i, j] & (SHELL | INFILL)) != 0 or inner[i, j] != 0:
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
    """Count the points (n,), taken one after another, that lie farther than ``near`` from all those counted before.

    ``order`` (n,) has their rows in order of x: only neighbours in it are looked at.
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
