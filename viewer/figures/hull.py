"""Convex hulls of beads' footprints: what an object stands on."""

# mypy: allow-untyped-calls
from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import numpy.typing as npt

from viewer.arrays import F32, F64
from viewer.beads.section import Beads
from viewer.figures.kernels import hull as _kernels_hull

CORNERS = 64
"""Corners that stand for a bead's round end in a hull: it is short by r (1 - cos(pi/64)), 0.0003 mm."""
MANY_DISCS = 2000
"""Of more bead ends than this on a hull only the farthest in 2048 directions count: 0.0001 mm on a 200 mm circle."""


def hull(beads: Beads) -> F64:
    """Return the convex hull of the beads' footprints: (k, 2) in mm, counterclockwise; (0, 2) without beads.

    Beads well inside are dropped first: those whose ends lie within a polygon of support points of the whole.
    Beads without any width on one line (a program that switches its filament on and off states none) have a hull
    without area: (0, 2), too.
    """
    if not len(beads):
        return np.empty((0, 2))
    x = np.concatenate([beads.x0_mm, beads.x1_mm])
    y = np.concatenate([beads.y0_mm, beads.y1_mm])
    r = np.concatenate([beads.width_mm, beads.width_mm])
    kept = _outermost(x.astype(np.float64), y.astype(np.float64), 0.5 * r.astype(np.float64))
    x, y, r = _widest_at_each_place(x[kept], y[kept], 0.5 * r[kept].astype(np.float64))
    outer = _farthest(x, y, r, 2048) if len(x) > MANY_DISCS else np.arange(len(x))
    if _is_flat(x, y, r):
        return np.empty((0, 2))
    turn = np.arange(CORNERS) * (2.0 * np.pi / CORNERS)
    points = np.stack(
        [
            (x[outer, None] + r[outer, None] * np.cos(turn)).ravel(),
            (y[outer, None] + r[outer, None] * np.sin(turn)).ravel(),
        ],
        axis=1,
    )
    return _convex(points)


def joined_hull(hulls: Sequence[F64]) -> F64:
    """Return the convex hull of several: (k, 2), counterclockwise; (0, 2) where all are empty."""
    points = np.concatenate([np.empty((0, 2)), *hulls])
    if len(hulls) < 2 or not len(points):
        return points
    return _convex(points)


def _widest_at_each_place(x: F32, y: F32, r: F64) -> tuple[F64, F64, F64]:
    """Return of the discs about one place the widest: beads drawn over and over have their ends once."""
    place = (x.view(np.uint32).astype(np.uint64) << np.uint64(32)) | y.view(np.uint32)
    order = np.argsort(place, kind="stable")
    begins = np.flatnonzero(np.diff(place[order], prepend=place[order[0]] + np.uint64(1)))
    chosen = order[begins]
    return x[chosen].astype(np.float64), y[chosen].astype(np.float64), np.maximum.reduceat(r[order], begins)


def _is_flat(x: F64, y: F64, r: F64) -> bool:
    """Whether discs cover no area to speak of: none is wider than 0.1 um, and all lie on one line."""
    if r.max() > 1e-4:
        return False
    ux, uy = x - x[0], y - y[0]
    far = int(np.argmax(np.hypot(ux, uy)))
    reach = float(np.hypot(ux[far], uy[far]))
    return reach < 1e-4 or float(np.abs(ux * uy[far] - uy * ux[far]).max()) < 1e-4 * reach


def _farthest(x: F64, y: F64, r: F64, directions: int) -> npt.NDArray[np.intp]:
    """Return the discs that reach farthest in `directions` evenly spaced directions, each once."""
    turn = np.arange(directions) * (2.0 * np.pi / directions)
    return np.unique([int(np.argmax(x * np.cos(a) + y * np.sin(a) + r)) for a in turn])


def _outermost(x: F64, y: F64, r: F64, directions: int = 32) -> npt.NDArray[np.bool_]:
    """Tell which discs reach out of the polygon through the discs' farthest points in a few directions.

    The others lie within the hull of those points, so that they cannot change it. The farthest ones are kept.
    """
    turn = np.arange(directions) * (2.0 * np.pi / directions)
    ux, uy = np.cos(turn), np.sin(turn)
    far = np.array([np.argmax(x * a + y * b + r) for a, b in zip(ux, uy, strict=True)])
    px, py = x[far] + r[far] * ux, y[far] + r[far] * uy
    kept = np.zeros(len(x), np.bool_)
    for k in range(directions):
        ax, ay, bx, by = px[k - 1], py[k - 1], px[k], py[k]
        side = float(np.hypot(bx - ax, by - ay))
        if side > 0.0:
            kept |= ((by - ay) * (x - ax) - (bx - ax) * (y - ay)) / side + r > 0.0
    kept[far] = True
    return kept


def _convex(points: F64) -> F64:
    """Return the corners of the convex hull of points (n, 2), counterclockwise, from the leftmost on.

    Source: A. M. Andrew, "Another efficient algorithm for convex hulls in two dimensions", Information Processing
    Letters 9 (1979) 216-219 (from memory).
    """
    order = np.lexsort((points[:, 1], points[:, 0]))
    x, y = np.ascontiguousarray(points[order, 0]), np.ascontiguousarray(points[order, 1])
    corners = np.empty(2 * len(points), np.int64)
    count = int(_kernels_hull.chain(x, y, corners))
    return np.asarray(points[order[corners[:count]]], dtype=np.float64)


def polygon_area(xy_mm: F64) -> float:
    """Return the area, mm2, of a polygon (k, 2) by the surveyor's formula; 0 for (0, 2)."""
    x, y = xy_mm[:, 0], xy_mm[:, 1]
    return 0.5 * abs(float(np.dot(x, np.roll(y, -1)) - np.dot(y, np.roll(x, -1))))
