"""The kernels that turn a depth buffer into a picture: light, colour, the plate, darkening in creases and at edges."""

# mypy: allow-untyped-defs, allow-untyped-calls
from __future__ import annotations

from typing import TYPE_CHECKING, Final, NamedTuple

import numpy as np

from viewer.jit import lean_inner_kernel, lean_kernel
from viewer.part.kernels.columns import HEIGHT_GROWTH, Eye, Plane, Solid, capsule_of, clipped

if TYPE_CHECKING:
    import numpy.typing as npt

    from viewer.arrays import F32, U8

f32 = np.float32
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


class Light(NamedTuple):
    """Direction to the light: to the right, level towards the eye, up."""

    right: float
    near: float
    up: float


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


@lean_inner_kernel
def _plate_place(row, column, eye):
    """Return the place (x, y) on the plane z = 0 that a pixel shows, mm, and its depth; ``eye.sin`` is not 0."""
    right = (column - eye.across0) / eye.scale
    up = (eye.down0 - row) / eye.scale
    near = -up / eye.sin
    return right * eye.right_x + near * eye.right_y, right * eye.right_y - near * eye.right_x, near * eye.cos


@lean_inner_kernel
def _beyond(x, y, plate):
    """Return how far a place lies outside of the plate, mm; negative within."""
    if plate.radius >= 0.0:
        return (
            np.sqrt((x - plate.left) * (x - plate.left) + (y - plate.front) * (y - plate.front))
            - plate.radius
        )
    return max(max(plate.left - x, x - plate.right), max(plate.front - y, y - plate.back))


@lean_inner_kernel
def _light_at(one, column, row, a, b, eye, light):
    """Return what falls on a pixel of a bead, 0 .. 1.2: its normal is that of the ellipsoid nearest to it."""
    x = (column - one.across) / one.half_across
    y = (row - one.down) / one.half_down
    along = min(max(x * one.ux + y * one.uy, 0.0), one.length)
    p, q = x - along * one.ux, y - along * one.uy
    c = np.sqrt(a * a * eye.sin * eye.sin + b * b * eye.cos * eye.cos)
    up = -q * c
    toward = q * one.skew + one.bulge * np.sqrt(max(0.0, 1.0 - p * p - q * q))
    across = p / a
    near = (toward * eye.cos - up * eye.sin) / (a * a)
    high = (up * eye.cos + toward * eye.sin) / (b * b)
    size = np.sqrt(across * across + near * near + high * high)
    return max(across * light.right + near * light.near + high * light.up, 0.0) / max(size, 1e-9)


@lean_kernel
def light_up(
    one: npt.NDArray[np.uint64], other: npt.NDArray[np.uint64], columns: int, solid: Solid, eye: Eye, plane: Plane,
    light: Light, plate: Plate, depth: F32, bright: F32, first: int, last: int,
) -> None:  # fmt: skip
    """Join two depth buffers in the rows ``first`` to ``last``; fill depth (mm) and brightness of every pixel.

    ``one`` gets the nearer of both.
    """
    previous = i64(-1)
    shape = capsule_of((0.0, 0.0, 0.0, 0.0, 0.0, 0.0), 1.0, 1.0, eye)
    a, b = 1.0, 1.0
    for row in range(first, last):
        for column in range(columns):
            at = u64(row * columns + column)
            key = max(one[at], other[at])
            one[at] = key
            if key == u64(0):
                depth[at] = _bare_depth(row, column, eye, plate)
                bright[at] = f32(0.0)
                continue
            k = i64(key & u64(0xFFFFFFFF))
            depth[at] = f32((key >> u64(32)) / eye.depth_scale + eye.depth0)
            if k != previous:
                x0, y0, z0, x1, y1, z1, _ = clipped(solid, k, plane)
                a, b = 0.5 * solid.width_mm[k], 0.5 * HEIGHT_GROWTH * solid.thickness_mm[k]
                shape = capsule_of((x0, y0, z0, x1, y1, z1), a, b, eye)
                previous = k
            bright[at] = f32(_light_at(shape, column, row, a, b, eye, light))


@lean_inner_kernel
def _bare_depth(row, column, eye, plate):
    """Return the depth of a pixel where no bead lies: that of the plate, or none."""
    if eye.sin > SEEN_FROM:
        x, y, plate_depth = _plate_place(row, column, eye)
        if _beyond(x, y, plate) <= 0.0:
            return f32(plate_depth)
    return f32(NOTHING)


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
    nearer as the other is farther, in a crease both are nearer. ``scale`` is pixels in a mm; ``strength`` 1 leaves the
    near pairs out, as `smooth` does the profile of beads. Next to the rim of the
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
            total = _pair(depth, at, near, here, reach_near) + _pair(
                depth, at, near * columns, here, reach_near
            )
            crease = total * f32(0.2 * (1.0 - strength)) / reach_near
            total = _pair(depth, at, wide, here, reach_wide) + _pair(
                depth, at, wide * columns, here, reach_wide
            )
            total += _pair(depth, at, slant * columns + slant, here, reach_wide)
            total += _pair(depth, at, slant * columns - slant, here, reach_wide)
            crease += total * f32(0.6 / 4.0) / reach_wide
            behind = min(
                min(depth[u64(at - 1)], depth[u64(at + 1)]),
                min(depth[u64(at - columns)], depth[u64(at + columns)]),
            )
            edge = min(max((here - behind) * far - f32(0.5), f32(0.0)), f32(1.0))
            light = f32(1.0) - f32(CREASE) * min(crease * f32(1.6), f32(1.0))
            kept[u64(at)] = light * (f32(1.0) - f32(EDGE) * edge)


@lean_inner_kernel
def _pair(depth, at, step, here, reach):
    """Return how far the pixels ``step`` before and behind stand out over this one, mm."""
    one = min(max(depth[u64(at + step)] - here, -reach), reach)
    other = min(max(depth[u64(at - step)] - here, -reach), reach)
    return max(one + other, f32(0.0))


@lean_inner_kernel
def _ground_at(row, column, eye, plate, pixel):
    """Return the row of `Paint.ground` of a pixel where no bead lies."""
    if eye.sin <= SEEN_FROM:
        return i64(0)
    x, y, _ = _plate_place(row, column, eye)
    beyond = _beyond(x, y, plate)
    wide = pixel / eye.scale
    if abs(beyond) < 0.9 * wide / max(eye.sin, 0.3):
        return i64(3)
    if beyond > 0.0:
        return i64(0)
    off_x, off_y = abs(x - GRID_MM * np.rint(x / GRID_MM)), abs(y - GRID_MM * np.rint(y / GRID_MM))
    if wide < 0.5 and min(off_x, off_y) < 0.6 * wide:
        return i64(2)
    return i64(1)


@lean_kernel
def paint_rows(
    keys: npt.NDArray[np.uint64], columns: int, depth: F32, bright: F32, kept: F32, eye: Eye, plate: Plate,
    paint: Paint, image: U8, first: int, last: int,
) -> None:  # fmt: skip
    """Colour the pixels of the rows ``first`` to ``last`` (exclusive) of ``image`` (pixels x 4)."""
    for row in range(first, last):
        for column in range(columns):
            at = u64(row * columns + column)
            key = keys[at]
            image[at, 3] = u8(255)
            if key == u64(0):
                ground = _ground_at(row, column, eye, plate, paint.pixel)
                light = kept[at] if depth[at] > f32(NOTHING) else f32(1.0)
                for j in range(3):
                    image[at, j] = u8(f32(paint.ground[ground, j]) * light)
                continue
            k = i64(key & u64(0xFFFFFFFF))
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
