r"""The footprint of a bead in cells: an oblong, and where the cells lie.

Inside a drawing kernel the unit is one cell (pixel), and the *centre* of cell j lies at the whole number j::

    column = (x - origin_x) * scale - 1/2          row = (y - origin_y) * scale_y - 1/2

``scale_y`` is negative where row 0 is the top of a picture. An oblong is all points within r of a straight
segment. It is convex, so a row meets it in one span::

            ___________________
          /                     \          left edge on row y:
         |   A - - - - - - - B   |         round end of A, straight side, round end of B
          \ ___________________ /
"""

# mypy: allow-untyped-defs, allow-untyped-calls
from __future__ import annotations

from typing import Final, NamedTuple

import numpy as np

from viewer.jit import inner_kernel

FLAT: Final = 1e-12
"""Rise of a unit vector below which an oblong lies level."""
LARGEST: Final = 1e9
"""Cells: a bead wider or longer than this is not drawn: its edges are beyond what a float can place."""


class Frame(NamedTuple):
    """Where the cells lie: the outer corner of cell (0, 0), mm, and cells per mm."""

    origin_x: float
    origin_y: float
    scale: float


class Oblong(NamedTuple):
    """A footprint in cells; the end with the lower row first: y0 <= y1."""

    x0: float
    y0: float
    x1: float
    y1: float
    r: float


class Direction(NamedTuple):
    """Unit vector from one end to the other, and how far, cells."""

    x: float
    y: float
    length: float


@inner_kernel
def oblong_of(segments, k, frame, scale_y):
    """Return the footprint of segment k."""
    x0 = (np.float64(segments.x0_mm[k]) - frame.origin_x) * frame.scale - 0.5
    y0 = (np.float64(segments.y0_mm[k]) - frame.origin_y) * scale_y - 0.5
    x1 = (np.float64(segments.x1_mm[k]) - frame.origin_x) * frame.scale - 0.5
    y1 = (np.float64(segments.y1_mm[k]) - frame.origin_y) * scale_y - 0.5
    r = 0.5 * segments.width_mm[k] * frame.scale
    if y0 <= y1:
        return Oblong(x0, y0, x1, y1, r)
    return Oblong(x1, y1, x0, y0, r)


@inner_kernel
def direction_of(oblong):
    """Return the direction of an oblong; a point looks up, with length 0."""
    dx = oblong.x1 - oblong.x0
    dy = oblong.y1 - oblong.y0
    length = np.sqrt(dx * dx + dy * dy)
    if length == 0.0:
        return Direction(0.0, 1.0, 0.0)
    return Direction(dx / length, dy / length, length)


@inner_kernel
def left_edge(y, x0, y0, x1, y1, ux, uy, r):
    """Return the left edge on row ``y`` of an oblong with y0 <= y1; its mirror picture's gives the right one.

    The straight side runs from y0 + r ux to y1 + r ux. A level oblong (uy = 0) has no straight left side: it
    meets that branch only where its round end touches the row above or below.
    """
    shift = r * ux
    if y < y0 + shift:
        return x0 - np.sqrt(max(0.0, r * r - (y - y0) * (y - y0)))
    if y > y1 + shift:
        return x1 - np.sqrt(max(0.0, r * r - (y - y1) * (y - y1)))
    if uy < FLAT:
        return min(x0, x1)
    return x0 + ((y - y0) * ux - r) / uy
