"""The kernels that read roles from shape: chains and loops, a grid over them, nesting, spacing.

A *piece* is a closed loop or an open run of beads. Its points lie in ``px``, ``py`` from ``first[p]`` to ``last[p]``;
segment s runs from point s to s + 1, from a loop's last point to its first. ``row[s]`` is the move that ends in
point s. A layer's columns travel together, as every array handed on costs time to compile:

* ``shape = (real, whole)``: rows PX PY AREA PATH of ``real`` and ROW PIECE FIRST LAST of ``whole``; the area of a loop
  is signed (counter-clockwise > 0), 0.0 means an open piece;
* ``grid = (frame, ends, listed)``, see `build_grid`;
* ``notes = (reals, wholes, flags)``: what is found out about pieces and points.
"""

# mypy: allow-untyped-defs, allow-untyped-calls
from __future__ import annotations

import numpy as np

from viewer.jit import kernel

BEAD = 1
PLACE = 5
UNLABELLED, OUTLINE, INNER, INFILL, SOLID = 0, 1, 2, 3, 4
HOLD, PURGE = 7, 8

PX, PY, AREA, PATH = 0, 1, 2, 3
ROW, PIECE, FIRST, LAST = 0, 1, 2, 3
REST_AREA, REST_PATH, FILLED, SPACING = 0, 1, 2, 3
HIT, PARENT, CHAIN = 0, 1, 2
HELD, ALONG, BEYOND, DENSELY, AIR, ROLE = 0, 1, 2, 3, 4, 5

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


LONG = 2.0
"""Beads of so many widths are lines, shorter ones the connectors between."""
FARTHEST = 25.0
"""Lines farther apart, in widths, are no fill: 4 % infill."""
HOLLOW = 1.3
"""Wider gaps within a loop, in widths, are air where no fill is."""


@kernel
def _end_of(s, shape):
    """Give the end point of segment s, -1 where none begins in s."""
    real, whole = shape
    p = whole[PIECE, s]
    if s < whole[LAST, p]:
        return s + 1
    if real[AREA, p] != 0.0:
        return np.int64(whole[FIRST, p])
    return np.int64(-1)


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
    if gap <= 0.3 * width or (gap <= 1.5 * width and thin > 1.5 * width) or thin > 4.0 * width:
        return area
    step_x = px[end] - px[end - 1]
    step_y = py[end] - py[end - 1]
    step = np.sqrt(step_x * step_x + step_y * step_y)
    ahead = gap_x * step_x + gap_y * step_y > 0.0
    if ahead and np.abs(gap_x * step_y - gap_y * step_x) <= 0.4 * width * step:
        return area
    return 0.0


@kernel
def split_chains(kind, x, y, begin, end, width, shape, notes):
    """Cut the beads of moves ``begin`` to ``end`` into pieces; give points, pieces and the row reached.

    A chain is parted where it comes back to its first or second point (a bead may lead to a loop). Stops where the
    arrays are full.
    """
    real, whole = shape
    px, py, area, path = real[PX], real[PY], real[AREA], real[PATH]
    row, piece, first, last, chain = whole[ROW], whole[PIECE], whole[FIRST], whole[LAST], notes[1][CHAIN]
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
    px, py = shape[0][PX], shape[0][PY]
    frame, ends, listed = grid
    x_lo, x_hi, y_lo, y_hi, total = px[0], px[0], py[0], py[0], 0.0
    for s in range(n):
        x_lo, x_hi = min(x_lo, px[s]), max(x_hi, px[s])
        y_lo, y_hi = min(y_lo, py[s]), max(y_hi, py[s])
        e = _end_of(s, shape)
        if e >= 0:
            total += np.abs(px[e] - px[s]) + np.abs(py[e] - py[s])
    wide, high = x_hi - x_lo, y_hi - y_lo
    cell = max(DENSE * width, total / n, np.sqrt(wide * high / n), (wide + high) / n)
    columns, rows = int(wide / cell) + 1, int(high / cell) + 1
    frame[0], frame[1], frame[2], frame[3], frame[4] = x_lo, y_lo, cell, columns, rows
    ends[: columns * rows] = 0
    for stage in range(2):
        for s in range(n):
            e = _end_of(s, shape)
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
    px, py, area, piece = shape[0][PX], shape[0][PY], shape[0][AREA], shape[1][PIECE]
    frame, ends, listed = grid
    columns, r = int(frame[3]), int(np.floor((y - frame[1]) / frame[2]))
    if r < 0 or r >= int(frame[4]) or x < frame[0]:
        return np.int64(-1)
    best, found = -np.inf, np.int64(-1)
    c = min(int((x - frame[0]) / frame[2]), columns - 1)
    while c >= 0 and best < frame[0] + (c + 1) * frame[2]:
        k = r * columns + c
        for place in range(ends[k - 1] if k > 0 else 0, ends[k]):
            s = np.int64(listed[place])
            p = piece[s]
            if p == own or not used[p]:
                continue
            e = _end_of(s, shape)
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
    px, py, piece = shape[0][PX], shape[0][PY], shape[1][PIECE]
    frame, ends, listed = grid
    columns, rows = int(frame[3]), int(frame[4])
    ux, uy = 0.0, 0.0
    if s0 >= 0:
        ux, uy = px[s0 + 1] - px[s0], py[s0 + 1] - py[s0]
    c_lo = int(max((x - radius - frame[0]) / frame[2], 0.0))
    c_hi = int(min(max((x + radius - frame[0]) / frame[2], -1.0), columns - 1.0))
    r_lo = int(max((y - radius - frame[1]) / frame[2], 0.0))
    r_hi = int(min(max((y + radius - frame[1]) / frame[2], -1.0), rows - 1.0))
    sides = 0
    for r in range(r_lo, r_hi + 1):
        for k in range(r * columns + c_lo, r * columns + c_hi + 1):
            for place in range(ends[k - 1] if k > 0 else 0, ends[k]):
                s = np.int64(listed[place])
                work[0] -= 1
                if s0 < 0 and (piece[s] != wanted if wanted >= 0 else not used[piece[s]]):
                    continue
                e = _end_of(s, shape)
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
                side = ux * qy - uy * qx
                if 2.0 * side * side > (ux * ux + uy * uy) * (qx * qx + qy * qy):  # abeam, not ahead on a curve
                    sides |= 1 if side > 0.0 else 2
                if sides == 3:
                    return np.int64(3)
    return np.int64(sides)


@kernel
def find_parents(pieces, shape, grid, used, notes, work):
    """Give each piece the smallest loop around it, -1 where none; ``used`` becomes 1 for loops.

    From a loop's leftmost point, or the middle of an open piece's longest bead, to the left: the loop met first either
    holds the piece or lies beside it, and then has the same parent. It begins further to the left, so that
    following these steps comes to an end.
    """
    px, py, area = shape[0][PX], shape[0][PY], shape[0][AREA]
    hit, parent = notes[1][HIT], notes[1][PARENT]
    for p in range(pieces):
        used[p] = 1 if area[p] != 0.0 else 0
    for p in range(pieces):
        hit[p] = -1
        at = np.int64(shape[1][FIRST, p])
        longest = -1.0
        for s in range(at, shape[1][LAST, p]):
            long = (px[s + 1] - px[s]) ** 2 + (py[s + 1] - py[s]) ** 2
            if area[p] != 0.0:
                at = s if px[s] < px[at] else at
            elif long > longest:
                at, longest = s, long
        x, y = px[at], py[at]
        if area[p] == 0.0:
            x, y = 0.5 * (x + px[at + 1]), 0.5 * (y + py[at + 1])
        if work[0] >= 0:
            hit[p] = first_hit(x, y, p, used, shape, grid, work)
    for p in range(pieces):
        q = p
        while hit[q] >= 0 and hit[q] % 2 == 0:
            q = hit[q] >> 1
        found = hit[q]
        q = p
        while hit[q] >= 0 and hit[q] % 2 == 0:  # the next that come this way need not go it again
            above = hit[q] >> 1
            hit[q] = found
            q = above
        parent[p] = found >> 1 if found >= 0 else -1


@kernel
def measure_spacing(n, width, shape, notes):
    """Give each long bead of an open piece its distance to a parallel one among the three before and after, inf none."""
    px, py, area, piece, last = shape[0][PX], shape[0][PY], shape[0][AREA], shape[1][PIECE], shape[1][LAST]
    spacing = notes[0][SPACING]
    one, two, three = np.int64(-1), np.int64(-1), np.int64(-1)
    for s in range(n):
        spacing[s] = np.inf
        p = piece[s]
        if area[p] != 0.0 or s == last[p]:
            continue
        ux, uy = px[s + 1] - px[s], py[s + 1] - py[s]
        long = np.sqrt(ux * ux + uy * uy)
        if long < LONG * width:
            continue
        ux, uy = ux / long, uy / long
        for k in range(3):
            o = one if k == 0 else (two if k == 1 else three)
            if o < 0:
                continue
            vx, vy = px[o + 1] - px[o], py[o + 1] - py[o]
            a = (px[o] - px[s]) * ux + (py[o] - py[s]) * uy
            b = a + vx * ux + vy * uy
            other = np.sqrt(vx * vx + vy * vy)
            common = min(long, max(a, b)) - max(0.0, min(a, b))
            if np.abs(vx * uy - vy * ux) > 0.1 * other or common < 0.3 * min(long, other):
                continue
            apart = np.abs((px[o] + 0.5 * vx - px[s]) * uy - (py[o] + 0.5 * vy - py[s]) * ux)
            if 0.3 * width < apart < FARTHEST * width:
                spacing[s], spacing[o] = min(spacing[s], apart), min(spacing[o], apart)
        three, two, one = two, one, s


@kernel
def look_around(pieces, width, first_layer, has_above, here, above, notes, work):
    """Look at up to eight places of each piece; mark in the flags what most of them show.

    ALONG: a loop of a first layer runs at most 1.5 widths from its parent. BEYOND: it lies outside of every used loop
    of the layer above, by 0.75 widths. DENSELY: an open piece without measured spacing has neighbours on both sides.
    """
    shape, flags, spacing = here[0], notes[2], notes[0][SPACING]
    px, py, area, path = shape[0][PX], shape[0][PY], shape[0][AREA], shape[0][PATH]
    for p in range(pieces):
        flags[ALONG, p], flags[BEYOND, p], flags[DENSELY, p] = 0, 0, 0
        begin, end = np.int64(shape[1][FIRST, p]), np.int64(shape[1][LAST, p])
        loop = area[p] != 0.0
        known = False
        for s in range(begin, end):
            if spacing[s] < np.inf:
                known = True
        if (loop and not first_layer) or (known and not loop):
            continue
        places = PROBES if loop else min(PROBES, end - begin)
        s, way, step = begin - 1, 0.0, 0.0
        along, beyond, dense = 0, 0, 0
        for k in range(places):
            if loop:
                while s < begin or (way + step < (k + 0.5) / places * path[p] and s < end - 1):
                    s, way = s + 1, way + step
                    step = np.sqrt((px[s + 1] - px[s]) ** 2 + (py[s + 1] - py[s]) ** 2)
                share = min(((k + 0.5) / places * path[p] - way) / step, 1.0)
            else:
                s, share = begin + k * (end - begin) // places, 0.5
            x, y = px[s] + share * (px[s + 1] - px[s]), py[s] + share * (py[s + 1] - py[s])
            for question in range(2):
                if work[0] < 0 or (question == 0 and not (loop and has_above)):
                    continue
                there = here
                wanted, radius, s0 = np.int64(notes[1][PARENT, p]), 1.5 * width, np.int64(-1)
                if question == 0:
                    there, wanted, radius = above, np.int64(-1), 0.75 * width
                    hit = first_hit(x, y, np.int64(-1), there[2], there[0], there[1], work)
                    if hit >= 0 and hit % 2 == 1:
                        continue
                elif not loop:
                    s0, radius = s, DENSE * width
                elif wanted < 0:
                    continue
                sides = neighbours(x, y, s0, radius, wanted, there[2], there[0], there[1], work)
                if question == 0:
                    beyond += 1 if sides == 0 else 0
                elif loop:
                    along += 1 if sides != 0 else 0
                else:
                    dense += 1 if sides == 3 else 0
        flags[ALONG, p] = 1 if 2 * along > places else 0
        flags[BEYOND, p] = 1 if beyond > 0.6 * places else 0
        flags[DENSELY, p] = 1 if 2 * dense >= places else 0


@kernel
def measure_rest(pieces, width, shape, notes):
    """Measure what each loop holds directly: area and edges without its inner loops, and the path of fill."""
    rest, edges, filled, parent = notes[0][REST_AREA], notes[0][REST_PATH], notes[0][FILLED], notes[1][PARENT]
    area, path = shape[0][AREA], shape[0][PATH]
    for p in range(pieces):
        rest[p], edges[p], filled[p] = np.abs(area[p]), path[p], 0.0
    for p in range(pieces):
        q = parent[p]
        if q >= 0 and area[p] != 0.0:
            rest[q] -= np.abs(area[p])
            edges[q] += path[p]
        elif q >= 0:
            filled[q] += path[p]
    for p in range(pieces):
        if filled[p] * FARTHEST * width < rest[p] or filled[p] <= 2.0 * width:
            filled[p] = 0.0


@kernel
def find_hold(pieces, has_above, shape, notes):
    """Mark the loops of a first layer that are hold-down.

    With a layer above: loops outside of all that goes on there, but not those along a loop whose own fill lies outside,
    too (a foot wider than what stands on it). Without: loops around everything that hold no fill and nothing near.
    """
    area, filled, parent = shape[0][AREA], notes[0][FILLED], notes[1][PARENT]
    held, along = notes[2][HELD], notes[2][ALONG]
    for p in range(pieces):
        held[p] = notes[2][BEYOND, p]
    for p in range(pieces):
        q = np.int64(p)
        if has_above:
            if filled[p] > 0.0:
                while q >= 0 and held[q] == 1:
                    held[q] = 0
                    q = np.int64(parent[q]) if along[q] == 1 else np.int64(-1)
        elif area[p] != 0.0 and parent[p] >= 0 and filled[parent[p]] == 0.0:
            held[parent[p]] = 1
    if has_above:
        return
    for p in range(pieces):
        q = np.int64(p)
        while area[q] != 0.0 and held[q] == 0 and along[q] == 1 and held[parent[q]] == 1:
            q = np.int64(parent[q])
            held[q] = 0
    for p in range(pieces):  # what lies in a part is the part's
        q, steps = np.int64(parent[p]), 0
        while q >= 0 and held[q] == 1 and steps < 64:
            q, steps = np.int64(parent[q]), steps + 1
        if q >= 0:
            held[p] = 0


@kernel
def label_loops(pieces, width, shape, used, notes):
    """Give each loop its role, and leave in ``used`` the outermost loops of the part.

    An outline has air on a side: nothing around it, or no fill in it and more than a gap between it and its inner
    loops. Hold-down is no surrounding.
    """
    area, rest, edges, filled = shape[0][AREA], notes[0][REST_AREA], notes[0][REST_PATH], notes[0][FILLED]
    parent, held, air, role = notes[1][PARENT], notes[2][HELD], notes[2][AIR], notes[2][ROLE]
    for p in range(pieces):
        while parent[p] >= 0 and held[parent[p]] == 1:
            parent[p] = parent[parent[p]]
        air[p] = 1 if filled[p] == 0.0 and 2.0 * rest[p] > HOLLOW * width * edges[p] else 0
    for p in range(pieces):
        q = parent[p]
        used[p] = 1 if area[p] != 0.0 and held[p] == 0 and q < 0 else 0
        role[p] = HOLD if held[p] == 1 else (OUTLINE if q < 0 or air[p] == 1 or air[q] == 1 else INNER)


@kernel
def label_lines(p, width, shape, notes, roles):
    """Give the beads of open piece p their roles by spacing; short ones go with the bead before them."""
    spacing = notes[0][SPACING]
    begin, end = shape[1][FIRST, p], shape[1][LAST, p]
    now = SOLID if notes[2][DENSELY, p] == 1 else INFILL
    for s in range(end - 1, begin - 1, -1):
        if spacing[s] < np.inf:
            now = SOLID if spacing[s] <= DENSE * width else INFILL
    for s in range(begin, end):
        if spacing[s] < np.inf:
            now = SOLID if spacing[s] <= DENSE * width else INFILL
        roles[shape[1][ROW, s + 1]] = now


@kernel
def is_purge_line(p, shape):
    """Tell whether piece p looks like a purge line: few beads, longer than 20 mm, narrower than 3 mm."""
    px, py = shape[0][PX], shape[0][PY]
    begin, end = shape[1][FIRST, p], shape[1][LAST, p]
    x_lo, x_hi, y_lo, y_hi = px[begin], px[begin], py[begin], py[begin]
    for s in range(begin, end + 1):
        x_lo, x_hi = min(x_lo, px[s]), max(x_hi, px[s])
        y_lo, y_hi = min(y_lo, py[s]), max(y_hi, py[s])
    wide, high = x_hi - x_lo, y_hi - y_lo
    return end - begin <= 12 and min(wide, high) < 3.0 and max(wide, high) > 20.0


@kernel
def write_roles(pieces, first_layer, leading, width, shape, notes, roles):
    """Write the roles of all beads of a layer; ``leading``: nothing but purge lines came before.

    A single open bead with air around is a wall; parallel ones there may be a support and stay unlabelled.
    """
    area, path, row = shape[0][AREA], shape[0][PATH], shape[1][ROW]
    parent, chain, air, role = notes[1][PARENT], notes[1][CHAIN], notes[2][AIR], notes[2][ROLE]
    for p in range(pieces):
        q = parent[p]
        leading = leading and (role[p] == HOLD if area[p] != 0.0 else q < 0)
        if area[p] == 0.0:
            lines = notes[2][DENSELY, p] == 1
            for s in range(shape[1][FIRST, p], shape[1][LAST, p]):
                if notes[0][SPACING, s] < np.inf:
                    lines = True
            role[p] = UNLABELLED if lines or path[p] < 4.0 * width else OUTLINE
            if q < 0 and first_layer:
                leading = leading and is_purge_line(p, shape)
                role[p] = PURGE if leading else HOLD
            elif q >= 0 and air[q] == 0:
                label_lines(p, width, shape, notes, roles)
                role[p] = roles[row[shape[1][LAST, p]]]
                continue
        for s in range(shape[1][FIRST, p] + 1, shape[1][LAST, p] + 1):
            roles[row[s]] = role[p]
    for p in range(pieces):  # a bit of bead before or behind a loop, without travel, goes with it
        if area[p] == 0.0 and path[p] <= 2.0 * width:
            q = p + 1 if p + 1 < pieces and chain[p + 1] == chain[p] else p - 1
            if q >= 0 and chain[q] == chain[p]:
                for s in range(shape[1][FIRST, p] + 1, shape[1][LAST, p] + 1):
                    roles[row[s]] = role[q]


@kernel
def infer(kind, x, y, first_move, order, rank, has_above, spiral, width, here, above, notes, roles):
    """Write the role of every bead of every layer, in the given order (the layer above a first layer comes before it).

    ``here`` and ``above`` are two sets of (shape, grid, used) that change places from layer to layer.
    """
    work = np.zeros(1, np.int64)
    for k in order:
        i, end = np.int64(first_move[k]), np.int64(first_move[k + 1])
        if spiral[k]:
            for j in range(i, end):
                roles[j] = OUTLINE if kind[j] == BEAD else UNLABELLED
            i = end
        while i < end:
            here, above = above, here
            shape, grid, used = here
            n, pieces, i = split_chains(kind, x, y, i, end, width, shape, notes)
            if n == 0:
                break
            work[0] = WORK * n + 100_000
            build_grid(n, width, shape, grid)
            find_parents(pieces, shape, grid, used, notes, work)
            measure_spacing(n, width, shape, notes)
            first_layer = rank[k] < FIRST_LAYERS
            look_around(pieces, width, first_layer, has_above[k], here, above, notes, work)
            measure_rest(pieces, width, shape, notes)
            notes[2][HELD, :pieces] = 0
            if first_layer:
                find_hold(pieces, has_above[k], shape, notes)
            label_loops(pieces, width, shape, used, notes)
            write_roles(pieces, first_layer, k == 0, width, shape, notes, roles)
