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


@lean_inner_kernel
def _fill(pixels, columns, rows, one, tag, eye):
    """Draw one bead: for every row the pixels of its band, of which those within the ellipse's path count."""
    reach_down = one.uy * one.length * one.half_down
    top = max(i64(np.ceil(one.down + min(0.0, reach_down) - one.half_down)), i64(0))
    bottom = min(i64(np.floor(one.down + max(0.0, reach_down) + one.half_down)), rows - 1)
    least, most = min(0.0, one.ux * one.length) - 1.0, max(0.0, one.ux * one.length) + 1.0
    step = 1.0 / one.half_across
    for row in range(top, bottom + 1):
        y = (row - one.down) / one.half_down
        low, high = least, most
        if abs(one.uy) > FLAT:
            near, far = (y * one.ux - 1.0) / one.uy, (y * one.ux + 1.0) / one.uy
            low, high = max(low, min(near, far)), min(high, max(near, far))
        first = max(i64(np.ceil(one.across + low * one.half_across)), i64(0))
        last = min(i64(np.floor(one.across + high * one.half_across)), columns - 1)
        x = (first - one.across) * step
        at = row * columns + first
        for _ in range(first, last + 1):
            along = min(max(x * one.ux + y * one.uy, 0.0), one.length)
            p, q = x - along * one.ux, y - along * one.uy
            left = 1.0 - p * p - q * q
            if left >= 0.0:
                depth = one.depth + along * one.rise + q * one.skew + one.bulge * left
                steps = min(max((depth - eye.depth0) * eye.depth_scale, 1.0), STEPS)
                key = u64(u64(i64(steps)) << u64(32)) | tag
                pixels[at] = max(pixels[at], key)
            x += step
            at += 1


@lean_kernel
def draw_solid(
    pixels: npt.NDArray[np.uint64], columns: int, solid: Solid, chosen: I32, roles: U8, hidden: int,
    eye: Eye, plane: Plane, first: int, last: int,
) -> None:  # fmt: skip
    """Draw the beads ``chosen[first:last]`` whose role (bit k of ``hidden``) is not left out.

    ``pixels`` (rows x columns) is changed; ``roles`` are those of the moves.
    """
    rows = len(pixels) // columns
    for n in range(last - 1, first - 1, -1):
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
