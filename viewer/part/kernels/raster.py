"""The kernels that draw beads into a depth buffer of tiles.

A tile is 8 x 4 pixels whose depths lie side by side, the rows of their beads behind them: all pixels of a tile go
through the same steps without a branch, so that the compiler works on 8 of them at a time. For each tile the
depth of its farthest pixel is kept; a bead that lies behind that everywhere is left out before any pixel is looked at.

A pixel's key is its depth in steps, times 256, plus its light (0 .. 255). The larger key is nearer to the eye; of
equal keys that of the later bead wins, in whatever order and by however many threads beads are drawn. 0: nothing there.
"""

# mypy: allow-untyped-defs, allow-untyped-calls
from __future__ import annotations

from typing import TYPE_CHECKING, Final, NamedTuple

import numpy as np

from viewer.jit import lean_inner_kernel, lean_kernel
from viewer.part.kernels.columns import Eye, Light, Order, Plane, Solid, Some, clipped
from viewer.part.kernels.outline import facing_of, half_axes, outline_of

if TYPE_CHECKING:
    from viewer.arrays import I32, U8

f32 = np.float32
i32 = np.int32
i64 = np.int64
u64 = np.uint64
STEPS: Final = 8.0e6
"""Greatest depth in steps: 23 bits, which a float32 holds exactly."""
WIDE: Final = 8
HIGH: Final = 4
"""Pixels of a tile."""
PIXELS: Final = WIDE * HIGH
FULL_LIGHT: Final = 255.0
_ROUNDING: Final = 2.0
"""Steps that float32 may be wrong by: a tile's bound must not be below any of its pixels."""


class Tiles(NamedTuple):
    """A depth buffer."""

    pixels: I32  # (tiles x 64) keys of a tile's pixels, row by row, then the rows of their beads
    far: I32  # (tiles,) least key of each tile
    across: int  # tiles side by side


@lean_inner_kernel
def _lead(pixels, at, x, y, body):
    """Return by how much a bead's keys may at most exceed those of a tile; 0 if nowhere.

    ``x`` and ``y`` are the place of the tile's first pixel in half axes from the bead's start.
    """
    most = i32(0)
    for j in range(PIXELS):
        was = pixels[u64(at + j)]
        xx = x + f32(i32(j) & i32(7)) * body.step
        yy = y + f32(i32(j) >> i32(3)) * body.step_down
        along = xx * body.ux + yy * body.uy
        along = along if along > f32(0.0) else f32(0.0)
        along = along if along < body.length else body.length
        p = xx - along * body.ux
        q = yy - along * body.uy
        left = f32(1.0) - p * p - q * q
        steps = i32(body.depth + along * body.rise + q * body.skew + left * body.bulge)
        key = i32((steps << 8) | 255)
        key = key if left >= f32(0.0) else i32(0)
        lead = i32(key - was)
        most = lead if lead > most else most
    return most


@lean_inner_kernel
def _draw_tile(pixels, at, x, y, body, facing, bead):
    """Draw a bead into a tile: of each pixel the nearer of what is there and the bead stays."""
    for j in range(PIXELS):
        n = u64(at + j)
        was = pixels[n]
        was_bead = pixels[n + u64(PIXELS)]
        xx = x + f32(i32(j) & i32(7)) * body.step
        yy = y + f32(i32(j) >> i32(3)) * body.step_down
        along = xx * body.ux + yy * body.uy
        along = along if along > f32(0.0) else f32(0.0)
        along = along if along < body.length else body.length
        p = xx - along * body.ux
        q = yy - along * body.uy
        left = f32(1.0) - p * p - q * q
        s = np.sqrt(left if left > f32(0.0) else f32(0.0))
        across = p * facing.across_p
        near = q * facing.near_q + s * facing.near_s
        high = q * facing.high_q + s * facing.high_s
        light = p * facing.light_p + q * facing.light_q + s * facing.light_s
        light = light / np.sqrt(across * across + near * near + high * high)
        light = light if light > f32(0.0) else f32(0.0)
        light = light if light < f32(1.0) else f32(1.0)
        steps = i32(body.depth + along * body.rise + q * body.skew + left * body.bulge)
        key = i32((steps << 8) | i32(light * f32(FULL_LIGHT)))
        hit = (left >= f32(0.0)) & ((key > was) | ((key == was) & (bead > was_bead)))
        pixels[n] = key if hit else was
        pixels[n + u64(PIXELS)] = bead if hit else was_bead


@lean_inner_kernel
def _farthest(pixels, at):
    """Return the least key of a tile."""
    least = i32(2147483647)
    for j in range(PIXELS):
        key = pixels[u64(at + j)]
        least = key if key < least else least
    return least


@lean_inner_kernel
def _open_tiles(tiles, tile_row, first, last, one):
    """Return the first and the last tile of a row of tiles that a bead meets and may be seen in; last < first: none.

    What is nearest of a bead in a tile: the farthest its axis gets there towards the eye, and `Outline.near` before that.
    """
    left, right = i64(tiles.across), i64(-1)
    y = (tile_row * HIGH + 0.5 * (HIGH - 1) - one.down) * one.step_down
    half_x, half_y = 0.5 * (WIDE - 1) * one.step, 0.5 * (HIGH - 1) * one.step_down
    beside = abs(one.uy) * half_x + abs(one.ux) * half_y + 1.0
    along_by = abs(one.ux) * half_x + abs(one.uy) * half_y
    along_by = along_by if one.rise > 0.0 else -along_by
    for tile in range(first, last + 1):
        x = (tile * WIDE + 0.5 * (WIDE - 1) - one.across) * one.step
        if abs(x * one.uy - y * one.ux) > beside:
            continue
        along = min(max(x * one.ux + y * one.uy + along_by, 0.0), one.length)
        nearest = i64(one.depth + one.near + along * one.rise + _ROUNDING)
        if nearest > i64(tiles.far[u64(tile_row * tiles.across + tile)]) >> 8:
            left = min(left, i64(tile))
            right = i64(tile)
    return left, right


@lean_inner_kernel
def _fill(tiles, one, half_width, half_height, eye, light, first_row, last_row, bead):
    """Draw one bead into the rows of tiles from ``first_row`` to ``last_row`` (exclusive)."""
    end_across = one.across + one.length * one.ux / one.step
    end_down = one.down + one.length * one.uy / one.step_down
    half_across, half_down = 1.0 / one.step, 1.0 / one.step_down
    top = max(i64(np.ceil(min(one.down, end_down) - half_down)) // HIGH, i64(first_row))
    bottom = min(i64(np.floor(max(one.down, end_down) + half_down)) // HIGH, i64(last_row - 1))
    first = max(i64(np.ceil(min(one.across, end_across) - half_across)) // WIDE, i64(0))
    last = min(i64(np.floor(max(one.across, end_across) + half_across)) // WIDE, i64(tiles.across - 1))
    body, facing = facing_of(one, half_width, half_height, eye, light)
    for tile_row in range(top, bottom + 1):
        left, right = _open_tiles(tiles, tile_row, first, last, one)
        y = f32((tile_row * HIGH - one.down) * one.step_down)
        for tile in range(left, right + 1):
            n = u64(tile_row * tiles.across + tile)
            at = i64(n) * (2 * PIXELS)
            x = f32((tile * WIDE - one.across) * one.step)
            if _lead(tiles.pixels, at, x, y, body) > i32(0):
                _draw_tile(tiles.pixels, at, x, y, body, facing, bead)
                tiles.far[n] = _farthest(tiles.pixels, at)


@lean_kernel
def draw_solid(
    tiles: Tiles, solid: Solid, roles: U8, order: Order, some: Some, eye: Eye, plane: Plane, light: Light,
    first_row: int, last_row: int,
) -> None:  # fmt: skip
    """Draw the beads of all groups, in their order, into the rows of tiles ``first_row`` to ``last_row``.

    ``tiles`` is changed; ``roles`` are those of the moves. Of a group the highest bead is drawn first, and the lowest
    where the eye is below.
    """
    above, below = first_row * HIGH, last_row * HIGH
    for group in range(len(order.begin)):
        begin, end = order.begin[group], order.end[group]
        for n in range(end - begin):
            k = i64(order.rows[begin + n if eye.sin < 0.0 else end - 1 - n])
            if k < some.first or k >= some.last or (some.hidden >> i64(roles[solid.end[k]])) & 1:
                continue
            x0, y0, z0, x1, y1, z1, left = clipped(solid, k, plane)
            if not left:
                continue
            a, b = half_axes(solid, k)
            one = outline_of((x0, y0, z0, x1, y1, z1), a, b, eye, above, below)
            if one.length >= 0.0:
                _fill(tiles, one, a, b, eye, light, first_row, last_row, i32(k))
