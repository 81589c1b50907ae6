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


LONG = 2.0
"""Beads of so many widths are lines, shorter ones the connectors between."""
FARTHEST = 12.0
"""Lines farther apart, in widths, have nothing to do with each other: 8 % infill."""
HOLLOW = 1.3
"""Wider gaps within a loop, in widths, are air where no fill is."""


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
                side = ux * qy - uy * qx
                if 2.0 * side * side > (ux * ux + uy * uy) * (qx * qx + qy * qy):  # abeam, not ahead on a curve
                    sides |= 1 if side > 0.0 else 2
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
            above = hit[q] >> 1
            hit[q] = root
            q = above
        parent[p] = root >> 1 if root >= 0 else -1


@kernel
def find_containers(pieces, width, shape, grid, used, parent, fill, work):
    """Give each open piece the loop around it (in ``parent``), and mark the loops that directly hold some."""
    px, py, row, piece, first, last, area, path = shape
    fill[:pieces] = 0
    for p in range(pieces):
        if area[p] != 0.0 or work[0] < 0:
            continue
        at, longest = first[p], -1.0
        for s in range(first[p], last[p]):
            long = (px[s + 1] - px[s]) ** 2 + (py[s + 1] - py[s]) ** 2
            if long > longest:
                at, longest = s, long
        x, y = 0.5 * (px[at] + px[at + 1]), 0.5 * (py[at] + py[at + 1])
        found = first_hit(x, y, np.int64(-1), used, shape, grid, work)
        if found >= 0:
            parent[p] = found >> 1 if found % 2 == 1 else parent[found >> 1]
        if parent[p] >= 0 and path[p] > 2.0 * width:
            fill[parent[p]] = 1


@kernel
def _place_on(p, share, shape):
    """Give the point at a share of the path of loop p."""
    px, py, row, piece, first, last, area, path = shape
    rest = share * path[p]
    for s in range(first[p], last[p]):
        dx, dy = px[s + 1] - px[s], py[s + 1] - py[s]
        step = np.sqrt(dx * dx + dy * dy)
        if step > 0.0 and rest <= step:
            return px[s] + rest / step * dx, py[s] + rest / step * dy
        rest -= step
    return px[last[p]], py[last[p]]


@kernel
def _beyond(p, width, shape, above_shape, above_grid, above_used, work):
    """Tell whether most of loop p lies outside of every used loop of the layer above, by 0.75 widths."""
    count = 0
    for k in range(PROBES):
        if work[0] < 0:
            return False
        x, y = _place_on(p, (k + 0.5) / PROBES, shape)
        if first_hit(x, y, np.int64(-1), above_used, above_shape, above_grid, work) % 2 == 1:
            continue
        near = neighbours(
            x, y, np.int64(-1), 0.75 * width, np.int64(-1), above_used, above_shape, above_grid, work
        )  # fmt: skip
        count += 1 if near == 0 else 0
    return count > 0.6 * PROBES


@kernel
def _along(p, q, width, shape, grid, used, work):
    """Tell whether loop p runs along loop q, at most 1.5 widths away for half of its path."""
    count = 0
    for k in range(PROBES):
        if work[0] >= 0:
            x, y = _place_on(p, (k + 0.5) / PROBES, shape)
            count += 1 if neighbours(x, y, np.int64(-1), 1.5 * width, q, used, shape, grid, work) != 0 else 0
    return 2 * count > PROBES


@kernel
def find_hold(
    pieces, width, has_above, shape, grid, used, parent, fill, above_shape, above_grid, above_used, hold, mark,
    work,
):  # fmt: skip
    """Mark the loops of a first layer that are hold-down.

    With a layer above: loops outside of all that goes on there, but not those along a loop whose own fill lies outside,
    too (a foot wider than what stands on it). Without: loops around everything that hold no fill and nothing near.
    """
    area = shape[6]
    for p in range(pieces):
        hold[p], mark[p] = 0, 0
        if has_above and area[p] != 0.0 and _beyond(p, width, shape, above_shape, above_grid, above_used, work):
            hold[p] = 1
        if area[p] != 0.0 and parent[p] >= 0:
            mark[p] = 1 if _along(p, parent[p], width, shape, grid, used, work) else 0
    if has_above:
        for p in range(pieces):
            if hold[p] == 1 and fill[p] == 1:
                q = p
                while hold[q] == 1:
                    hold[q] = 0
                    if mark[q] == 1:
                        q = parent[q]
        return
    for p in range(pieces):
        if area[p] != 0.0 and parent[p] >= 0 and fill[parent[p]] == 0:
            hold[parent[p]] = 1
    for p in range(pieces):
        q = p
        while area[q] != 0.0 and hold[q] == 0 and mark[q] == 1 and hold[parent[q]] == 1:
            q = parent[q]
            hold[q] = 0
    for p in range(pieces):  # what lies in a part is the part's
        q, steps = parent[p], 0
        while q >= 0 and hold[q] == 1 and steps < 64:
            q, steps = parent[q], steps + 1
        if q >= 0:
            hold[p] = 0


@kernel
def label_loops(pieces, width, shape, parent, fill, hold, used, rest_area, rest_path, role):
    """Give each loop its role, and leave in ``used`` the outermost loops of the part.

    An outline has air on a side: nothing around it, or no fill in it and more than a gap between it and its inner
    loops. Air around hold-down does not count.
    """
    px, py, row, piece, first, last, area, path = shape
    for p in range(pieces):
        while parent[p] >= 0 and hold[parent[p]] == 1:
            parent[p] = parent[parent[p]]
        rest_area[p], rest_path[p] = np.abs(area[p]), path[p]
    for p in range(pieces):
        q = parent[p]
        if area[p] != 0.0 and q >= 0 and hold[p] == 0:
            rest_area[q] -= np.abs(area[p])
            rest_path[q] += path[p]
    for p in range(pieces):
        q = parent[p]
        used[p] = 0
        if hold[p] == 1 or area[p] == 0.0:
            role[p] = HOLD if hold[p] == 1 else UNLABELLED
            continue
        used[p] = 1 if q < 0 else 0
        air = fill[p] == 0 and 2.0 * rest_area[p] > HOLLOW * width * rest_path[p]
        air_around = q < 0 or (fill[q] == 0 and 2.0 * rest_area[q] > HOLLOW * width * rest_path[q])
        role[p] = OUTLINE if air or air_around else INNER


@kernel
def measure_spacing(n, width, shape, spacing):
    """Give each long bead of an open piece its distance to a parallel one among the three before and after, inf none."""
    px, py, row, piece, first, last, area, path = shape
    recent = np.full(3, -1, np.int64)
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
            o = recent[k]
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
        recent[0], recent[1], recent[2] = recent[1], recent[2], s


@kernel
def label_lines(p, width, shape, grid, used, spacing, role, roles, work):
    """Give the beads of open piece p their roles by spacing; short ones go with the bead before them.

    Where no bead has a parallel one, some places are looked at: neighbours on both sides make a solid.
    """
    px, py, row, piece, first, last, area, path = shape
    begin, end = first[p], last[p]
    now = UNLABELLED
    for s in range(begin, end):
        if spacing[s] < np.inf:
            now = SOLID if spacing[s] <= DENSE * width else INFILL
            break
    if now == UNLABELLED:
        dense = 0
        for k in range(min(PROBES, end - begin)):
            s = begin + k * (end - begin) // min(PROBES, end - begin)
            x, y = 0.5 * (px[s] + px[s + 1]), 0.5 * (py[s] + py[s + 1])
            if work[0] >= 0:
                sides = neighbours(x, y, s, DENSE * width, np.int64(-1), used, shape, grid, work)
                dense += 1 if sides == 3 else 0
        now = SOLID if 2 * dense >= min(PROBES, end - begin) else INFILL
    for s in range(begin, end):
        if spacing[s] < np.inf:
            now = SOLID if spacing[s] <= DENSE * width else INFILL
        roles[row[s + 1]] = now
    role[p] = now


@kernel
def is_purge_line(p, shape):
    """Tell whether piece p looks like a purge line: few beads, longer than 20 mm, narrower than 3 mm."""
    px, py, row, piece, first, last, area, path = shape
    a, b = first[p], last[p] + 1
    if b - a > 12:
        return False
    wide, high = px[a:b].max() - px[a:b].min(), py[a:b].max() - py[a:b].min()
    return min(wide, high) < 3.0 and max(wide, high) > 20.0


@kernel
def write_roles(pieces, rank, leading, width, shape, grid, used, parent, hold, chain, spacing, role, roles, work):
    """Write the roles of all beads of a layer."""
    px, py, row, piece, first, last, area, path = shape
    for p in range(pieces):
        if area[p] != 0.0:
            leading = leading and hold[p] == 1
            for s in range(first[p] + 1, last[p] + 1):
                roles[row[s]] = role[p]
            continue
        if parent[p] >= 0:
            leading = False
            label_lines(p, width, shape, grid, used, spacing, role, roles, work)
            continue
        leading = leading and is_purge_line(p, shape)
        role[p] = UNLABELLED
        if rank < FIRST_LAYERS:
            role[p] = PURGE if leading else HOLD
        for s in range(first[p] + 1, last[p] + 1):
            roles[row[s]] = role[p]
    for p in range(pieces):  # a bit of bead before or behind a loop, without travel, goes with it
        if area[p] == 0.0 and path[p] <= 2.0 * width:
            q = p + 1 if p + 1 < pieces and chain[p + 1] == chain[p] else p - 1
            if q >= 0 and chain[q] == chain[p]:
                for s in range(first[p] + 1, last[p] + 1):
                    roles[row[s]] = role[q]


@kernel
def infer(kind, x, y, first_move, order, rank, has_above, spiral, width, here, above, scratch, roles):
    """Write the role of every bead of every layer, in the given order (the layer above a first layer comes before it).

    ``here`` and ``above`` are two sets of (shape, grid, used) that change places from layer to layer.
    """
    hit, parent, fill, hold, mark, chain, role, rest_area, rest_path, spacing = scratch
    work = np.zeros(1, np.int64)
    for k in order:
        i, end = np.int64(first_move[k]), np.int64(first_move[k + 1])
        if spiral[k]:
            for j in range(i, end):
                roles[j] = OUTLINE if kind[j] == BEAD else UNLABELLED
            continue
        while i < end:
            here, above = above, here
            shape, grid, used = here
            n, pieces, i = split_chains(kind, x, y, i, end, width, shape, chain)
            if n == 0:
                break
            work[0] = WORK * n + 100_000
            build_grid(n, width, shape, grid)
            find_parents(pieces, shape, grid, used, hit, parent, work)
            find_containers(pieces, width, shape, grid, used, parent, fill, work)
            hold[:pieces] = 0
            if rank[k] < FIRST_LAYERS:
                find_hold(
                    pieces, width, has_above[k], shape, grid, used, parent, fill,
                    above[0], above[1], above[2], hold, mark, work,
                )  # fmt: skip
            label_loops(pieces, width, shape, parent, fill, hold, used, rest_area, rest_path, role)
            measure_spacing(n, width, shape, spacing)
            write_roles(
                pieces, rank[k], k == 0, width, shape, grid, used, parent, hold, chain, spacing, role, roles, work
            )  # fmt: skip
