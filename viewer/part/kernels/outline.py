"""One bead as it is seen: where it lies on the picture, how deep, and how its surface faces the light."""

# mypy: allow-untyped-defs, allow-untyped-calls
from __future__ import annotations

from typing import Final, NamedTuple

import numpy as np

from viewer.jit import lean_inner_kernel
from viewer.part.kernels.columns import HEIGHT_GROWTH

f32 = np.float32
f64 = np.float64
LEAST_PX: Final = 0.75
"""Half axis, in pixels, below which a bead is drawn larger: thinner ones would leave holes between pixel centres."""


class Outline(NamedTuple):
    r"""An ellipse that slides along a straight line.

    An ellipsoid with half axes a (level) and b (upright), seen at a tilt, covers an ellipse with the half axes a and
    c, c^2 = a^2 sin^2 + b^2 cos^2. Its front stands (a b/c) sqrt(1 - e^2) before its middle surface, which is
    tilted: depth = -up (a^2 - b^2) sin cos / c^2 (both from the ellipsoid's equation in up and depth). It reaches
    sqrt(a^2 cos^2 + b^2 sin^2) towards the eye.
    """

    across: float  # pixels: where it starts
    down: float
    step: float  # half axes in a pixel, across and down
    step_down: float
    length: float  # of the axis, in half axes; below 0: it lies outside of the picture
    ux: float  # its direction, in half axes
    uy: float
    depth: float  # steps, of the axis where it starts
    rise: float  # steps in a half axis along it
    near: float  # steps that it reaches towards the eye
    c: float  # mm


class Body(NamedTuple):
    """The same for the loops over pixels: float32, and what else depth is made of."""

    step: float
    step_down: float
    length: float
    ux: float
    uy: float
    depth: float
    rise: float
    skew: float  # steps in a half axis downwards
    bulge: float  # steps that its middle line stands out towards the eye


class Facing(NamedTuple):
    """Normal and light from the place in the ellipse: p across and q down in half axes, s = sqrt(1 - p^2 - q^2).

    The normal of the ellipsoid at (x, y, z) is (x/a^2, y/a^2, z/b^2): linear in p, q and s, as is its product with
    the direction to the light.
    """

    across_p: float
    near_q: float
    near_s: float
    high_q: float
    high_s: float
    light_p: float
    light_q: float
    light_s: float


@lean_inner_kernel
def half_axes(solid, k):
    """Return half of a bead's width and of its height, mm, as it is drawn."""
    return f64(0.5) * solid.width_mm[k], f64(0.5 * HEIGHT_GROWTH) * solid.thickness_mm[k]


@lean_inner_kernel
def outline_of(ends, a, b, eye, above, below):
    """Return a bead as it lies on the picture; with a length of -1 outside of the pixel rows ``above`` to ``below``."""
    x0, y0, z0, x1, y1, z1 = ends
    h0 = x0 * eye.right_y - y0 * eye.right_x
    h1 = x1 * eye.right_y - y1 * eye.right_x
    down0 = eye.down0 - eye.scale * (z0 * eye.cos - h0 * eye.sin)
    down1 = eye.down0 - eye.scale * (z1 * eye.cos - h1 * eye.sin)
    reach = max(a, b) * eye.scale + 1.0
    if max(down0, down1) + reach < above or min(down0, down1) - reach > below:
        return Outline(0.0, 0.0, 0.0, 0.0, -1.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0)
    across0 = eye.across0 + eye.scale * (x0 * eye.right_x + y0 * eye.right_y)
    across1 = eye.across0 + eye.scale * (x1 * eye.right_x + y1 * eye.right_y)
    depth0 = (h0 * eye.cos + z0 * eye.sin - eye.depth0) * eye.depth_scale
    depth1 = (h1 * eye.cos + z1 * eye.sin - eye.depth0) * eye.depth_scale
    c = np.sqrt(a * a * eye.sin * eye.sin + b * b * eye.cos * eye.cos)
    near = np.sqrt(a * a * eye.cos * eye.cos + b * b * eye.sin * eye.sin) * eye.depth_scale
    step = 1.0 / max(a * eye.scale, LEAST_PX)
    step_down = 1.0 / max(c * eye.scale, LEAST_PX)
    dx, dy = (across1 - across0) * step, (down1 - down0) * step_down
    length = np.sqrt(dx * dx + dy * dy)
    if length < 1e-6:
        ux, uy, rise, length = 1.0, 0.0, 0.0, 0.0
        depth0 = max(depth0, depth1)
    else:
        ux, uy, rise = dx / length, dy / length, (depth1 - depth0) / length
    return Outline(across0, down0, step, step_down, length, ux, uy, depth0, rise, near, c)


@lean_inner_kernel
def facing_of(one, a, b, eye, light):
    """Return what the loops over pixels need of a bead."""
    c = max(one.c, 1e-9)
    skew = (a * a - b * b) * eye.sin * eye.cos / c
    bulge = a * b / c
    level, upright = 1.0 / (a * a), 1.0 / (b * b)
    near_q = (skew * eye.cos + c * eye.sin) * level
    near_s = bulge * eye.cos * level
    high_q = (skew * eye.sin - c * eye.cos) * upright
    high_s = bulge * eye.sin * upright
    body = Body(
        f32(one.step),
        f32(one.step_down),
        f32(one.length),
        f32(one.ux),
        f32(one.uy),
        f32(one.depth),
        f32(one.rise),
        f32(skew * eye.depth_scale),
        f32(bulge * eye.depth_scale),
    )
    facing = Facing(
        f32(1.0 / a),
        f32(near_q),
        f32(near_s),
        f32(high_q),
        f32(high_s),
        f32(light.right / a),
        f32(near_q * light.near + high_q * light.up),
        f32(near_s * light.near + high_s * light.up),
    )
    return body, facing
