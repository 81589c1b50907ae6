"""Kernel on the beads of a layer: where they cross air straight and are held at both ends."""

# mypy: allow-untyped-defs, allow-untyped-calls
from __future__ import annotations

import numpy as np

from viewer.jit import kernel
from viewer.shape.kernels.bits import JOIN_MM

TURN_RAD = 0.5
"""A stretch that turns by more than this (29 degrees) over air is no bridge."""
SHORT_MM = 0.05
"""The direction of a bead shorter than this is mostly rounding of the program's decimals."""
BESIDE = 1.5
"""Bead widths: a stretch whose middle has a held edge this near beside it is an overhang of that edge, no bridge."""
MAX_STEPS = 8192
"""Steps over air of which it is remembered whether they are beside an edge; the middle of more is taken as beyond."""
SPAN, SPANS, MIDDLE_X, MIDDLE_Y, COVERED = 0, 1, 2, 3, 4
"""Columns of ``spans``."""


@kernel
def _is_beside(x, y, ux, uy, far, below, grid):
    """Return whether ``below`` is set up to ``far`` mm to the left or right of a point."""
    rows, columns = below.shape
    pace = 0.5 * grid[2]
    for s in range(1, int(far / pace) + 1):
        for side in range(-1, 2, 2):
            i = int((y + side * s * pace * ux - grid[1]) / grid[2])
            j = int((x - side * s * pace * uy - grid[0]) / grid[2])
            if 0 <= i < rows and 0 <= j < columns and below[i, j] != 0:
                return True
    return False


@kernel
def find_spans(beads, chosen, below, reach, air, labels, grid, spans):
    """Add the stretches on which joined beads cross air straight, held at both ends, to the row of their region.

    A point is held where ``below`` is set, which is drawn wider by ``reach`` mm: a bead whose side lies on a wall
    is held. On average the points found held lie half a step behind the edges. A stretch whose middle is nearer than
    `BESIDE` bead widths to an edge that runs beside it is left out: the edge holds it, not its ends.
    ``beads`` (n, 5): x0, y0, x1, y1, width, mm, of which the ``chosen`` (n,) count. ``spans`` (regions, 5): longest, mm;
    sums of span^2, span^2 x, span^2 y, span width.
    """
    rows, columns = below.shape
    cell = grid[2]
    aloft = held_before = begun_held = False
    px = py = ux = uy = sx = sy = turned = 0.0
    region = -1
    beside = np.zeros(MAX_STEPS, np.bool_)
    aloft_steps = 0
    for k in range(len(beads)):
        x0, y0, x1, y1 = beads[k, 0], beads[k, 1], beads[k, 2], beads[k, 3]
        length = np.sqrt((x1 - x0) ** 2 + (y1 - y0) ** 2)
        joined = k > 0 and chosen[k - 1] and abs(x0 - beads[k - 1, 2]) + abs(y0 - beads[k - 1, 3]) < JOIN_MM
        if not (chosen[k] and joined):
            aloft = held_before = False
            ux = uy = 0.0
        if not chosen[k] or length == 0.0:
            continue
        if length > SHORT_MM:
            vx, vy = (x1 - x0) / length, (y1 - y0) / length
            if aloft and ux * ux + uy * uy > 0.0:
                turned += abs(np.arctan2(ux * vy - uy * vx, ux * vx + uy * vy))
            ux, uy = vx, vy
        steps = max(int(np.ceil(length / cell)), 1)
        for s in range(steps):
            x = x0 + (s + 0.5) / steps * (x1 - x0)
            y = y0 + (s + 0.5) / steps * (y1 - y0)
            i = min(max(int((y - grid[1]) / cell), 0), rows - 1)
            j = min(max(int((x - grid[0]) / cell), 0), columns - 1)
            if below[i, j] != 0:
                free = not beside[min(aloft_steps // 2, MAX_STEPS - 1)]
                if aloft and begun_held and turned < TURN_RAD and region >= 0 and free:
                    span = max(np.sqrt((x - sx) ** 2 + (y - sy) ** 2) + 2.0 * reach - length / steps, 0.0)
                    if span > spans[region, SPAN]:
                        spans[region, SPAN] = span
                    spans[region, SPANS] += span * span
                    spans[region, MIDDLE_X] += 0.5 * span * span * (sx + x)
                    spans[region, MIDDLE_Y] += 0.5 * span * span * (sy + y)
                    spans[region, COVERED] += span * beads[k, 4]
                aloft = False
                held_before = True
            else:
                if not aloft:
                    aloft, begun_held, held_before = True, held_before, False
                    sx, sy = (px, py) if begun_held else (x, y)
                    turned, region, aloft_steps = 0.0, -1, 0
                if air[i, j] != 0:
                    region = labels[i, j]
                if aloft_steps < MAX_STEPS - 1:
                    far = max(BESIDE * beads[k, 4] - reach, 0.0)
                    beside[aloft_steps] = _is_beside(x, y, ux, uy, far, below, grid)
                aloft_steps += 1
            px, py = x, y
