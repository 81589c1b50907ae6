"""The kernels that read roles from shape: chains and loops, a grid over them, nesting, spacing.

A *piece* is a closed loop or an open run of beads. Its points are ``points[first]`` to ``points[last]``; segment s
runs from point s to s + 1, from a loop's last point to its first. What is known of points and pieces stands in
records (`POINT`, `PIECE`): every array handed on costs time to compile. A layer is ``(points, pieces, grid)``
with ``grid = (frame, ends, listed)``, see `build_grid`.
"""

# mypy: allow-untyped-defs, allow-untyped-calls
from __future__ import annotations

import numpy as np

from viewer.jit import inner_kernel, kernel

BEAD = 1
PLACE = 5
UNLABELLED, OUTLINE, INNER, INFILL, SOLID = 0, 1, 2, 3, 4
HOLD, PURGE = 7, 8

POINT = np.dtype(
    [
        ("x", "f8"),  # mm
        ("y", "f8"),
        ("spacing", "f8"),  # of the long bead that begins here to its nearest parallel one, mm, inf: none
        ("row", "i4"),  # the move that ends here
        ("piece", "i4"),  # whose bead begins here
    ]
)
PIECE = np.dtype(
    [
        ("area", "f8"),  # of a loop, mm2, counter-clockwise > 0; 0: an open piece
        ("path", "f8"),  # mm
        ("rest", "f8"),  # area without the loops in it, mm2
        ("edges", "f8"),  # path with the loops in it, mm
        ("gap", "f8"),  # mean gap between these, mm
        ("pitch", "f8"),  # of fill that a loop alone may be, mm
        ("filled", "f8"),  # path of the open pieces in it, mm; 0 where they are too few for fill
        ("first", "i4"),  # points
        ("last", "i4"),
        ("chain", "i4"),
        ("hit", "i4"),  # see `first_hit`
        ("parent", "i4"),  # the smallest loop around it, -1: none
        ("used", "u1"),  # `first_hit` and `neighbours` look at it
        ("held", "u1"),  # hold-down
        ("along", "u1"),  # see `look_around`
        ("beyond", "u1"),
        ("dense", "u1"),
        ("air", "u1"),  # a loop with nothing in it
        ("nested", "u1"),  # a loop alone, see `find_air`: 1, or 2 where it is fill
        ("depth", "u1"),  # which wall it is, 1 the outermost
        ("role", "u1"),
    ]
)

APART = 0.05
"""A way without filament longer than this, mm, ends a chain."""
PART_BEADS = 200_000
"""A layer of more beads is looked at in parts of this size, each by itself, to keep memory within bounds."""
FIRST_LAYERS = 3
"""Hold-down is looked for in so many layers of an object; the next one shows where the part goes on."""
PROBES, PROBES_OPEN = 8, 4
"""So many places of a loop and of an open piece are looked at."""
WORK = 50
"""A layer's searches may look at so many segments a bead; what is left then counts as lying alone."""
DENSE = 1.6
"""Beads nearer than this many widths touch: a solid; common practice, no source (about 60 % infill)."""
LONG = 2.0
"""Beads of so many widths are lines, shorter ones the connectors between."""
FARTHEST = 25.0
"""Lines farther apart, in widths, are no fill: 4 % infill."""
HOLLOW = 1.6
"""Wider gaps within a loop, in widths, are air where no fill is."""
NEAR, NEXT = 1.1, 2.05
"""Pitches: nested fill has a loop as near as this to one side, and as near as that to the other."""
DEEP, DEEPEST = 16, 63
"""A loop within the outline is written as DEEP + depth, until all layers have told how many walls there are."""


@inner_kernel
def _loop_area(points, begin, end, swept, path, width):
    """Return the signed area that the points ``begin`` to ``end`` enclose, 0.0 where they are no loop.

    ``swept`` is twice the area swept about point ``begin`` or the one before it. Two lines of a zigzag enclose an area,
    too, but no wider than the gap at their end: a loop's gap is at most 0.3 widths, or 0.7 of the mean width
    (2 area / path) enclosed, or its start lies ahead of the last bead.
    """
    area = 0.5 * swept
    gap_x = points[begin].x - points[end].x
    gap_y = points[begin].y - points[end].y
    gap = np.sqrt(gap_x * gap_x + gap_y * gap_y)
    mean = 2.0 * abs(area) / path
    if gap > 2.5 * width or abs(area) < width * width or not mean > 0.4 * width:
        return 0.0
    if gap <= 0.3 * width or gap <= 0.7 * mean:
        return area
    step_x = points[end].x - points[end - 1].x
    step_y = points[end].y - points[end - 1].y
    step = np.sqrt(step_x * step_x + step_y * step_y)
    ahead = gap_x * step_x + gap_y * step_y > 0.0
    if ahead and abs(gap_x * step_y - gap_y * step_x) <= 0.4 * width * step:
        return area
    return 0.0


@inner_kernel
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
def split_chains(kind, x, y, begin, end, width, points, pieces):
    """Cut the beads of moves ``begin`` to ``end`` into pieces; give the numbers of points and pieces and the row reached.

    A chain is parted where it comes back to its first or second point (a bead may lead to a loop). Only where the next
    bead is away may a loop close with a gap. Stops where the arrays are full.
    """
    n, number, chains = 0, -1, -1
    away, path, lead, swept = np.inf, 0.0, 0.0, 0.0
    going = False
    i = begin
    while i < end and n + 2 < len(points):
        x0, y0 = 0.0, 0.0
        if i > 0:
            x0, y0 = float(x[i - 1]), float(y[i - 1])
        x1, y1 = float(x[i]), float(y[i])
        step = np.sqrt((x1 - x0) * (x1 - x0) + (y1 - y0) * (y1 - y0))
        i += 1
        if kind[i - 1] != BEAD or not step < np.inf:
            away += step if kind[i - 1] != PLACE and step < np.inf else np.inf
            continue
        if step == 0.0:
            continue
        if away > APART or not going:
            chains += 1 if away > APART else 0
            number += 1
            points[n].x, points[n].y, points[n].row, points[n].piece = x0, y0, -1, number
            pieces[number].first, pieces[number].chain, pieces[number].area = n, chains, 0.0
            n += 1
            path, lead, swept = 0.0, step, 0.0
            going = True
        away = 0.0
        points[n].x, points[n].y, points[n].row, points[n].piece = x1, y1, i - 1, number
        start = np.int64(pieces[number].first)
        ox, oy = points[start].x, points[start].y
        swept += (points[n - 1].x - ox) * (y1 - oy) - (points[n - 1].y - oy) * (x1 - ox)
        path += step
        pieces[number].last, pieces[number].path = n, path
        n += 1
        if n - start <= 3 or path <= 4.0 * width:
            continue
        near = 2.5 * width if _next_is_away(kind, x, y, i, end) else 0.3 * width
        px, py = points[start + 1].x, points[start + 1].y
        at, whole, turn = start, path, swept
        if abs(x1 - ox) > near or abs(y1 - oy) > near:
            if abs(x1 - px) > near or abs(y1 - py) > near:
                continue
            at, whole = start + 1, path - lead  # the first bead only led to the loop
            turn += (x1 - ox) * (py - oy) - (y1 - oy) * (px - ox)
        found = _loop_area(points, at, n - 1, turn, whole, width)
        if found == 0.0:
            continue
        if at > start:
            pieces[number].last, pieces[number].path = at, lead
            number += 1
            pieces[number].first, pieces[number].chain = at, chains
            for s in range(at, n):
                points[s].piece = number
        pieces[number].area, pieces[number].last, pieces[number].path = found, n - 1, whole
        going = False
    return n, number + 1, i


@inner_kernel
def _end_of(s, points, pieces):
    """Return the end point of segment s, -1 where none begins in s."""
    piece = pieces[points[s].piece]
    if s < piece.last:
        return np.int64(s + 1)
    return np.int64(piece.first) if piece.area != 0.0 else np.int64(-1)


@inner_kernel
def build_grid(n, width, points, pieces, grid):
    """List the segments of n points by the cells of a grid that they cross; time and memory go with n.

    Lines whose spacing is measured are left out: nobody looks for them.

    ``grid = (frame, ends, listed)``: frame is x, y of a corner, cell, columns, rows; cell c owns
    ``listed[ends[c - 1]:ends[c]]``. Cells are no smaller than a third of a mean segment and no
    more than three times the points, so that 13 n entries are the most.
    """
    frame, ends, listed = grid
    x_lo, x_hi, y_lo, y_hi, total = points[0].x, points[0].x, points[0].y, points[0].y, 0.0
    for s in range(n):
        a = points[s]
        x_lo, x_hi, y_lo, y_hi = min(x_lo, a.x), max(x_hi, a.x), min(y_lo, a.y), max(y_hi, a.y)
        e = _end_of(np.int64(s), points, pieces)
        if e >= 0 and a.spacing == np.inf:
            total += abs(points[e].x - a.x) + abs(points[e].y - a.y)
    wide, high = x_hi - x_lo, y_hi - y_lo
    cell = max(DENSE * width, total / (3.0 * n), np.sqrt(wide * high / n), (wide + high) / n)
    columns, rows = int(wide / cell) + 2, int(high / cell) + 2
    frame[0], frame[1], frame[2], frame[3], frame[4] = x_lo, y_lo, cell, columns, rows
    scale = 1.0 / cell
    for c in range(columns * rows):
        ends[c] = 0
    for stage in range(2):
        for s in range(n):
            e = _end_of(np.int64(s), points, pieces)
            if e < 0 or points[s].spacing < np.inf:
                continue
            a, b = points[s], points[e]
            xa, ya = (a.x - x_lo) * scale, (a.y - y_lo) * scale
            xb, yb = (b.x - x_lo) * scale, (b.y - y_lo) * scale
            if ya > yb:
                xa, ya, xb, yb = xb, yb, xa, ya
            low, high_row = int(ya), int(yb)
            slope = (xb - xa) / (yb - ya) if high_row > low else 0.0
            for r in range(low, high_row + 1):
                xr = xa + slope * (r - ya) if r > low else xa
                xs = xa + slope * (r + 1 - ya) if r < high_row else xb
                lo, hi = int(max(min(xr, xs), 0.0)), int(max(xr, xs))
                for c in range(r * columns + lo, r * columns + min(hi, columns - 1) + 1):
                    if stage == 1:
                        listed[ends[c]] = s
                    ends[c] += 1
        if stage == 0:
            before = 0
            for c in range(columns * rows):
                before, ends[c] = before + ends[c], before


@inner_kernel
def first_hit(x, y, own, points, pieces, grid, work):
    """Look from (x, y) to the left: give 2 p + 1 where loop p is met first and holds (x, y), 2 p if not, -1 for none.

    Only used pieces count, and not ``own``. Which side is inside follows from the segment's direction.
    """
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
            p = np.int64(points[s].piece)
            work[0] -= 1
            if p == own or not pieces[p].used:
                continue
            a, b = points[s], points[_end_of(s, points, pieces)]
            if (a.y <= y) == (b.y <= y):
                continue
            share = (y - a.y) / (b.y - a.y)
            at = max(a.x + share * (b.x - a.x), min(a.x, b.x))  # never left of the segment by rounding
            if at < x and at > best:
                best = at
                found = 2 * p + (1 if (b.y < a.y) == (pieces[p].area > 0.0) else 0)
        work[0] -= 1
        c -= 1
    return found


@inner_kernel
def find_parents(number, points, pieces, grid, work):
    """Return each piece the smallest loop around it, -1 where none; loops become the used pieces.

    From a loop's leftmost point, or the middle of an open piece's longest bead, to the left: the loop met first either
    holds the piece or lies beside it, and then has the same parent. It begins further to the left, so that
    following these steps comes to an end.
    """
    for p in range(number):
        pieces[p].used = 1 if pieces[p].area != 0.0 else 0
    for p in range(number):
        pieces[p].hit = -1
        loop = pieces[p].area != 0.0
        at, longest = np.int64(pieces[p].first), -1.0
        for s in range(pieces[p].first + 1, pieces[p].last + 1):
            long = (points[s].x - points[s - 1].x) ** 2 + (points[s].y - points[s - 1].y) ** 2
            if loop:
                at = s if points[s].x < points[at].x else at
            elif long > longest:
                at, longest = s - 1, long
        x, y = points[at].x, points[at].y
        if not loop:
            x, y = 0.5 * (x + points[at + 1].x), 0.5 * (y + points[at + 1].y)
        if work[0] >= 0:
            pieces[p].hit = first_hit(x, y, np.int64(p), points, pieces, grid, work)
    for p in range(number):
        q = np.int64(p)
        while pieces[q].hit >= 0 and pieces[q].hit % 2 == 0:
            q = np.int64(pieces[q].hit >> 1)
        found = pieces[q].hit
        q = np.int64(p)
        while (
            pieces[q].hit >= 0 and pieces[q].hit % 2 == 0
        ):  # the next that come this way need not go it again
            beside = np.int64(pieces[q].hit >> 1)
            pieces[q].hit = found
            q = beside
        pieces[p].parent = found >> 1 if found >= 0 else -1


@inner_kernel
def measure_spacing(n, width, points, pieces):
    """Write each long bead of an open piece its distance to a parallel one among the three before and after, else inf."""
    one, two, three = np.int64(-1), np.int64(-1), np.int64(-1)
    for s in range(n):
        points[s].spacing = np.inf
        here, piece = points[s], pieces[points[s].piece]
        if piece.area != 0.0 or s == piece.last:
            continue
        x, y = here.x, here.y
        ux, uy = points[s + 1].x - x, points[s + 1].y - y
        long = np.sqrt(ux * ux + uy * uy)
        if long < LONG * width:
            continue
        ux, uy = ux / long, uy / long
        for k in range(3):
            o = one if k == 0 else (two if k == 1 else three)
            if o < 0:
                continue
            beside = points[o]
            ox, oy = beside.x, beside.y
            vx, vy = points[o + 1].x - ox, points[o + 1].y - oy
            a = (ox - x) * ux + (oy - y) * uy
            b = a + vx * ux + vy * uy
            other = np.sqrt(vx * vx + vy * vy)
            common = min(long, max(a, b)) - max(0.0, min(a, b))
            if abs(vx * uy - vy * ux) > 0.1 * other or common < 0.3 * min(long, other):
                continue
            apart = abs((ox + 0.5 * vx - x) * uy - (oy + 0.5 * vy - y) * ux)
            if 0.3 * width < apart < FARTHEST * width:
                here.spacing = min(here.spacing, apart)
                beside.spacing = min(beside.spacing, apart)
        three, two, one = two, one, np.int64(s)


@kernel
def nest(n, number, width, layer, work):
    """Measure the spacing of lines, list all else in the grid, and give each piece its parent."""
    points, pieces, grid = layer
    measure_spacing(n, width, points, pieces)
    build_grid(n, width, points, pieces, grid)
    find_parents(number, points, pieces, grid, work)


@inner_kernel
def neighbours(x, y, s0, radius, wanted, points, pieces, grid, work):
    """Return which sides of segment s0 hold another segment within ``radius`` of (x, y): 1 left, 2 right, 3 both.

    ``s0`` < 0: give 4 where any segment of a used piece (``wanted`` < 0) or of the wanted piece lies there. With a
    segment, only those that run along it count (to 45 degrees), and lie abeam of it: not the next of a curve.
    """
    frame, ends, listed = grid
    columns, rows = int(frame[3]), int(frame[4])
    ux, uy = 0.0, 0.0
    if s0 >= 0:
        own, to = points[s0], points[s0 + 1]
        ux, uy = to.x - own.x, to.y - own.y
    c_lo = int(min(max((x - radius - frame[0]) / frame[2], 0.0), columns))
    c_hi = int(min(max((x + radius - frame[0]) / frame[2], -1.0), columns - 1.0))
    r_lo = int(min(max((y - radius - frame[1]) / frame[2], 0.0), rows))
    r_hi = int(min(max((y + radius - frame[1]) / frame[2], -1.0), rows - 1.0))
    sides = 0
    for r in range(r_lo, r_hi + 1):
        for k in range(r * columns + c_lo, r * columns + c_hi + 1):
            for place in range(ends[k - 1] if k > 0 else 0, ends[k]):
                s = np.int64(listed[place])
                work[0] -= 1
                a, b = points[s], points[_end_of(s, points, pieces)]
                ax, ay = a.x, a.y
                dx, dy = b.x - ax, b.y - ay
                if min(ax, ax + dx) > x + radius or max(ax, ax + dx) < x - radius:
                    continue
                p = a.piece
                if s0 < 0 and ((wanted >= 0 and p != wanted) or (wanted < 0 and not pieces[p].used)):
                    continue
                long = dx * dx + dy * dy
                if s0 >= 0 and 2.0 * (dx * ux + dy * uy) ** 2 < long * (ux * ux + uy * uy):
                    continue
                share = ((x - ax) * dx + (y - ay) * dy) / long if long > 0.0 else 0.0
                share = min(max(share, 0.0), 1.0)
                qx, qy = ax + share * dx - x, ay + share * dy - y
                if qx * qx + qy * qy > radius * radius:
                    continue
                if s0 < 0:
                    return np.int64(4)
                side = ux * qy - uy * qx
                if 2.0 * side * side > (ux * ux + uy * uy) * (qx * qx + qy * qy):
                    sides |= 1 if side > 0.0 else 2
    return np.int64(sides)


@inner_kernel
def _go_on(s, way, target, last, points):
    """Go along a piece from its segment s, which begins at ``way``, to ``target``, mm; give segment, way, x, y."""
    while True:
        x, y = points[s].x, points[s].y
        dx, dy = points[s + 1].x - x, points[s + 1].y - y
        step = np.sqrt(dx * dx + dy * dy)
        if way + step >= target or s >= last - 1:
            share = min((target - way) / step, 1.0)
            return s, way, x + share * dx, y + share * dy
        s, way = np.int64(s + 1), way + step


@inner_kernel
def look_around(number, width, first_layer, has_above, fills, here, above, work):
    """Look at some places of each piece, and note what most of them show; with ``fills`` only at the loops alone.

    along: a loop of a first layer runs at most 1.5 widths from its parent. beyond: it lies outside of every used loop
    of the layer above, by 0.75 widths. dense: an open piece without measured spacing has neighbours on both sides.
    nested: a loop alone looks like fill, see `find_air`.
    """
    points, pieces, _ = here
    for p in range(number):
        one = pieces[p]
        if fills and one.nested == 0:
            continue
        begin, end = np.int64(one.first), np.int64(one.last)
        loop = one.area != 0.0
        known = loop and not (first_layer or fills)
        for s in range(begin, end):
            if not loop and points[s].spacing < np.inf:
                known = True
        if not fills:
            one.along, one.beyond, one.dense = 0, 0, 0
        if known:
            continue
        places = PROBES if loop else min(PROBES_OPEN, end - begin)
        s, way = begin, 0.0
        along, beyond, dense, close, ahead = 0, 0, 0, 0, 0
        enough = (
            1 if one.edges == one.path and one.gap <= NEAR * one.pitch else 3
        )  # too small for another within
        for k in range(2 * places):
            asks_above = k % 2 == 0 and not fills
            if work[0] < 0 or (asks_above and not (loop and has_above)):
                continue
            target = (k // 2 + 0.5) / places * one.path
            s, way, x, y = _go_on(s, way, target, end, points)
            there, wanted, radius, s0 = here, np.int64(one.parent), 1.5 * width, np.int64(-1)
            if asks_above:
                there, wanted, radius = above, np.int64(-1), 0.75 * width
                hit = first_hit(x, y, np.int64(-1), there[0], there[1], there[2], work)
                if hit >= 0 and hit % 2 == 1:
                    continue
            elif fills:
                s0, radius = s, (NEAR if k % 2 == 0 else NEXT) * one.pitch
            elif not loop:
                s0, radius = s, DENSE * width
            elif wanted < 0:
                continue
            sides = neighbours(x, y, s0, radius, wanted, there[0], there[1], there[2], work)
            beyond += 1 if asks_above and sides == 0 else 0
            along += 1 if loop and not asks_above and sides != 0 else 0
            dense += 1 if sides == 3 else 0
            close += 1 if k % 2 == 0 and sides != 0 else 0
            ahead += 1 if k % 2 == 1 and sides >= enough else 0
        if fills:
            one.nested = 2 if 4 * min(close, ahead) >= 3 * PROBES else 1
            continue
        one.along = 1 if 2 * along > places else 0
        one.beyond = 1 if beyond > 0.6 * places else 0
        one.dense = 1 if not loop and 2 * dense >= places else 0


@inner_kernel
def measure_rest(number, width, pieces):
    """Measure what each loop holds directly: area and edges without its inner loops, and the path of fill.

    A single bead that leads to a loop is no fill.
    """
    for p in range(number):
        one = pieces[p]
        one.rest, one.edges, one.filled, one.held = abs(one.area), one.path, 0.0, 0
    for p in range(number):
        one = pieces[p]
        if one.parent < 0:
            continue
        around, behind = pieces[one.parent], pieces[min(p + 1, number - 1)]
        if one.area != 0.0:
            around.rest -= abs(one.area)
            around.edges += one.path
        elif one.last > one.first + 1 or behind.chain != one.chain or behind.area == 0.0:
            around.filled += one.path
    for p in range(number):
        one = pieces[p]
        one.gap = 2.0 * one.rest / one.edges
        if one.filled * FARTHEST * width < one.rest or one.filled <= 2.0 * width:
            one.filled = 0.0


@inner_kernel
def _beyond_walls(p, width, pieces):
    """Go outwards from loop p through walls that touch and hold no fill: give the first other loop, -1 none."""
    around, steps = np.int64(pieces[p].parent), 0
    while around >= 0 and pieces[around].filled == 0.0 and pieces[around].gap <= HOLLOW * width:
        around, steps = np.int64(pieces[around].parent), steps + 1
        if steps == DEEPEST:
            return np.int64(-1)
    return around


@inner_kernel
def find_hold(number, width, has_above, is_upper, pieces):
    """Mark the loops of a first layer that are hold-down.

    With a layer above: loops outside of all that goes on there, but not those along a loop whose own fill lies outside,
    too (a foot wider than what stands on it), nor, above the first layer, those along the part (a brim has one layer).
    A loop with lines in it around walls with fill in them is no foot: the part is on one side of a wall only.
    Without: loops around everything that hold no fill and nothing near. In neither case loops in a part (a foot's holes).
    """
    for p in range(number):
        one = pieces[p]
        if has_above:
            one.held = one.beyond
        elif one.area != 0.0 and one.parent >= 0 and pieces[one.parent].filled == 0.0:
            pieces[one.parent].held = 1
    for p in range(number if has_above else 0):
        if pieces[p].held == 0 and pieces[p].filled > 0.0:
            around = _beyond_walls(p, width, pieces)
            if around >= 0 and pieces[around].held == 1:
                pieces[around].filled = 0.0  # by supports: it is a skirt
    for p in range(number):
        one = pieces[p]
        if has_above and (one.held == 0 or one.filled == 0.0):
            if not (is_upper and one.held == 0 and one.along == 1):
                continue
        if not has_above or one.held == 0:
            if one.held == 1 or one.along == 0:
                continue
            one = pieces[one.parent]
        while one.held == 1:
            one.held = 0
            if one.along == 1:
                one = pieces[one.parent]
    for p in range(number):  # what lies in a part is the part's
        q, steps = np.int64(pieces[p].parent), 0
        while q >= 0 and pieces[q].held == 1 and steps < 64:
            q, steps = np.int64(pieces[q].parent), steps + 1
        if q >= 0 and pieces[q].held == 0:
            pieces[p].held = 0


@inner_kernel
def find_air(number, width, pitch, pieces):
    """Say which loops hold air: no fill, and more than a gap to their inner loops; hold-down is no surrounding.

    A loop is alone where air is to both sides of it; the innermost one's own inside may be small. Such loops are
    fill where they follow each other inwards at a pitch::

        | |    |    |    |          two walls and fill: a loop lies a pitch behind each of its places, and the next one
        | |    |    | () |          ahead, or its own far side, no farther than two, as loops that come from
        | |    |    |    |          opposite walls may meet with a gap of up to two

    The pitch is the gap between two loops alone, or the lesser of those beyond, should they meet there; a single one
    may have the ``pitch`` of a layer before.
    """
    for p in range(number):
        one = pieces[p]
        q = np.int64(p)
        while pieces[q].parent >= 0 and pieces[pieces[q].parent].held == 1:
            q = np.int64(pieces[q].parent)
        found, q = pieces[q].parent, np.int64(p)
        while pieces[q].parent != found:  # the next that come this way need not go it again
            beside = np.int64(pieces[q].parent)
            pieces[q].parent = found
            q = beside
        one.air = 1 if one.filled == 0.0 and one.gap > HOLLOW * width else 0
    alone = False
    for p in range(number):
        one = pieces[p]
        one.nested, one.pitch = 0, pitch
        if one.parent >= 0 and one.area != 0.0 and one.held == 0 and pieces[one.parent].air == 1:
            if one.air == 1 or (one.edges == one.path and one.filled == 0.0):
                one.nested, alone = 1, True
    for p in range(number if alone else 0):
        one = pieces[p]
        if one.nested == 1 and pieces[one.parent].nested == 1:
            around = pieces[one.parent]
            step = max(around.gap, min(pieces[around.parent].gap, one.gap))
            if step < FARTHEST * width:
                one.pitch, around.pitch = max(one.pitch, step), max(around.pitch, step)
    return alone


@inner_kernel
def join_nested(number, pitch, pieces):
    """Take those for fill that look so with the loop around them, or alone at the known pitch; give the pitch."""
    found = pitch
    for p in range(number):
        one = pieces[p]
        if one.nested >= 2 and pieces[one.parent].nested >= 2:
            one.nested, pieces[one.parent].nested, found = 3, 3, one.pitch
    for p in range(number):
        one = pieces[p]
        one.nested = 2 if one.nested == 3 or (one.nested == 2 and one.pitch == pitch) else 0
        if one.nested == 2:
            one.air, pieces[one.parent].air = 0, 0
    return found


@inner_kernel
def label_loops(number, width, pieces, work):
    """Return each loop its role, leave the outermost loops of the part as the used pieces, and give their number.

    An outline has air on a side, or nothing around it. The others count from there inwards through the loops that
    touch; ``work[depth]`` sums the area, mm2, of the rooms with fill behind so many walls.
    """
    outermost = 0
    for p in range(number):
        one = pieces[p]
        one.role, one.depth = DEEP, DEEPEST
        if one.parent < 0 or one.air == 1 or pieces[one.parent].air == 1:
            one.role, one.depth = OUTLINE, 1
        if one.held == 1:
            one.role, one.depth = HOLD, DEEPEST
        elif one.nested == 2:
            one.role = INFILL
        one.used = 1 if one.area != 0.0 and one.parent < 0 and one.held == 0 else 0
        outermost += one.used
    for i in range(4 * number):  # to and fro, as programs go inwards or outwards
        p = i % (2 * number)
        one = pieces[p if p < number else 2 * number - 1 - p]
        if one.parent >= 0 and one.area != 0.0 and one.nested != 2:
            around = pieces[one.parent]
            if around.nested != 2 and one.depth > around.depth + 1:
                one.depth = around.depth + 1
            elif around.nested != 2 and around.depth > one.depth + 1:
                around.depth = one.depth + 1
    for p in range(number):
        one = pieces[p]
        if one.filled > 0.0 and one.gap > 2.0 * HOLLOW * width:
            work[one.depth] += np.int64(one.rest)
        if one.nested == 2 and pieces[one.parent].nested != 2:
            work[pieces[one.parent].depth] += np.int64(abs(one.area))
        if one.role == DEEP:
            one.role += one.depth
    return outermost


@inner_kernel
def label_open(p, outside, holds, leading, width, points, pieces, roles):
    """Write the roles of the beads of open piece p; ``leading``: nothing but purge lines came before.

    Within a loop its spacing tells solid from infill; short beads go with the one before them. Outside, a single bead is
    a wall, and parallel ones may be a support and stay unlabelled. With ``holds`` 1 single beads beside all loops
    are hold-down or purge, with 2 parallel ones, too.
    """
    one = pieces[p]
    begin, end = np.int64(one.first), np.int64(one.last)
    x_lo, x_hi, y_lo, y_hi = points[begin].x, points[begin].x, points[begin].y, points[begin].y
    now, lines = SOLID if one.dense == 1 else INFILL, one.dense == 1
    for s in range(end - 1, begin - 1, -1):
        spot, spacing = points[s + 1], points[s].spacing
        x_lo, x_hi = min(x_lo, spot.x), max(x_hi, spot.x)
        y_lo, y_hi = min(y_lo, spot.y), max(y_hi, spot.y)
        if spacing < np.inf:
            now, lines = SOLID if spacing <= DENSE * width else INFILL, True
    wide, high = x_hi - x_lo, y_hi - y_lo
    purge = leading and end - begin <= 12 and min(wide, high) < 3.0 and max(wide, high) > 20.0
    if outside:
        now = UNLABELLED if lines or one.path < 4.0 * width else OUTLINE
        if one.parent < 0 and (holds == 2 or (holds == 1 and (purge or not lines))):
            now = PURGE if purge else HOLD
    for s in range(begin, end):
        spacing = points[s].spacing
        if not outside and spacing < np.inf:
            now = SOLID if spacing <= DENSE * width else INFILL
        roles[points[s + 1].row] = now
    one.role = now
    return purge and now == PURGE


@inner_kernel
def write_roles(number, holds, leading, width, points, pieces, roles):
    """Write the roles of all beads of a layer; tell whether parallel ones beside the part stay unlabelled."""
    propped = False
    for p in range(number):
        one = pieces[p]
        if one.area == 0.0:
            outside = one.parent < 0 or pieces[one.parent].air == 1
            leading = label_open(p, outside, holds, leading, width, points, pieces, roles)
            if one.parent < 0 and one.role == UNLABELLED and one.path >= 4.0 * width:
                propped = True
            continue
        leading = leading and one.held == 1
        for s in range(one.first + 1, one.last + 1):
            roles[points[s].row] = one.role
    for p in range(number):  # a bit of bead before or behind a loop, without travel, goes with it
        one = pieces[p]
        if one.area == 0.0 and one.path <= 2.0 * width:
            q = p + 1 if p + 1 < number and pieces[p + 1].chain == one.chain else p - 1
            if q >= 0 and pieces[q].chain == one.chain:
                for s in range(one.first + 1, one.last + 1):
                    roles[points[s].row] = pieces[q].role
    return propped


@kernel
def infer(kind, x, y, first_move, order, rank, has_next, spiral, width, here, above, work, roles):
    """Write the role of every bead of every layer, in the given order.

    ``has_next`` tells of a first layer that the one above it comes just before it in this order.
    ``here`` and ``above`` are room for two layers, which change places from layer to layer; ``work`` (DEEPEST + 1,) is
    what is left of the searches' bound, and what `label_loops` sums.
    """
    standing, propped = False, False  # whether the part, and lines beside it, were seen in the layer above
    pitch = 0.0  # of nested fill, mm
    for k in order:
        i, end = np.int64(first_move[k]), np.int64(first_move[k + 1])
        first_layer = rank[k] < FIRST_LAYERS
        has_above, standing = has_next[k] and standing, False
        goes_on, propped = has_above and propped, False
        here, above = above, here
        points, pieces, _ = here
        parts = 0
        while i < end and (rank[k] <= FIRST_LAYERS or not spiral[k]):
            n, number, i = split_chains(kind, x, y, i, end, width, points, pieces)
            if n == 0:
                break
            work[0] = WORK * n + 100_000
            nest(n, number, width, here, work)
            look_around(number, width, first_layer, has_above, np.bool_(False), here, above, work)
            measure_rest(number, width, pieces)
            if first_layer:
                find_hold(number, width, has_above, rank[k] > 0, pieces)
            if find_air(number, width, pitch, pieces):
                look_around(number, width, first_layer, has_above, np.bool_(True), here, above, work)
                pitch = join_nested(number, pitch, pieces)
            parts += 1
            outermost = label_loops(number, width, pieces, work)
            standing = outermost > 0 and parts == 1  # one part is no layer
            holds = 0 if not first_layer else (1 if goes_on and outermost > 0 else 2)
            propped = write_roles(number, holds, k == 0, width, points, pieces, roles)
        if spiral[k]:
            for j in range(first_move[k], first_move[k + 1]):
                roles[j] = OUTLINE if kind[j] == BEAD else UNLABELLED
