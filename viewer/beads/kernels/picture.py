"""The kernels that draw beads as anti-aliased pictures of premultiplied 0xAARRGGBB.

See `oblong` for where pixels lie; a picture has row 0 on top. A pixel's weight is that of a box one pixel wide, laid
across the edge: clip(r + 1/2 - distance, 0, 1). A bead thinner than a pixel weighs at most its width, and along the bead
its share of the pixel, so that a line keeps its weight however finely it is cut.
"""

# mypy: allow-untyped-defs, allow-untyped-calls
from __future__ import annotations

from typing import TYPE_CHECKING, Final, NamedTuple

import numpy as np

from viewer.beads.kernels.columns import Segments
from viewer.beads.kernels.oblong import LARGEST, Frame, direction_of, oblong_of
from viewer.jit import inner_kernel, kernel

if TYPE_CHECKING:
    import numpy.typing as npt

    from viewer.arrays import U8

    U32 = npt.NDArray[np.uint32]

f32 = np.float32
i32 = np.int32
u32 = np.uint32
u64 = np.uint64

LEVEL: Final = 1e-6
"""Rise of a unit vector below which a bead counts as level: only whole pixels are looked for."""
SHORT: Final = 5
"""Spans of fewer pixels are painted one by one: they are not worth the set-up of vector registers."""
LANES = u32(0x00FF00FF)
HALVES = u32(0x00800080)


class Colours(NamedTuple):
    """The colour of each bead, read-only."""

    index: U8  # (n,) entry of the palette
    palette: U32  # (256,) premultiplied 0xAARRGGBB
    soft: float  # share of its weight that a bead loses towards its sides; 0: as heavy everywhere


class Band(NamedTuple):
    """The rows of a picture that change, the end exclusive, and how many pixels a row has."""

    row_lo: int
    row_hi: int
    columns: int


class Place(NamedTuple):
    """Where a pixel lies to a bead, float32, in pixels."""

    begin: float  # how far before one end (negative: within)
    end: float  # how far beyond the other
    across: float  # from the middle line


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
def _thick_weight(begin, end, across, r, fall):
    """Return the weight 0 .. 256 of a pixel in a bead at least a pixel wide.

    ``begin`` and ``end`` are how far the pixel lies before one end and beyond the other (negative: within). ``fall``
    is what is lost of the weight at a pixel beside the middle line, growing with the square of the distance from it.
    """
    past = max(max(begin, end), f32(0.0))
    share = r + f32(0.5) - np.sqrt(across * across + past * past)
    share = min(max(share, f32(0.0)), f32(1.0)) * (f32(256.0) - fall * (across * across))
    return u32(i32(share + f32(0.5)))


@inner_kernel
def _thin_weight(begin, end, across, r):
    """Return the weight of a pixel in a bead thinner than one: the bead's share of a box that lies along it."""
    share = max(min(r + r, r + f32(0.5) - abs(across)), f32(0.0))
    share *= max(min(-begin, f32(0.5)) + min(-end, f32(0.5)), f32(0.0))
    return u32(i32(min(share, f32(1.0)) * f32(256.0) + f32(0.5)))


@kernel
def _paint_row(image, first, count, place, ux, uy, r, fall, colour, alpha):
    """Paint ``count`` pixels of one row; ``place`` is that of its first pixel.

    They are short numbers there, so that float32, of which a register holds twice as many, places a bead
    exactly even where its far end is a million pixels away.
    """
    begin, end, across = place
    if r >= f32(0.5):
        for q in range(count):
            step = f32(i32(q))
            weight = _thick_weight(begin - step * ux, end + step * ux, across + step * uy, r, fall)
            at = u64(first + q)
            image[at] = _over(image[at], colour, alpha, weight)
    else:
        for q in range(count):
            step = f32(i32(q))
            weight = _thin_weight(begin - step * ux, end + step * ux, across + step * uy, r)
            at = u64(first + q)
            image[at] = _over(image[at], colour, alpha, weight)


@inner_kernel
def _paint_bead(image, band, bead, reach, soft, colour):
    """Paint one bead given in pixels.

    The span of a row is that of the strip of half-width ``reach`` cut by the bead's box: a little more
    than the oblong at its round ends, where the weight comes out as 0, but without a square root or a branch.
    """
    x0, y0, x1, y1, r = bead
    ux, uy, length = direction_of(bead)
    if not length < LARGEST:
        return
    alpha = u32(colour >> u32(24))
    alpha = u32(alpha + u32(alpha >> u32(7)))  # 0 .. 255 to 0 .. 256
    steep = max(uy, LEVEL)
    lean = ux / steep
    half = reach / steep
    thick = r >= 0.5
    fall = f32(256.0 * soft / ((r + 0.5) * (r + 0.5)))
    low = max(min(x0, x1) - reach, 0.0)
    high = min(max(x0, x1) + reach, band.columns - 1.0)
    top = int(min(np.floor(y1 + reach), band.row_hi - 1.0))
    for i in range(int(max(np.ceil(y0 - reach), float(band.row_lo))), top + 1):
        py = i - y0
        left = int(np.ceil(max(x0 + py * lean - half, low)))
        right = int(np.floor(min(x0 + py * lean + half, high)))
        if left <= right:
            px = left - x0
            along = px * ux + py * uy
            place = Place(f32(-along), f32(along - length), f32(px * uy - py * ux))
            if thick and right - left < SHORT:
                begin, end, across = place
                at = u64(i * band.columns + left)
                last = u64(i * band.columns + right)
                while at <= last:
                    weight = _thick_weight(begin, end, across, f32(r), fall)
                    image[at] = _over(image[at], colour, alpha, weight)
                    begin -= f32(ux)
                    end += f32(ux)
                    across += f32(uy)
                    at += u64(1)
                continue
            first = i * band.columns + left
            _paint_row(image, first, right - left + 1, place, f32(ux), f32(uy), f32(r), fall, colour, alpha)


@kernel
def paint(image: U32, segments: Segments, colours: Colours, frame: Frame, band: Band) -> None:
    """Draw anti-aliased beads over a flat ``image`` of premultiplied 0xAARRGGBB, in the order given.

    Only the rows of ``band`` change. A bead with an end or a width that is not finite, or without a width, is left out.
    """
    for k in range(len(colours.index)):
        bead = oblong_of(segments, k, frame, -frame.scale)
        x0, y0, x1, y1, r = bead
        reach = r + 0.5 if r >= 0.5 else r + 0.75
        if not (y0 - reach < band.row_hi and y1 + reach >= band.row_lo and 0.0 < r < LARGEST):
            continue
        if min(x0, x1) - reach < band.columns and max(x0, x1) + reach >= 0.0:
            _paint_bead(image, band, bead, reach, colours.soft, colours.palette[colours.index[k]])
