"""Beads drawn: exact masks for figures and checks, anti-aliased pictures, the bead under the pointer."""

# mypy: allow-untyped-calls
from __future__ import annotations

from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from typing import TypeVar

import numpy as np
import numpy.typing as npt

from viewer.arrays import F32, F64, U8, columns_of, read_only
from viewer.beads.kernels import mask as _mask
from viewer.beads.kernels import picture as _picture
from viewer.beads.kernels.columns import Segments
from viewer.beads.kernels.nearest import find_nearest
from viewer.beads.kernels.oblong import Frame
from viewer.beads.section import Beads

_T = TypeVar("_T", bound=np.generic)
U32 = npt.NDArray[np.uint32]
ASLANT_RAD = np.pi / 8
"""Where narrow gaps are measured, beads are drawn turned by so much. Lines along an axis, a whole number of cells apart,
would meet all cells alike: a gap of 0.01 mm then counts in every row of cells as a whole one, or in none. At this
angle to the axes (and to lines at 45 degrees) a line meets the cells everywhere differently."""
UNKNOWN_INDEX = 255
"""Palette entry for a value that is not known."""


@dataclass(frozen=True, slots=True)
class Grid:
    """Where a mask lies: cell (i, j) covers x from left + j cell, y from front + i cell (row 0 in front)."""

    left_mm: float
    front_mm: float
    cell_mm: float


@dataclass(frozen=True, slots=True)
class View:
    """Where a picture looks: pixel (i, j) covers x from left + j/scale and y *down* from top - i/scale."""

    left_mm: float
    top_mm: float
    px_per_mm: float


def draw_mask(
    mask: U8,
    beads: Beads,
    grid: Grid,
    bits: int | U8 = 1,
    rows: tuple[int, int] | None = None,
    columns: tuple[int, int] | None = None,
    threads: int = 1,
) -> None:
    """Set bits in every cell whose centre lies within a bead's footprint.

    Parameters
    ----------
    mask
        (h, w) is changed: the bits are added to what stands there.
    beads
        What to draw.
    grid
        Where the mask lies.
    bits
        What is set, for all beads or (n,) for each: with one bit a role, one mask tells them apart.
    rows, columns
        First and last (exclusive) to change; None: all.
    threads
        Number of bands that the rows are split into, drawn at the same time; the result is the same.
    """
    row_lo, row_hi = _within(rows, mask.shape[0])
    column_lo, column_hi = _within(columns, mask.shape[1])
    each = np.full(len(beads), bits, np.uint8) if isinstance(bits, int) else bits
    cells, entries = _writable(mask, np.uint8), read_only(_as_long(each, len(beads)))
    segments = columns_of(Segments, beads)
    frame = Frame(float(grid.left_mm), float(grid.front_mm), 1.0 / grid.cell_mm)

    def band(low: int, high: int) -> None:
        part = _mask.Part(low, high, column_lo, column_hi)
        _mask.mark_cells(cells, segments, entries, frame, part)

    _in_bands(row_lo, row_hi, threads, band)


def draw_picture(
    image: U32, beads: Beads, index: U8, palette: U32, view: View, threads: int = 2, soft: float = 0.0
) -> None:
    """Draw beads at their true width, anti-aliased, in the order given, over what stands in the image.

    Parameters
    ----------
    image
        (h, w) premultiplied 0xAARRGGBB, changed in place: on a little-endian machine the bytes B, G, R, A.
    beads
        What to draw; what is out of view costs little.
    index
        (n,) palette entry of each bead; see `palette_index`.
    palette
        (256,) premultiplied colours; see `premultiplied`.
    view
        Where the picture looks.
    threads
        Number of bands that the picture's rows are split into, drawn at the same time; the result is the same.
    soft
        Share of its weight, 0 .. 0.6, that a bead loses from its middle line to its sides.
    """
    _paint(image, columns_of(Segments, beads), _as_long(index, len(beads)), palette, view, threads, soft)


def draw_lines(
    image: U32,
    segments: tuple[F32, F32, F32, F32],
    width_px: float,
    colour: int,
    view: View,
    threads: int = 1,
) -> None:
    """Draw straight lines of one width in pixels and one premultiplied colour: travel.

    ``segments`` are the columns x0, y0, x1, y1 in mm, (n,) each.
    """
    count = len(segments[0])
    width = np.full(count, width_px / view.px_per_mm, np.float32)
    palette = np.full(256, colour, np.uint32)
    lines = Segments(*(read_only(column) for column in (*segments, width)))
    _paint(image, lines, np.zeros(count, np.uint8), palette, view, threads)


def nearest_bead(x_mm: float, y_mm: float, beads: Beads) -> tuple[int, float]:
    """Return the row of the bead nearest to a point and the distance to its footprint, mm.

    Within footprints the distance is 0; of equal ones it is the later, which lies on top in the picture.
    Without beads it is (-1, inf).
    """
    found = find_nearest(float(x_mm), float(y_mm), columns_of(Segments, beads))
    return int(found.bead), float(found.distance_mm)


def premultiplied(rgba: U8) -> U32:
    """Return colours (..., 4) of red, green, blue, alpha as premultiplied 0xAARRGGBB (...)."""
    colour = np.asarray(rgba, dtype=np.uint32)
    alpha = colour[..., 3]
    red, green, blue = ((colour[..., k] * alpha + 127) // 255 for k in range(3))
    return np.asarray((alpha << 24) | (red << 16) | (green << 8) | blue, dtype=np.uint32)


def palette_index(values: npt.ArrayLike, low: float, high: float) -> U8:
    """Return the palette entries 0 .. 254 of values from ``low`` to ``high``; `UNKNOWN_INDEX` for NaN."""
    value: F64 = np.asarray(values, dtype=np.float64)
    span = high - low
    share = (value - low) / span if span > 0.0 else np.where(np.isnan(value), np.nan, 0.0)
    known = ~np.isnan(share)
    level = np.rint(254.0 * np.clip(np.where(known, share, 0.0), 0.0, 1.0))
    return np.asarray(np.where(known, level, UNKNOWN_INDEX), dtype=np.uint8)


def _paint(
    image: U32, segments: Segments, index: U8, palette: U32, view: View, threads: int, soft: float = 0.0
) -> None:
    """Run the drawing kernel over the bands of the picture."""
    rows, columns = image.shape
    flat = _writable(image, np.uint32).reshape(-1)
    colours = _picture.Colours(read_only(index), read_only(_as_long(palette, 256)), float(soft))
    frame = Frame(float(view.left_mm), float(view.top_mm), float(view.px_per_mm))

    def band(low: int, high: int) -> None:
        _picture.paint(flat, segments, colours, frame, _picture.Band(low, high, columns))

    _in_bands(0, rows, threads, band)


def _in_bands(low: int, high: int, threads: int, draw: Callable[[int, int], None]) -> None:
    """Draw the rows ``low`` to ``high`` (exclusive) in as many bands as threads, at the same time."""
    edges = [low + (high - low) * k // threads for k in range(threads + 1)]
    if threads == 1:
        draw(low, high)
        return
    with ThreadPoolExecutor(threads - 1) as pool:
        others = [pool.submit(draw, edges[k], edges[k + 1]) for k in range(1, threads)]
        draw(edges[0], edges[1])
        for other in others:
            other.result()


def _within(limits: tuple[int, int] | None, size: int) -> tuple[int, int]:
    """Return first and last (exclusive) cut to the mask's size."""
    if limits is None:
        return 0, size
    return max(int(limits[0]), 0), min(int(limits[1]), size)


def _writable(array: npt.NDArray[_T], dtype: type[np.generic]) -> npt.NDArray[_T]:
    """Return the array if the kernel can change it in place; a copy would be drawn into and lost."""
    if array.dtype != dtype or not array.flags.c_contiguous or not array.flags.writeable:
        raise ValueError(f"a writable C-contiguous {np.dtype(dtype)} array is needed, not {array.dtype}")
    return array


def _as_long(column: npt.NDArray[_T], count: int) -> npt.NDArray[_T]:
    """Return the column if it has one entry each: the kernels do not check."""
    if len(column) != count:
        raise ValueError(f"{len(column)} entries for {count}")
    return column
