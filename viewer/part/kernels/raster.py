"""The kernel that draws beads into a depth buffer: 64 bits a pixel, the depth above the row of the bead.

The larger number is nearer to the eye; of equal depths the later bead wins, in whatever order and by however many
threads they are drawn. 0 is a pixel where nothing lies.
"""

# mypy: allow-untyped-defs, allow-untyped-calls
from __future__ import annotations

from typing import TYPE_CHECKING, Final

import numpy as np

from viewer.jit import lean_inner_kernel, lean_kernel
from viewer.part.kernels.columns import HEIGHT_GROWTH, Eye, Plane, Solid, capsule_of, clipped

if TYPE_CHECKING:
    import numpy.typing as npt

    from viewer.arrays import I32, U8

i64 = np.int64
u64 = np.uint64
STEPS: Final = 4.0e9
"""Greatest depth in steps: 32 bits."""
FLAT: Final = 1e-9
SHARE_BITS: Final = 8
"""Threads take turns every 256 beads: neighbours in the program lie together on the picture, too."""


@lean_inner_kernel
def _fill(pixels, columns, rows, one, tag, eye):
    """Draw one bead: for every row the pixels of its band, of which those within the ellipse's path count."""
    ux, uy, length = one.ux, one.uy, one.length
    reach_down = uy * length * one.half_down
    top = max(i64(np.ceil(one.down + min(0.0, reach_down) - one.half_down)), i64(0))
    bottom = min(i64(np.floor(one.down + max(0.0, reach_down) + one.half_down)), rows - 1)
    least, most = min(0.0, ux * length) - 1.0, max(0.0, ux * length) + 1.0
    step, step_down = 1.0 / one.half_across, 1.0 / one.half_down
    steep = abs(uy) > FLAT
    slope, spread = (ux / uy, abs(1.0 / uy)) if steep else (0.0, 0.0)
    base = (one.depth - eye.depth0) * eye.depth_scale
    rise, skew, bulge = one.rise * eye.depth_scale, one.skew * eye.depth_scale, one.bulge * eye.depth_scale
    for row in range(top, bottom + 1):
        y = (row - one.down) * step_down
        low, high = least, most
        if steep:
            low, high = max(low, y * slope - spread), min(high, y * slope + spread)
        first = max(i64(np.ceil(one.across + low * one.half_across)), i64(0))
        last = min(i64(np.floor(one.across + high * one.half_across)), columns - 1)
        x0 = (first - one.across) * step
        begin = row * columns + first
        for n in range(last - first + 1):
            x = x0 + n * step
            along = min(max(x * ux + y * uy, 0.0), length)
            p, q = x - along * ux, y - along * uy
            left = 1.0 - p * p - q * q
            if left >= 0.0:
                at = u64(begin + n)
                key = u64(u64(i64(base + along * rise + q * skew + left * bulge)) << u64(32)) | tag
                if key > pixels[at]:
                    pixels[at] = key


@lean_kernel
def draw_solid(
    pixels: npt.NDArray[np.uint64], columns: int, solid: Solid, chosen: I32, roles: U8, hidden: int,
    eye: Eye, plane: Plane, count: int, mine: int, threads: int,
) -> None:  # fmt: skip
    """Draw a thread's share of the first ``count`` chosen beads: those whose role (bit k of ``hidden``) is not left out.

    ``pixels`` (rows x columns) is changed; ``roles`` are those of the moves.
    """
    rows = len(pixels) // columns
    for n in range(count - 1, -1, -1):
        if (n >> SHARE_BITS) % threads != mine:
            continue
        k = chosen[n]
        if (hidden >> i64(roles[solid.end[k]])) & 1:
            continue
        x0, y0, z0, x1, y1, z1, left = clipped(solid, k, plane)
        if left:
            one = capsule_of(
                (x0, y0, z0, x1, y1, z1),
                0.5 * solid.width_mm[k],
                0.5 * HEIGHT_GROWTH * solid.thickness_mm[k],
                eye,
            )
            _fill(pixels, columns, rows, one, u64(k), eye)
