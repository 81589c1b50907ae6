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


class Light(NamedTuple):
    """Direction to the light: to the right, level towards the eye, up."""

    right: float
    near: float
    up: float


class Order(NamedTuple):
    """Beads in groups, in the order in which they are drawn, read-only."""

    rows: I32  # (n,) ascending in each group
    begin: I32  # (groups,) place in `rows` where a group begins ...
    end: I32  # (groups,) ... and ends (exclusive)


class Some(NamedTuple):
    """Which beads are drawn."""

    first: int  # rows from here ...
    last: int  # ... to here (exclusive)
    hidden: int  # bit k: role k is left out


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
