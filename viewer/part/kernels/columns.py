"""What the kernels of the whole part are handed: columns of beads, where the eye is, what is left out."""

# mypy: allow-untyped-defs, allow-untyped-calls
from __future__ import annotations

from typing import TYPE_CHECKING, Final, NamedTuple

import numpy as np

from viewer.jit import lean_inner_kernel

if TYPE_CHECKING:
    from viewer.arrays import F32, I32

f64 = np.float64
HEIGHT_GROWTH: Final = 1.18
"""The drawn section is an ellipse, the true one a rectangle with round sides: an ellipse this much higher than the layer
has about its area, and beads that lie on one another overlap, so that no light falls through between layers."""
LEAST_PX: Final = 0.75
"""Half axis, in pixels, below which a bead is drawn larger: thinner ones would leave holes between pixel centres."""


class Solid(NamedTuple):
    """The beads as bodies: each runs from one row of the places to another, read-only."""

    x_mm: F32  # (moves,) places
    y_mm: F32  # (moves,)
    z_mm: F32  # (moves,) of the nozzle: the beads' tops
    start: I32  # (n,) row of the place where a bead starts; -1: the origin
    end: I32  # (n,) row of the place where it ends
    width_mm: F32  # (n,)
    thickness_mm: F32  # (n,)


class Eye(NamedTuple):
    """A parallel projection: pixel (row, column) = (down0 - scale up, across0 + scale right); depth grows to the eye.

    With R to the right, H level towards the eye and Z up: right = R p,
    up = -sin H p + cos Z p, depth = cos H p + sin Z p.
    """

    right_x: float
    right_y: float
    sin: float  # of the tilt: 0 from the side, 1 from above
    cos: float
    scale: float  # pixels in a mm
    across0: float
    down0: float
    depth0: float  # least depth, mm
    depth_scale: float  # steps in a mm


class Plane(NamedTuple):
    """What is cut away: all with x p_x + y p_y + z p_z > limit; with (0, 0, 0) and a limit of 1 nothing is."""

    x: float
    y: float
    z: float
    limit: float


class Capsule(NamedTuple):
    """One bead on the picture: its axis in units of its half axes, and what its depth is made of."""

    across: float  # pixels: where it starts
    down: float
    half_across: float  # pixels: half axes of the ellipse that slides along the axis
    half_down: float
    length: float  # of the axis, in half axes
    ux: float  # its direction, in half axes
    uy: float
    depth: float  # mm, of the axis where it starts
    rise: float  # mm of depth in a half axis along it
    skew: float  # mm of depth in a half axis downwards
    bulge: float  # mm that its middle line stands out towards the eye


@lean_inner_kernel
def clipped(solid, k, plane):
    """Return the ends of a bead's middle line that the plane leaves: (x0, y0, z0, x1, y1, z1, left).

    ``left`` is False where nothing is.
    """
    half = f64(0.5) * solid.thickness_mm[k]
    i, j = solid.start[k], solid.end[k]
    x0, y0, z0 = f64(0.0), f64(0.0), f64(solid.z_mm[j])
    if i >= 0:
        x0, y0, z0 = f64(solid.x_mm[i]), f64(solid.y_mm[i]), f64(solid.z_mm[i])
    x1, y1, z1 = f64(solid.x_mm[j]), f64(solid.y_mm[j]), f64(solid.z_mm[j])
    z0 -= half
    z1 -= half
    over0 = x0 * plane.x + y0 * plane.y + z0 * plane.z - plane.limit
    over1 = x1 * plane.x + y1 * plane.y + z1 * plane.z - plane.limit
    if over0 <= 0.0 and over1 <= 0.0:
        return x0, y0, z0, x1, y1, z1, np.bool_(True)
    if over0 > 0.0 and over1 > 0.0:
        return x0, y0, z0, x1, y1, z1, np.bool_(False)
    share = over0 / (over0 - over1)
    x, y, z = x0 + share * (x1 - x0), y0 + share * (y1 - y0), z0 + share * (z1 - z0)
    if over0 > 0.0:
        return x, y, z, x1, y1, z1, np.bool_(True)
    return x0, y0, z0, x, y, z, np.bool_(True)


@lean_inner_kernel
def capsule_of(ends, half_width, half_height, eye):
    r"""Return a bead as it is seen: an ellipse of half axes a and c that slides along a straight line.

    An ellipsoid with half axes a (level) and b (upright), seen at a tilt, covers an ellipse with the half axes a and
    c, c^2 = a^2 sin^2 + b^2 cos^2. Its front stands (a b/c) sqrt(1 - e^2) before its middle surface, which is
    tilted: depth = -up (a^2 - b^2) sin cos / c^2 (both from the ellipsoid's equation in up and depth).
    """
    x0, y0, z0, x1, y1, z1 = ends
    a, b = half_width, half_height
    c = np.sqrt(a * a * eye.sin * eye.sin + b * b * eye.cos * eye.cos)
    skew = (a * a - b * b) * eye.sin * eye.cos / max(c, 1e-9)
    bulge = a * b / max(c, 1e-9)
    h0 = x0 * eye.right_y - y0 * eye.right_x
    h1 = x1 * eye.right_y - y1 * eye.right_x
    across = eye.across0 + eye.scale * (x0 * eye.right_x + y0 * eye.right_y)
    down = eye.down0 - eye.scale * (z0 * eye.cos - h0 * eye.sin)
    half_across = max(a * eye.scale, LEAST_PX)
    half_down = max(c * eye.scale, LEAST_PX)
    dx = eye.scale * ((x1 - x0) * eye.right_x + (y1 - y0) * eye.right_y) / half_across
    dy = -eye.scale * ((z1 - z0) * eye.cos - (h1 - h0) * eye.sin) / half_down
    depth = h0 * eye.cos + z0 * eye.sin
    length = np.sqrt(dx * dx + dy * dy)
    if length < 1e-6:
        return Capsule(across, down, half_across, half_down, 0.0, 1.0, 0.0, depth, 0.0, skew, bulge)
    rise = ((h1 - h0) * eye.cos + (z1 - z0) * eye.sin) / length
    return Capsule(
        across, down, half_across, half_down, length, dx / length, dy / length, depth, rise, skew, bulge
    )
