"""Loops that belong to the solid, told by their speed.

::

     | 1 | 2 | s | ///// | s | 2 | 1 |      a loop deeper than the second wall is solid where it is laid at the speed of
     60   90   50    50                     the touching lines of its layer, and the second walls are not (mm/s)
"""

# mypy: allow-untyped-defs, allow-untyped-calls
from __future__ import annotations

from typing import Final

import numpy as np

from viewer.jit import inner_kernel
from viewer.layers.kernels.pieces import DEEP, DEEPEST, DENSE

SAME: Final = 0.01
"""Speeds that differ by less than this share are one."""
SECOND: Final = 2
"""Depth of the first inner loop: all programs lay this one as a wall."""


@inner_kernel
def _is_same(one, other):
    return abs(one - other) <= SAME * one


@inner_kernel
def _count(speed, weight, best):
    """Count a vote for a speed, mm/s; ``best`` holds the one with most votes so far, and by how many it leads."""
    if best[1] <= 0.0:
        best[0], best[1] = speed, weight
    elif _is_same(speed, best[0]):
        best[1] += weight
    else:
        best[1] -= weight


@inner_kernel
def find_solid_loops(number, width, layer, speed_mm_s):
    """Write the number of walls `DEEPEST` to loops deeper than the second that are laid as the layer's solid is.

    The speed that most of the second walls' path has, and most touching lines, stand for them (a vote in one pass:
    Boyer and Moore 1981, from memory).
    """
    points, pieces = layer.points, layer.pieces
    deeper = False
    walls, lines = np.zeros(2), np.zeros(2)
    for p in range(number):
        one = pieces[p]
        if one.area != 0.0:
            deeper = deeper or (one.role > DEEP + SECOND and one.role < DEEP + DEEPEST)
            if one.role == DEEP + SECOND:
                _count(speed_mm_s[points[one.last].row], one.path, walls)
    if not deeper or walls[1] <= 0.0:
        return
    for p in range(number):
        one = pieces[p]
        if one.area == 0.0 and one.parent >= 0 and pieces[one.parent].air == 0:
            for s in range(one.first, one.last):
                if points[s].spacing <= DENSE * width:
                    _count(speed_mm_s[points[s + 1].row], 1.0, lines)
    if lines[1] <= 0.0 or _is_same(lines[0], walls[0]):
        return
    for p in range(number):
        one = pieces[p]
        if one.area != 0.0 and one.role > DEEP + SECOND and one.role < DEEP + DEEPEST:
            if _is_same(speed_mm_s[points[one.last].row], lines[0]):
                one.role = DEEP + DEEPEST
