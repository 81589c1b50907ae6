"""The distance between parallel lines of fill.

::

      ______________
     |   ____________      each line is compared with the three lines before it (and so with the three after):
     |  |_____________     the next one of a zigzag, or of lines that were laid in another order
      `--- spacing
"""

# mypy: allow-untyped-defs, allow-untyped-calls
from __future__ import annotations

from typing import Final

import numpy as np

from viewer.jit import inner_kernel
from viewer.layers.kernels.pieces import FARTHEST, LONG

PARALLEL: Final = 0.1
"""Sine of the angle up to which two lines are parallel."""
COMMON: Final = 0.3
"""They lie beside each other over at least this share of the shorter one."""
ON_TOP: Final = 0.3
"""Lines nearer than this many widths lie on one another."""


@inner_kernel
def measure_spacing(n, width, points, pieces):
    """Write each long bead of an open piece its distance to a parallel one among the three before and after, else inf."""
    one, two, three = np.int64(-1), np.int64(-1), np.int64(-1)  # the last three long beads
    for s in range(n):
        points[s].spacing = np.inf
        here, piece = points[s], pieces[points[s].piece]
        if piece.area != 0.0 or s == piece.last:
            continue
        x, y = here.x, here.y
        ux, uy = points[s + 1].x - x, points[s + 1].y - y
        long = np.sqrt(ux * ux + uy * uy)
        if long < LONG * width:
            continue
        ux, uy = ux / long, uy / long
        for k in range(3):
            o = one if k == 0 else (two if k == 1 else three)
            if o < 0:
                continue
            beside = points[o]
            ox, oy = beside.x, beside.y
            vx, vy = points[o + 1].x - ox, points[o + 1].y - oy
            # from where to where the other lies along this one
            a = (ox - x) * ux + (oy - y) * uy
            b = a + vx * ux + vy * uy
            other = np.sqrt(vx * vx + vy * vy)
            common = min(long, max(a, b)) - max(0.0, min(a, b))
            if abs(vx * uy - vy * ux) > PARALLEL * other or common < COMMON * min(long, other):
                continue
            apart = abs((ox + 0.5 * vx - x) * uy - (oy + 0.5 * vy - y) * ux)
            if ON_TOP * width < apart < FARTHEST * width:
                here.spacing = min(here.spacing, apart)
                beside.spacing = min(beside.spacing, apart)
        three, two, one = two, one, np.int64(s)
