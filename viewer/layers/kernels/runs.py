"""Runs of beads at one height."""

from __future__ import annotations

import math

import numpy as np

from viewer.jit import kernel

_BEAD = np.uint8(1)
_PLACE = np.uint8(5)


@kernel
def find_runs(x, y, z, length, kind, cuts, flat_mm, steepest, first, last, height, path, rise, turning):
    """Group consecutive beads into runs of one height, or into runs that rise steadily.

    Beads that follow each other without travel belong together as long as they do not fall and rise less
    steeply than `steepest` (a spiral written with three decimals has flat beads among the rising ones). Behind a travel
    a bead belongs to the run only at the run's height. A run never crosses a cut.

    Parameters
    ----------
    x, y, z, length, kind
        Columns of the moves.
    cuts
        int32, sorted: move indices at which a new run begins; the last one is beyond all moves.
    flat_mm
        Heights closer than this are one height.
    steepest
        Rise over path beyond which a bead goes to another height instead of rising along.
    first, last, height, path, rise, turning
        Filled, one place a run: its first and last bead (move index), the greatest height of a bead's end (mm), the
        beads' path (mm), how far the beads rose along their way (mm), and the turning of their direction in
        the plane (rad, signed: a closed turn is 2 pi whatever its shape).

    Returns
    -------
    Number of runs, or minus the number that would be needed where the arrays are too short.
    """
    n = len(kind)
    runs = 0
    room = len(first)
    cut = 0
    open_run = False
    joined = False
    px, py, pz = np.float32(0.0), np.float32(0.0), np.float32(0.0)
    top = 0.0
    ux, uy = 0.0, 0.0
    for i in range(n):
        while cuts[cut] <= i:
            open_run = False
            cut += 1
        if kind[i] == _BEAD:
            end_z = z[i]
            dz = np.float64(end_z) - pz
            level = abs(end_z - top) <= flat_mm
            rising = joined and dz >= -flat_mm and dz <= steepest * length[i]
            if not open_run or not (level or rising):
                if runs < room:
                    first[runs] = i
                    path[runs] = 0.0
                    rise[runs] = 0.0
                    turning[runs] = 0.0
                    height[runs] = end_z
                if open_run or not joined:
                    ux, uy = (
                        0.0,
                        0.0,
                    )  # over a cut within a path the corner there counts: it may be a spiral's seam
                runs += 1
                open_run = True
                top = end_z
            else:
                top = max(top, end_z)
            if runs <= room:
                k = runs - 1
                last[k] = i
                path[k] += length[i]
                height[k] = max(height[k], end_z)
                if joined and dz > 0.0:
                    rise[k] += dz
                dx = np.float64(x[i]) - px
                dy = np.float64(y[i]) - py
                if rise[k] > 0.0 and (abs(dx) > 1e-4 or abs(dy) > 1e-4):
                    if ux != 0.0 or uy != 0.0:
                        turning[k] += math.atan2(ux * dy - uy * dx, ux * dx + uy * dy)
                    ux, uy = dx, dy
            joined = True
        elif length[i] > 0.0 or kind[i] == _PLACE:
            joined = False
            ux, uy = 0.0, 0.0
        px, py, pz = x[i], y[i], z[i]
    return runs if runs <= room else -runs
