"""Which loop lies in which: the parent of each piece.

::

      ____________________
     | p   ____           |        from q's leftmost point to the left: the loop met first either holds q (its parent),
     |    | s  |  __      |        or lies beside it, as s does, and then has the same parent
     |    |____| |q_|     |
     |____________________|
"""

# mypy: allow-untyped-defs, allow-untyped-calls
from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from viewer.jit import inner_kernel, kernel
from viewer.layers.kernels.chains import Cut
from viewer.layers.kernels.grid import build_grid
from viewer.layers.kernels.pieces import Layer
from viewer.layers.kernels.searches import first_hit
from viewer.layers.kernels.spacing import measure_spacing

if TYPE_CHECKING:
    from viewer.arrays import I64


class Place(NamedTuple):
    """A place, mm."""

    x: float
    y: float


@inner_kernel
def _place_of(piece, points):
    """Return a loop's leftmost point, or the middle of an open piece's longest bead."""
    loop = piece.area != 0.0
    at, longest = np.int64(piece.first), -1.0
    for s in range(piece.first + 1, piece.last + 1):
        long = (points[s].x - points[s - 1].x) ** 2 + (points[s].y - points[s - 1].y) ** 2
        if loop:
            at = s if points[s].x < points[at].x else at
        elif long > longest:
            at, longest = s - 1, long
    if loop:
        return Place(points[at].x, points[at].y)
    return Place(0.5 * (points[at].x + points[at + 1].x), 0.5 * (points[at].y + points[at + 1].y))


@inner_kernel
def _follow_hits(number, pieces):
    """Turn hits into parents: from loop to loop beside it, up to one that holds.

    Each loop that is come to begins further to the left, so that following these steps comes to an end.
    """
    for p in range(number):
        q = np.int64(p)
        while pieces[q].hit >= 0 and pieces[q].hit % 2 == 0:
            q = np.int64(pieces[q].hit >> 1)
        found = pieces[q].hit
        q = np.int64(p)
        while (
            pieces[q].hit >= 0 and pieces[q].hit % 2 == 0
        ):  # the next that come this way need not go it again
            beside = np.int64(pieces[q].hit >> 1)
            pieces[q].hit = found
            q = beside
        pieces[p].parent = found >> 1 if found >= 0 else -1


@inner_kernel
def _find_hits(number, layer, budget):
    """Look to the left from each piece; loops become the used pieces."""
    points, pieces = layer.points, layer.pieces
    for p in range(number):
        pieces[p].used = 1 if pieces[p].area != 0.0 else 0
    for p in range(number):
        pieces[p].hit = -1
        place = _place_of(pieces[p], points)
        if budget[0] >= 0:
            pieces[p].hit = first_hit(place.x, place.y, np.int64(p), layer, budget)


@kernel
def nest(cut: Cut, width: float, layer: Layer, budget: I64) -> None:
    """Measure the spacing of lines, list all else in the grid, and write each piece its parent.

    That is the smallest loop around it; -1: none.
    """
    measure_spacing(cut.points, width, layer.points, layer.pieces)
    build_grid(cut.points, width, layer.points, layer.pieces, layer.grid)
    _find_hits(cut.pieces, layer, budget)
    _follow_hits(cut.pieces, layer.pieces)
