"""The kernels that read roles from shape: chains and loops, a grid over them, nesting, spacing.

A *piece* is a closed loop or an open run of beads. Its points lie in ``px``, ``py`` from ``first[p]`` to ``last[p]``;
segment s runs from point s to s + 1, from a loop's last point to its first. ``row[s]`` is the move that ends in
point s. The arrays of a layer travel together as ``shape = (px, py, row, piece, first, last, area, path)``, where
``area`` is a loop's signed area (counter-clockwise > 0) and 0 of an open piece.
"""

# mypy: allow-untyped-defs, allow-untyped-calls
from __future__ import annotations

import numpy as np

from viewer.jit import kernel

BEAD = 1
PLACE = 5
UNLABELLED, OUTLINE, INNER, INFILL, SOLID = 0, 1, 2, 3, 4
HOLD, PURGE = 7, 8

APART = 0.05
"""A way without filament longer than this, mm, ends a chain."""
PART_BEADS = 200_000
"""A layer of more beads is looked at in parts of this size, each by itself, to keep memory within bounds."""
FIRST_LAYERS = 3
"""Hold-down is looked for in so many layers of an object; the next one shows where the part goes on."""
PROBES = 8
"""So many places of a loop or piece are looked at."""
WORK = 400
"""A layer's neighbour searches may look at so many segments a bead (beads piled on one place would take forever)."""
DENSE = 1.6
"""Beads nearer than this many widths touch: a solid; common practice, no source (about 60 % infill)."""


@kernel
def _end_of(s, piece, first, last, area):
    """Give the end point of segment s, -1 where none begins in s."""
    p = piece[s]
    if s < last[p]:
        return s + 1
    if area[p] != 0.0:
        return int(first[p])
    return -1


@kernel
def _loop_area(px, py, begin, end, swept, path, width):
    """Give the signed area that the points ``begin`` to ``end`` enclose, 0.0 where they are no loop.

    ``swept`` is twice the area swept about point ``begin`` or the one before it. A zigzag's two lines enclose an area,
    too: the loop must be closed to 0.3 widths, or the start lie ahead of the last bead, or the loop be
    a wide one closed to 1.5 widths.
    """
    area = 0.5 * swept
    gap_x = px[begin] - px[end]
    gap_y = py[begin] - py[end]
    gap = np.sqrt(gap_x * gap_x + gap_y * gap_y)
    thin = 2.0 * np.abs(area) / path
    if gap > 2.5 * width or np.abs(area) < width * width or not thin > 0.4 * width:
        return 0.0
    if gap <= 0.3 * width or (gap <= 1.5 * width and thin > 1.5 * width):
        return area
    step_x = px[end] - px[end - 1]
    step_y = py[end] - py[end - 1]
    step = np.sqrt(step_x * step_x + step_y * step_y)
    ahead = gap_x * step_x + gap_y * step_y > 0.0
    if ahead and np.abs(gap_x * step_y - gap_y * step_x) <= 0.4 * width * step:
        return area
    return 0.0


@kernel
def split_chains(kind, x, y, begin, end, width, shape, chain):
    """Cut the beads of moves ``begin`` to ``end`` into pieces; give points, pieces and the row reached.

    A chain is parted where it comes back to its first or second point (a bead may lead to a loop). Stops where the
    arrays are full; ``chain`` (pieces,) gets the number of each piece's chain.
    """
    px, py, row, piece, first, last, area, path = shape
    n, pieces, chains = 0, -1, -1
    away = np.inf
    open_piece = False
    way, lead, swept = 0.0, 0.0, 0.0
    i = begin
    while i < end and n + 2 < len(px):
        x0, y0 = 0.0, 0.0
        if i > 0:
            x0, y0 = float(x[i - 1]), float(y[i - 1])
        x1, y1 = float(x[i]), float(y[i])
        step = np.sqrt((x1 - x0) * (x1 - x0) + (y1 - y0) * (y1 - y0))
        i += 1
        if kind[i - 1] != BEAD or not np.isfinite(step):
            away += step if kind[i - 1] != PLACE and np.isfinite(step) else np.inf
            continue
        if step == 0.0:
            continue
        if away > APART or not open_piece:
            chains += 1 if away > APART else 0
            pieces += 1
            px[n], py[n], row[n], piece[n] = x0, y0, -1, pieces
            first[pieces], chain[pieces], area[pieces] = n, chains, 0.0
            n += 1
            way, lead, swept = 0.0, step, 0.0
            open_piece = True
        away = 0.0
        px[n], py[n], row[n], piece[n] = x1, y1, i - 1, pieces
        start = first[pieces]
        swept += (px[n - 1] - px[start]) * (y1 - py[start]) - (py[n - 1] - py[start]) * (x1 - px[start])
        way += step
        last[pieces], path[pieces] = n, way
        n += 1
        # the chain ends here when the next bead is away: only then a loop may close with a gap
        at = np.int64(0)
        near = 0.3 * width
        if n - start > 3 and way > 4.0 * width:
            if _next_is_away(kind, x, y, i, end):
                near = 2.5 * width
            if np.abs(x1 - px[start]) <= near and np.abs(y1 - py[start]) <= near:
                at = start + 1
            elif np.abs(x1 - px[start + 1]) <= near and np.abs(y1 - py[start + 1]) <= near:
                at = start + 2
        if at > 0:
            at -= 1
            turn = swept
            if at > start:
                turn += (x1 - px[start]) * (py[at] - py[start]) - (y1 - py[start]) * (px[at] - px[start])
                way -= lead
            found = _loop_area(px, py, at, n - 1, turn, way, width)
            if found != 0.0:
                if at > start:  # the first bead only led to the loop
                    last[pieces], path[pieces] = at, lead
                    pieces += 1
                    first[pieces], chain[pieces] = at, chains
                    piece[at:n] = pieces
                area[pieces], last[pieces], path[pieces] = found, n - 1, way
                open_piece = False
            elif at > start:
                way += lead
    return n, pieces + 1, i


@kernel
def _next_is_away(kind, x, y, i, end):
    """Tell whether the next bead from move i on begins elsewhere."""
    away = 0.0
    while i < end and kind[i] != BEAD:
        dx, dy = float(x[i]) - float(x[i - 1]), float(y[i]) - float(y[i - 1])
        away += np.sqrt(dx * dx + dy * dy)
        if not away <= APART or kind[i] == PLACE:
            return True
        i += 1
    return i >= end


@kernel
def build_grid(n, width, shape, grid):
    """List the segments of n points by the cells of a grid that they cross; time and memory go with n.

    ``grid = (frame, ends, listed)``: frame is x, y of a corner, cell, columns, rows; cell c owns
    ``listed[ends[c - 1]:ends[c]]``. Cells are as large as a mean segment and no more than the points.
    """
    px, py, row, piece, first, last, area, path = shape
    frame, ends, listed = grid
    x_lo, x_hi, y_lo, y_hi, total = px[0], px[0], py[0], py[0], 0.0
    for s in range(n):
        x_lo, x_hi = min(x_lo, px[s]), max(x_hi, px[s])
        y_lo, y_hi = min(y_lo, py[s]), max(y_hi, py[s])
        e = _end_of(s, piece, first, last, area)
        if e >= 0:
            total += np.abs(px[e] - px[s]) + np.abs(py[e] - py[s])
    wide, high = x_hi - x_lo, y_hi - y_lo
    cell = max(DENSE * width, total / n, np.sqrt(wide * high / n), (wide + high) / n)
    columns, rows = int(wide / cell) + 1, int(high / cell) + 1
    frame[0], frame[1], frame[2], frame[3], frame[4] = x_lo, y_lo, cell, columns, rows
    ends[: columns * rows] = 0
    for stage in range(2):
        for s in range(n):
            e = _end_of(s, piece, first, last, area)
            if e < 0:
                continue
            xa, ya = (px[s] - x_lo) / cell, (py[s] - y_lo) / cell
            xb, yb = (px[e] - x_lo) / cell, (py[e] - y_lo) / cell
            if ya > yb:
                xa, ya, xb, yb = xb, yb, xa, ya
            slope = (xb - xa) / (yb - ya) if yb > ya else 0.0
            for r in range(int(ya), int(yb) + 1):
                xr = xa + slope * (r - ya) if r > ya else xa
                xs = xa + slope * (r + 1 - ya) if r + 1 < yb else xb
                lo, hi = int(max(min(xr, xs), 0.0)), int(max(xr, xs))
                for c in range(r * columns + lo, r * columns + min(hi, columns - 1) + 1):
                    if stage == 1:
                        listed[ends[c]] = s
                    ends[c] += 1
        if stage == 0:
            before = 0
            for c in range(columns * rows):
                before, ends[c] = before + ends[c], before
    return columns * rows


@kernel
def first_hit(x, y, own, used, shape, grid, work):
    """Look from (x, y) to the left: give 2 p + 1 where loop p is met first and (x, y) lies inside, 2 p outside, -1 none.

    Only pieces with ``used`` count, and not ``own``. Which side is inside follows from the segment's direction.
    """
    px, py, row, piece, first, last, area, path = shape
    frame, ends, listed = grid
    columns, r = int(frame[3]), int(np.floor((y - frame[1]) / frame[2]))
    if r < 0 or r >= int(frame[4]) or x < frame[0]:
        return np.int64(-1)
    best, found = -np.inf, np.int64(-1)
    c = min(int((x - frame[0]) / frame[2]), columns - 1)
    while c >= 0 and best < frame[0] + (c + 1) * frame[2]:
        k = r * columns + c
        for place in range(ends[k - 1] if k > 0 else 0, ends[k]):
            s = listed[place]
            p = piece[s]
            if p == own or not used[p]:
                continue
            e = _end_of(s, piece, first, last, area)
            if (py[s] <= y) == (py[e] <= y):
                continue
            at = px[s] + (y - py[s]) / (py[e] - py[s]) * (px[e] - px[s])
            if at < x and at > best:
                best = at
                found = 2 * p + (1 if (py[e] < py[s]) == (area[p] > 0.0) else 0)
        work[0] -= ends[k] - (ends[k - 1] if k > 0 else 0) + 1
        c -= 1
    return found


@kernel
def neighbours(x, y, s0, radius, wanted, used, shape, grid, work):
    """Give which sides of segment s0 hold another segment within ``radius`` of (x, y): 1 left, 2 right, 3 both.

    ``s0`` < 0: give 4 where any segment of a used piece (``wanted`` < 0) or of the wanted piece lies there. With a
    segment, only those that run along it count (to 45 degrees).
    """
    px, py, row, piece, first, last, area, path = shape
    frame, ends, listed = grid
    columns, rows = int(frame[3]), int(frame[4])
    ux, uy = 0.0, 0.0
    if s0 >= 0:
        e0 = _end_of(s0, piece, first, last, area)
        ux, uy = px[e0] - px[s0], py[e0] - py[s0]
    c_lo = int(max((x - radius - frame[0]) / frame[2], 0.0))
    c_hi = int(min(max((x + radius - frame[0]) / frame[2], -1.0), columns - 1.0))
    r_lo = int(max((y - radius - frame[1]) / frame[2], 0.0))
    r_hi = int(min(max((y + radius - frame[1]) / frame[2], -1.0), rows - 1.0))
    sides = 0
    for r in range(r_lo, r_hi + 1):
        for k in range(r * columns + c_lo, r * columns + c_hi + 1):
            for place in range(ends[k - 1] if k > 0 else 0, ends[k]):
                s = listed[place]
                work[0] -= 1
                if s0 < 0 and (piece[s] != wanted if wanted >= 0 else not used[piece[s]]):
                    continue
                e = _end_of(s, piece, first, last, area)
                dx, dy = px[e] - px[s], py[e] - py[s]
                long = dx * dx + dy * dy
                if s0 >= 0 and 2.0 * (dx * ux + dy * uy) ** 2 < long * (ux * ux + uy * uy):
                    continue
                share = ((x - px[s]) * dx + (y - py[s]) * dy) / long if long > 0.0 else 0.0
                share = min(max(share, 0.0), 1.0)
                qx, qy = px[s] + share * dx - x, py[s] + share * dy - y
                if qx * qx + qy * qy > radius * radius or (s0 >= 0 and np.abs(s - s0) <= 1):
                    continue
                if s0 < 0:
                    return np.int64(4)
                sides |= 1 if ux * qy - uy * qx > 0.0 else 2
                if sides == 3:
                    return np.int64(3)
    return np.int64(sides)


@kernel
def find_parents(pieces, shape, grid, used, hit, parent, work):
    """Give each loop the smallest loop around it, -1 where none; ``used`` becomes 1 for loops.

    From the leftmost point to the left: the loop met first either holds this one or lies beside it, and then has the
    same parent. It begins further to the left, so that following these steps comes to an end.
    """
    px, py, row, piece, first, last, area, path = shape
    for p in range(pieces):
        used[p] = 1 if area[p] != 0.0 else 0
        parent[p] = -1
    for p in range(pieces):
        hit[p] = -1
        if area[p] == 0.0 or work[0] < 0:
            continue
        left = first[p]
        for s in range(first[p], last[p] + 1):
            if px[s] < px[left]:
                left = s
        hit[p] = first_hit(px[left], py[left], p, used, shape, grid, work)
    for p in range(pieces):
        q = p
        while hit[q] >= 0 and hit[q] % 2 == 0:
            q = hit[q] >> 1
        root = hit[q]
        q = p
        while hit[q] >= 0 and hit[q] % 2 == 0:  # the next that come this way need not go it again
            q, hit[q] = hit[q] >> 1, root
        parent[p] = root >> 1 if root >= 0 else -1
