r"""The kernels that draw beads as masks and pictures, find the one under the pointer and measure masks.

Inside a drawing kernel the unit is one cell (pixel), and the *centre* of cell j lies at the whole number j::

    column = (x - origin_x) * scale - 1/2          row = (y - origin_y) * scale_y - 1/2

``scale_y`` is negative where row 0 is the top of a picture. A footprint is an oblong: all points within r of
a straight segment. It is convex, so a row meets it in one span::

            ___________________
          /                     \          left edge on row y:
         |   A - - - - - - - B   |         round end of A, straight side, round end of B
          \ ___________________ /
"""

# mypy: allow-untyped-defs, allow-untyped-calls
from __future__ import annotations

import numpy as np

from viewer.jit import inner_kernel, kernel

f32 = np.float32
i32 = np.int32
u32 = np.uint32
u64 = np.uint64
FLAT = 1e-12
"""Rise of a unit vector below which an oblong lies level."""
LEVEL = 1e-6
"""The same where only whole pixels are looked for."""
SHORT = 5
LARGEST = 1e9
"""Cells: a bead wider or longer than this is not drawn: its edges are beyond what a float can place."""
LANES = u32(0x00FF00FF)
HALVES = u32(0x00800080)
NEAR_TOP = 255


@inner_kernel
def _left(y, x0, y0, x1, y1, ux, uy, r):
    """Return the left edge on row ``y`` of an oblong with y0 <= y1; its mirror picture's gives the right one.

    The straight side runs from y0 + r ux to y1 + r ux. A level oblong (uy = 0) has no straight left side: it
    meets that branch only where its round end touches the row above or below.
    """
    shift = r * ux
    if y < y0 + shift:
        return x0 - np.sqrt(max(0.0, r * r - (y - y0) * (y - y0)))
    if y > y1 + shift:
        return x1 - np.sqrt(max(0.0, r * r - (y - y1) * (y - y1)))
    if uy < FLAT:
        return min(x0, x1)
    return x0 + ((y - y0) * ux - r) / uy


@inner_kernel
def _in_cells(ax, ay, bx, by, origin_x, origin_y, scale, scale_y):
    """Return both ends in cells, the one with the lower row first: x0, y0, x1, y1."""
    x0 = (np.float64(ax) - origin_x) * scale - 0.5
    y0 = (np.float64(ay) - origin_y) * scale_y - 0.5
    x1 = (np.float64(bx) - origin_x) * scale - 0.5
    y1 = (np.float64(by) - origin_y) * scale_y - 0.5
    if y0 <= y1:
        return x0, y0, x1, y1
    return x1, y1, x0, y0


@inner_kernel
def _direction(x0, y0, x1, y1):
    """Return the unit vector from one end to the other and the length; a point looks up, with length 0."""
    dx = x1 - x0
    dy = y1 - y0
    length = np.sqrt(dx * dx + dy * dy)
    if length == 0.0:
        return 0.0, 1.0, 0.0
    return dx / length, dy / length, length


@kernel
def mark_cells(
    grid, ax, ay, bx, by, width, bits, origin_x, origin_y, scale, row_lo, row_hi, column_lo, column_hi
):  # fmt: skip
    """Set ``bits[k]`` in every cell of ``grid`` (rows, columns) whose centre lies within bead k's footprint.

    Only rows ``row_lo`` to ``row_hi`` and columns ``column_lo`` to ``column_hi`` (exclusive) change. A
    bead with an end or a width that is not finite is left out: no cell can be named for it.
    """
    for k in range(len(ax)):
        x0, y0, x1, y1 = _in_cells(ax[k], ay[k], bx[k], by[k], origin_x, origin_y, scale, scale)
        r = 0.5 * width[k] * scale
        if not (y0 - r < row_hi and y1 + r >= row_lo and r < LARGEST):
            continue
        if not (min(x0, x1) - r < column_hi and max(x0, x1) + r >= column_lo):
            continue
        ux, uy, length = _direction(x0, y0, x1, y1)
        if not length < LARGEST:
            continue
        bit = bits[k]
        top = int(min(np.floor(y1 + r), row_hi - 1.0))
        for i in range(int(max(np.ceil(y0 - r), float(row_lo))), top + 1):
            left = np.ceil(_left(float(i), x0, y0, x1, y1, ux, uy, r))
            right = np.floor(-_left(float(i), -x0, y0, -x1, y1, -ux, uy, r))
            if left <= right:
                j_end = int(min(right, column_hi - 1.0)) + 1
                for j in range(int(max(left, float(column_lo))), j_end):
                    grid[i, j] |= bit


@kernel
def shrink(mask, bit, radius, near, result):
    """Set ``result`` to 1 where no cell within ``radius`` cells lacks ``bit`` in ``mask``: erosion by a disc.

    ``near`` (rows, columns) is room for the distance along the row to the nearest cell that lacks it, so that
    one comparison a row of the disc is enough. Beyond the grid nothing counts as lacking. The radius is below
    `NEAR_TOP`.
    """
    rows, columns = mask.shape
    for i in range(rows):
        d = NEAR_TOP
        for j in range(columns):
            d = min(d + 1, NEAR_TOP) if mask[i, j] & bit else 0
            near[i, j] = d
        for j in range(columns - 1, -1, -1):
            d = min(d + 1, NEAR_TOP, near[i, j]) if mask[i, j] & bit else 0
            near[i, j] = d
    deep = int(radius)
    for i in range(rows):
        for j in range(columns):
            result[i, j] = 1
        for k in range(max(0, i - deep), min(rows, i + deep + 1)):
            half = np.uint8(np.sqrt(radius * radius - (k - i) * (k - i)))
            for j in range(columns):
                result[i, j] &= near[k, j] > half


@kernel
def sum_regions(labels, mask, part_bit, sums):
    """Add up ``mask``'s cells by label: ``sums`` (labels + 1, 4) of n, columns, rows, n with it."""
    rows, columns = mask.shape
    for i in range(rows):
        for j in range(columns):
            if mask[i, j]:
                k = labels[i, j]
                sums[k, 0] += 1.0
                sums[k, 1] += j
                sums[k, 2] += i
                if mask[i, j] & part_bit:
                    sums[k, 3] += 1.0


@kernel
def _over(pixel, colour, alpha, weight):
    """Lay ``colour`` (premultiplied, ``alpha`` 0 .. 256) over ``pixel`` with ``weight`` 0 .. 256; all uint32.

    Two bytes are mixed at once, in lanes of 16 bits. The share kept of the pixel is rounded down, so that no
    lane can exceed 255 and spill into the next. Each step is cut back to 32 bits, or half as many
    pixels would fit in a vector register.
    """
    keep = u32(u32(256) - u32(u32(u32(alpha * weight) + u32(255)) >> u32(8)))
    low = u32(u32(u32(pixel & LANES) * keep) + u32(u32(colour & LANES) * weight))
    high = u32(
        u32(u32(u32(pixel >> u32(8)) & LANES) * keep) + u32(u32(u32(colour >> u32(8)) & LANES) * weight)
    )
    low = u32(u32(u32(low + HALVES) >> u32(8)) & LANES)
    return u32(low | u32(u32(high + HALVES) & ~LANES))


@inner_kernel
def _thick_weight(begin, end, across, r):
    """Return the weight 0 .. 256 of a pixel in a bead at least a pixel wide.

    ``begin`` and ``end`` are how far the pixel lies before one end and beyond the other (negative: within).
    """
    past = max(max(begin, end), f32(0.0))
    share = r + f32(0.5) - np.sqrt(across * across + past * past)
    return u32(i32(min(max(share, f32(0.0)), f32(1.0)) * f32(256.0) + f32(0.5)))


@inner_kernel
def _thin_weight(begin, end, across, r):
    """Return the weight of a pixel in a bead thinner than one: the bead's share of a box that lies along it."""
    share = max(min(r + r, r + f32(0.5) - abs(across)), f32(0.0))
    share *= max(min(-begin, f32(0.5)) + min(-end, f32(0.5)), f32(0.0))
    return u32(i32(min(share, f32(1.0)) * f32(256.0) + f32(0.5)))


@kernel
def _paint_row(image, first, count, begin, end, across, ux, uy, r, colour, alpha):
    """Paint ``count`` pixels of one row; the distances are those of its first pixel.

    They are short numbers there, so that float32, of which a register holds twice as many, places a bead
    exactly even where its far end is a million pixels away.
    """
    if r >= f32(0.5):
        for q in range(count):
            step = f32(i32(q))
            weight = _thick_weight(begin - step * ux, end + step * ux, across + step * uy, r)
            at = u64(first + q)
            image[at] = _over(image[at], colour, alpha, weight)
    else:
        for q in range(count):
            step = f32(i32(q))
            weight = _thin_weight(begin - step * ux, end + step * ux, across + step * uy, r)
            at = u64(first + q)
            image[at] = _over(image[at], colour, alpha, weight)


@inner_kernel
def _paint_bead(image, columns, row_lo, row_hi, x0, y0, x1, y1, r, reach, colour):
    """Paint one bead given in pixels, lower row first.

    The span of a row is that of the strip of half-width ``reach`` cut by the bead's box: a little more
    than the oblong at its round ends, where the weight comes out as 0, but without a square root or a branch.
    """
    ux, uy, length = _direction(x0, y0, x1, y1)
    if not length < LARGEST:
        return
    alpha = u32(colour >> u32(24))
    alpha = u32(alpha + u32(alpha >> u32(7)))
    steep = max(uy, LEVEL)
    lean = ux / steep
    half = reach / steep
    thick = r >= 0.5
    low = max(min(x0, x1) - reach, 0.0)
    high = min(max(x0, x1) + reach, columns - 1.0)
    top = int(min(np.floor(y1 + reach), row_hi - 1.0))
    for i in range(int(max(np.ceil(y0 - reach), float(row_lo))), top + 1):
        py = i - y0
        left = int(np.ceil(max(x0 + py * lean - half, low)))
        right = int(np.floor(min(x0 + py * lean + half, high)))
        if left <= right:
            px = left - x0
            along = px * ux + py * uy
            if thick and right - left < SHORT:  # a few pixels a row are not worth vector registers
                begin, end, across = f32(-along), f32(along - length), f32(px * uy - py * ux)
                at = u64(i * columns + left)
                last = u64(i * columns + right)
                while at <= last:
                    weight = _thick_weight(begin, end, across, f32(r))
                    image[at] = _over(image[at], colour, alpha, weight)
                    begin -= f32(ux)
                    end += f32(ux)
                    across += f32(uy)
                    at += u64(1)
                continue
            _paint_row(
                image, i * columns + left, right - left + 1, f32(-along), f32(along - length),
                f32(px * uy - py * ux), f32(ux), f32(uy), f32(r), colour, alpha,
            )  # fmt: skip


@kernel
def paint(
    image, columns, ax, ay, bx, by, width, index, palette, origin_x, origin_y, scale, row_lo, row_hi
):  # fmt: skip
    """Draw anti-aliased beads over a flat ``image`` of premultiplied 0xAARRGGBB, in the order given.

    A pixel's weight is that of a box one pixel wide, laid across the edge: clip(r + 1/2 - distance, 0, 1). A
    bead thinner than a pixel weighs at most its width, and along the bead its share of the pixel, so that a
    line keeps its weight however finely it is cut. Only rows ``row_lo`` to ``row_hi`` (exclusive) change.
    """
    for k in range(len(ax)):
        x0, y0, x1, y1 = _in_cells(ax[k], ay[k], bx[k], by[k], origin_x, origin_y, scale, -scale)
        r = 0.5 * width[k] * scale
        reach = r + 0.5 if r >= 0.5 else r + 0.75
        if not (y0 - reach < row_hi and y1 + reach >= row_lo and 0.0 < r < LARGEST):
            continue
        if min(x0, x1) - reach < columns and max(x0, x1) + reach >= 0.0:
            _paint_bead(image, columns, row_lo, row_hi, x0, y0, x1, y1, r, reach, palette[index[k]])


@kernel
def find_nearest(x, y, x0, y0, x1, y1, width):
    """Return the bead whose footprint is nearest to a point (the later of equals; -1: none), and how far."""
    found = -1
    best = np.inf
    for k in range(len(x0)):
        ax, ay = np.float64(x0[k]), np.float64(y0[k])
        dx, dy = x1[k] - ax, y1[k] - ay
        square = dx * dx + dy * dy
        at = ((x - ax) * dx + (y - ay) * dy) / square if square > 0.0 else 0.0
        at = min(max(at, 0.0), 1.0)
        away = np.hypot(x - ax - at * dx, y - ay - at * dy) - 0.5 * width[k]
        if max(away, 0.0) <= best:
            best = max(away, 0.0)
            found = k
    return found, best
