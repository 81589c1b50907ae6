"""The kernels that turn a depth buffer into a picture: light, colour, the plate, darkening in creases and at edges."""

# mypy: allow-untyped-defs, allow-untyped-calls
from __future__ import annotations

from typing import TYPE_CHECKING, Final, NamedTuple

import numpy as np

from viewer.jit import lean_inner_kernel, lean_kernel
from viewer.part.kernels.columns import Eye
from viewer.part.kernels.raster import FULL_LIGHT, HIGH, PIXELS, WIDE, Tiles

if TYPE_CHECKING:
    from viewer.arrays import F32, I32, U8

f32 = np.float32
i32 = np.int32
i64 = np.int64
u64 = np.uint64
u8 = np.uint8
NOTHING: Final = -1.0e9
"""Depth of a pixel where nothing lies."""
SEEN_FROM: Final = 0.02
"""Sine of the tilt from which on the plate is seen from above."""
GRID_MM: Final = 10.0
AMBIENT: Final = 0.52
DIFFUSE: Final = 0.66
LIFT: Final = 0.13
"""Share of white in every colour: the darkest roles would have no light and shade."""
SHEEN: Final = 0.10
"""Share of white at the brightest place of a bead's profile."""
CREASE: Final = 0.55
EDGE: Final = 0.35
"""How much light creases and edges lose at most."""


class Plate(NamedTuple):
    """The plate's outline, mm; a circle has its middle and radius, with none the radius is below 0 and left is right."""

    left: float
    front: float
    right: float
    back: float
    radius: float


class Paint(NamedTuple):
    """What colour everything has, read-only."""

    index: U8  # (n,) entry of the palette
    palette: U8  # (256, 3)
    lit_from: int  # rows from here ...
    lit_to: int  # ... to here (exclusive) are those of the current layer
    muted: float  # share of the plate's colour that all others take
    glow: float  # share of the glow's colour that the current layer takes
    ground: U8  # (5, 3): beyond the plate, plate, grid, edge, glow
    pixel: int  # pixels of this picture in a pixel of the finished one, a side


class _Across(NamedTuple):
    """What a row of pixels shows of the plane z = 0: x and y are linear in the column, all at one depth."""

    x: float  # mm, in column 0
    y: float
    x_step: float  # mm to the next column
    y_step: float
    depth: float  # mm
    seen: bool  # from above


@lean_inner_kernel
def _plane_across(row, eye):
    """Return what a row shows of the plane z = 0, where the eye is above it."""
    seen = eye.sin > SEEN_FROM
    near = -(eye.down0 - row) / eye.scale / (eye.sin if seen else 1.0)
    right = -eye.across0 / eye.scale
    return _Across(
        right * eye.right_x + near * eye.right_y,
        right * eye.right_y - near * eye.right_x,
        eye.right_x / eye.scale,
        eye.right_y / eye.scale,
        near * eye.cos,
        seen,
    )


@lean_inner_kernel
def _beyond(x, y, plate):
    """Return how far a place lies outside of the plate, mm; negative within."""
    if plate.radius >= 0.0:
        return (
            np.sqrt((x - plate.left) * (x - plate.left) + (y - plate.front) * (y - plate.front))
            - plate.radius
        )
    return max(max(plate.left - x, x - plate.right), max(plate.front - y, y - plate.back))


@lean_kernel
def lay_out(
    tiles: Tiles, columns: int, eye: Eye, plate: Plate, beads: I32, depth: F32, bright: F32, first: int, last: int
) -> None:  # fmt: skip
    """Fill bead (-1: none), depth (mm) and brightness (0 .. 1) of the pixels in the rows ``first`` to ``last``.

    Where no bead lies the depth is that of the plate, or `NOTHING`.
    """
    per_step, light = f32(1.0 / eye.depth_scale), f32(1.0 / FULL_LIGHT)
    least = f32(eye.depth0)
    for row in range(first, last):
        plane = _plane_across(row, eye)
        for tile in range(tiles.across):
            at = ((row // HIGH) * tiles.across + tile) * (2 * PIXELS) + (row % HIGH) * WIDE
            begin = tile * WIDE
            for j in range(min(WIDE, columns - begin)):
                key = tiles.pixels[u64(at + j)]
                n = u64(row * columns + begin + j)
                if key > 0:
                    beads[n] = tiles.pixels[u64(at + PIXELS + j)]
                    depth[n] = f32(key >> 8) * per_step + least
                    bright[n] = f32(key & 255) * light
                    continue
                x, y = plane.x + (begin + j) * plane.x_step, plane.y + (begin + j) * plane.y_step
                on_plate = plane.seen and _beyond(x, y, plate) <= 0.0
                beads[n] = i32(-1)
                depth[n] = f32(plane.depth) if on_plate else f32(NOTHING)
                bright[n] = f32(0.0)


@lean_kernel
def smooth(
    bright: F32, depth: F32, columns: int, strength: float, reach: float, out: F32, first: int, last: int
) -> None:
    """Fill ``out`` with the brightness, mixed (``strength`` 0 .. 1) with its mean about each pixel.

    Only pixels whose depth differs by less than ``reach`` mm count. Where a bead is only some pixels high, pixel centres
    meet its profile now here, now there: without this, walls would be striped.
    """
    rows = len(depth) // columns
    mixed, limit = f32(strength), f32(reach)
    for row in range(first, last):
        begin = row * columns
        if row < 3 or row >= rows - 3:
            for column in range(columns):
                out[u64(begin + column)] = bright[u64(begin + column)]
            continue
        for column in range(columns):
            at = begin + column
            here = depth[u64(at)]
            total, weight = bright[u64(at)], f32(1.0)
            for k in range(1, 4):
                for side in (at - k * columns, at + k * columns):
                    counts = f32(1.0) if abs(depth[u64(side)] - here) < limit else f32(0.0)
                    total += counts * bright[u64(side)]
                    weight += counts
            out[u64(at)] = bright[u64(at)] * (f32(1.0) - mixed) + mixed * total / weight


@lean_kernel
def darken(
    depth: F32, columns: int, near: int, wide: int, scale: float, strength: float, kept: F32, first: int, last: int
) -> None:  # fmt: skip
    """Fill how much of its light each pixel keeps, 0 .. 1: less in creases, and on the near side of edges.

    Pairs of pixels on either side, ``near`` and ``wide`` pixels away, are looked at: on a tilted plane one is as much
    nearer as the other is farther, in a crease both are nearer, at an edge one is much farther. ``scale`` is pixels in
    a mm; ``strength`` 1 leaves the near pairs out, as `smooth` does the profile of beads. Next to the rim of the
    picture all light is kept.
    """
    rows = len(depth) // columns
    reach_near, reach_wide = f32(near / scale), f32(wide / scale)
    far = f32(1.0 / max(1.5, 2.0 * near / scale))
    slant = (wide * 7) // 10
    for row in range(first, last):
        begin = row * columns
        for column in range(columns):
            kept[u64(begin + column)] = f32(1.0)
        if row < wide or row >= rows - wide:
            continue
        for column in range(wide, columns - wide):
            at = begin + column
            here = depth[u64(at)]
            total = f32(0.0)
            for step in (near, near * columns):
                total += _pair(depth, at, step, here, reach_near)
            crease = total * f32(0.2 * (1.0 - strength)) / reach_near
            total = f32(0.0)
            for step in (wide, wide * columns, slant * columns + slant, slant * columns - slant):
                total += _pair(depth, at, step, here, reach_wide)
            crease += total * f32(0.6 / 4.0) / reach_wide
            level = depth[u64(at - 1)] + depth[u64(at + 1)]
            upright = depth[u64(at - columns)] + depth[u64(at + columns)]
            edge = min(max((here + here - min(level, upright)) * far - f32(0.5), f32(0.0)), f32(1.0))
            light = f32(1.0) - f32(CREASE) * min(crease * f32(1.6), f32(1.0))
            kept[u64(at)] = light * (f32(1.0) - f32(EDGE) * edge)


@lean_inner_kernel
def _pair(depth, at, step, here, reach):
    """Return how far the pixels ``step`` before and behind stand out over this one, mm."""
    one = min(max(depth[u64(at + step)] - here, -reach), reach)
    other = min(max(depth[u64(at - step)] - here, -reach), reach)
    return max(one + other, f32(0.0))


@lean_inner_kernel
def _ground_at(x, y, eye, plate, pixel):
    """Return the row of `Paint.ground` of a place on the plane of the plate."""
    beyond = _beyond(x, y, plate)
    wide = pixel / eye.scale
    if abs(beyond) < 0.9 * wide / max(eye.sin, 0.3):
        return i64(3)
    if beyond > 0.0:
        return i64(0)
    off_x, off_y = abs(x - GRID_MM * np.rint(x / GRID_MM)), abs(y - GRID_MM * np.rint(y / GRID_MM))
    if wide < 0.5 * min(1.0, 3.0 * eye.sin) and min(off_x, off_y) < 0.6 * wide:
        return i64(2)
    return i64(1)


@lean_kernel
def paint_rows(
    beads: I32, columns: int, depth: F32, bright: F32, kept: F32, eye: Eye, plate: Plate, paint: Paint,
    image: U8, first: int, last: int,
) -> None:  # fmt: skip
    """Colour the pixels of the rows ``first`` to ``last`` (exclusive) of ``image`` (pixels x 4)."""
    for row in range(first, last):
        plane = _plane_across(row, eye)
        for column in range(columns):
            at = u64(row * columns + column)
            k = beads[at]
            image[at, 3] = u8(255)
            if k < 0:
                ground = i64(0)
                if plane.seen:
                    x, y = plane.x + column * plane.x_step, plane.y + column * plane.y_step
                    ground = _ground_at(x, y, eye, plate, paint.pixel)
                light = kept[at] if depth[at] > f32(NOTHING) else f32(1.0)
                for j in range(3):
                    image[at, j] = u8(f32(paint.ground[ground, j]) * light)
                continue
            lit = f32(AMBIENT) + f32(DIFFUSE) * bright[at]
            sheen = f32(255.0 * SHEEN) * bright[at] * bright[at]
            lit_up = k >= paint.lit_from and k < paint.lit_to
            mixed, other = (f32(paint.glow), 4) if lit_up else (f32(paint.muted), 1)
            entry = paint.index[k]
            for j in range(3):
                colour = (
                    (f32(paint.palette[entry, j]) * f32(1.0 - LIFT) + f32(255.0 * LIFT)) * lit + sheen
                ) * (f32(1.0) - mixed)
                colour += f32(paint.ground[other, j]) * mixed
                image[at, j] = u8(min(colour * kept[at], f32(255.0)))
