"""Loops as walls: which are outlines, and how deep behind the outline the others lie.

::

     air | 1 | 2 | 3 | fill | 3 | 2 | 1 | air        depth counts from the nearest outline

     ->-----------.        ->-----------.
     | ->------.  |        | -<------.  |        air within two loops that touch: a hole, whose outline runs around the
     | |  air  |  |        | |  air  |  |        other way in programs that wind so; else the loop is an inner loop of a
     | inner loop |        | outline    |        part without fill
"""

# mypy: allow-untyped-defs, allow-untyped-calls
from __future__ import annotations

from typing import Final, NamedTuple

import numpy as np

from viewer.jit import inner_kernel
from viewer.layers.kernels.columns import HOLD, INFILL, OUTLINE
from viewer.layers.kernels.holding import beyond_walls
from viewer.layers.kernels.pieces import DEEP, DEEPEST, HOLLOW, LIKE_FILL, WOUND

ROUNDS: Final = 2
"""To and fro this many times, as programs go inwards or outwards."""


@inner_kernel
def _mark_wound(p, sense, width, pieces, holes_mm):
    """Mark an outline with air inside that touches its parent and has the ``sense`` of winding of the part: `WOUND`.

    ``holes_mm`` is added to where it is a hole for sure, as fill lies behind its walls: path against and with that
    sense.
    """
    one = pieces[p]
    with_it = 1 if (one.area > 0.0) == (sense > 0.0) else 0
    around = beyond_walls(p, width, pieces)
    if around >= 0 and pieces[around].filled > 0.0:
        holes_mm[with_it] += one.path
    if with_it == 1 and pieces[one.parent].filled == 0.0:
        one.role = WOUND


class Outermost(NamedTuple):
    """The part's outermost loops: how many, and their path, mm, counted backwards where they run clockwise."""

    number: int
    sense: float


@inner_kernel
def _role_loops(number, pieces):
    """Write roles: an outline has air on a side, or nothing around it.

    The part's outermost loops become the used pieces.
    """
    outermost, sense = 0, 0.0
    for p in range(number):
        one = pieces[p]
        one.role, one.depth = DEEP, DEEPEST
        if one.parent < 0 or one.air == 1 or pieces[one.parent].air == 1:
            one.role, one.depth = OUTLINE, 1
        if one.held == 1:
            one.role, one.depth = HOLD, DEEPEST
        elif one.nested == LIKE_FILL:
            one.role = INFILL
        one.used = 1 if one.area != 0.0 and one.parent < 0 and one.held == 0 else 0
        if one.used == 1:
            outermost += 1
            sense += one.path if one.area > 0.0 else -one.path
    return Outermost(outermost, sense)


@inner_kernel
def _count_depths(number, pieces):
    """Count walls from the outlines on, through the loops that touch, inwards and outwards."""
    for i in range(2 * ROUNDS * number):
        p = i % (2 * number)
        one = pieces[p if p < number else 2 * number - 1 - p]
        if one.parent >= 0 and one.area != 0.0 and one.nested != LIKE_FILL:
            around = pieces[one.parent]
            if around.nested != LIKE_FILL and one.depth > around.depth + 1:
                one.depth = around.depth + 1
            elif around.nested != LIKE_FILL and around.depth > one.depth + 1:
                around.depth = one.depth + 1


@inner_kernel
def label_loops(number, width, pieces, tally):
    """Write each loop its role: OUTLINE, HOLD, INFILL, WOUND, or DEEP + its depth.

    ``tally.filled_mm2[depth]`` sums the area of the rooms with fill behind this many walls. The part's outermost loops
    become the used pieces; their number is returned.
    """
    outermost = _role_loops(number, pieces)
    _count_depths(number, pieces)
    filled_mm2 = tally.filled_mm2
    for p in range(number):
        one = pieces[p]
        if one.filled > 0.0 and one.gap > 2.0 * HOLLOW * width:  # a room with lines
            filled_mm2[one.depth] += np.int64(one.rest)
        if one.nested == LIKE_FILL and pieces[one.parent].nested != LIKE_FILL:  # one with nested loops
            filled_mm2[pieces[one.parent].depth] += np.int64(abs(one.area))
        if one.role == DEEP:
            one.role += one.depth
        elif one.role == OUTLINE and one.air == 1 and one.parent >= 0 and pieces[one.parent].air == 0:
            _mark_wound(np.int64(p), outermost.sense, width, pieces, tally.holes_mm)
    return outermost.number
