"""What lies beside a piece: some places of it are looked at, and what most of them show is noted.

::

      o----x------x------x----o        the middles of equal parts of its path
"""

# mypy: allow-untyped-defs, allow-untyped-calls
from __future__ import annotations

from typing import Final, NamedTuple

import numpy as np

from viewer.jit import inner_kernel
from viewer.layers.kernels.pieces import ALONE, DENSE, LIKE_FILL, NEAR, NEXT, NOT_ALONE, PROBES, PROBES_OPEN
from viewer.layers.kernels.searches import ANY, BOTH, NO_PIECE, first_hit, is_near, sides_beside

ALONG: Final = 1.5
"""A loop within this many widths of another runs along it."""
BEYOND: Final = 0.75
"""Farther than this many widths from all loops of the layer above: nothing goes on there."""
MOST_BEYOND: Final = 0.6
"""More than this share of the places, for the whole."""
MOST_LIKE_FILL: Final = 0.75
"""At least this share of the places, for nested fill."""


class Spot(NamedTuple):
    """A place on a piece: its segment, the path from the piece's start to that segment's, and the place, mm."""

    segment: int
    way: float
    x: float
    y: float


@inner_kernel
def _go_on(spot, target, last, points):
    """Go along a piece from the segment of a spot to where its path is ``target``, mm; ``last`` is its last point."""
    s, way = spot.segment, spot.way
    while True:
        x, y = points[s].x, points[s].y
        dx, dy = points[s + 1].x - x, points[s + 1].y - y
        step = np.sqrt(dx * dx + dy * dy)
        if way + step >= target or s >= last - 1:
            share = min((target - way) / step, 1.0)
            return Spot(s, way, x + share * dx, y + share * dy)
        s, way = np.int64(s + 1), way + step


@inner_kernel
def look_at_loops(number, width, first_layer, has_above, here, above, budget):
    """Note of each loop of a first layer whether it runs along its parent, and whether it lies beyond the layer above.

    along: at most 1.5 widths from its parent, in more than half of the places. beyond, with a layer above: outside of
    every used loop there, by 0.75 widths. Both are 0 in other layers.
    """
    points, pieces = here.points, here.pieces
    for p in range(number):
        one = pieces[p]
        one.along, one.beyond = 0, 0
        if one.area == 0.0 or not first_layer:
            continue
        along, beyond = 0, 0
        spot = Spot(np.int64(one.first), 0.0, 0.0, 0.0)
        for k in range(PROBES):
            spot = _go_on(spot, (k + 0.5) / PROBES * one.path, np.int64(one.last), points)
            if has_above and budget[0] >= 0:
                hit = first_hit(spot.x, spot.y, NO_PIECE, above, budget)
                if hit < 0 or hit % 2 == 0:  # no loop holds it
                    beyond += 0 if is_near(spot.x, spot.y, BEYOND * width, ANY, above, budget) else 1
            if one.parent >= 0 and budget[0] >= 0:
                along += (
                    1 if is_near(spot.x, spot.y, ALONG * width, np.int64(one.parent), here, budget) else 0
                )
        one.along = 1 if 2 * along > PROBES else 0
        one.beyond = 1 if beyond > MOST_BEYOND * PROBES else 0


@inner_kernel
def look_at_open(number, width, here, budget):
    """Note of each open piece whether it is dense: neighbours on both sides of at least half of the places.

    Where the spacing of any of its lines is measured, nothing is looked at: that tells.
    """
    points, pieces = here.points, here.pieces
    for p in range(number):
        one = pieces[p]
        one.dense = 0
        known = one.area != 0.0
        for s in range(one.first, one.last):
            known = known or points[s].spacing < np.inf
        if known:
            continue
        places, dense = min(PROBES_OPEN, one.last - one.first), 0
        spot = Spot(np.int64(one.first), 0.0, 0.0, 0.0)
        for k in range(places):
            if budget[0] >= 0:
                spot = _go_on(spot, (k + 0.5) / places * one.path, np.int64(one.last), points)
                sides = sides_beside(spot.x, spot.y, spot.segment, DENSE * width, here, budget)
                dense += 1 if sides == BOTH else 0
        one.dense = 1 if 2 * dense >= places else 0


@inner_kernel
def look_for_fill(number, here, budget):
    """Look at the loops alone: note which look like nested fill, see `fill.find_air`.

    A loop lies a pitch behind, on one side or both, and the next one ahead (on both sides, as the one behind is within
    two pitches, too). A loop too small for another within need only have the one behind.
    """
    for p in range(number):
        one = here.pieces[p]
        if one.nested == NOT_ALONE:
            continue
        innermost = one.edges == one.path and one.gap <= NEAR * one.pitch
        close, ahead = 0, 0
        spot = Spot(np.int64(one.first), 0.0, 0.0, 0.0)
        for k in range(PROBES):
            spot = _go_on(spot, (k + 0.5) / PROBES * one.path, np.int64(one.last), here.points)
            if budget[0] >= 0:
                sides = sides_beside(spot.x, spot.y, spot.segment, NEAR * one.pitch, here, budget)
                close += 1 if sides != 0 else 0
            if budget[0] >= 0:
                sides = sides_beside(spot.x, spot.y, spot.segment, NEXT * one.pitch, here, budget)
                ahead += 1 if sides == BOTH or (innermost and sides != 0) else 0
        one.nested = LIKE_FILL if min(close, ahead) >= MOST_LIKE_FILL * PROBES else ALONE
