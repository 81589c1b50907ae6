"""Runs of beads at one height, or of a steady rise.

::

     ______  ______          two runs: a travel to another height between
            /
     ______/                 steeper than `steepest`: another run
      ..--''``               less steep, without travel: it rises along, as a spiral does
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Final, NamedTuple

import numpy as np

from viewer.jit import inner_kernel, kernel
from viewer.layers.kernels.columns import BEAD, PLACE, Moves

if TYPE_CHECKING:
    from viewer.arrays import F64, I32

STILL_MM: Final = 1e-4
"""A shorter bead has no direction."""


class Runs(NamedTuple):
    """Room for runs, one place a run."""

    first: I32  # first bead (move index)
    last: I32  # last bead
    height: F64  # greatest height of a bead's end, mm
    path: F64  # of the beads, mm
    rise: F64  # how far the beads rose along their way, mm
    turning: F64  # of the direction in the plane, rad, signed: a closed turn is 2 pi whatever its shape


@inner_kernel
def _begin(runs, k, i, height):
    """Begin run k with bead i."""
    runs.first[k] = i
    runs.path[k] = 0.0
    runs.rise[k] = 0.0
    runs.turning[k] = 0.0
    runs.height[k] = height


@kernel
def find_runs(moves: Moves, cuts: I32, flat_mm: float, steepest: float, runs: Runs) -> int:
    """Group consecutive beads into runs of one height, or into runs that rise steadily.

    Beads that follow each other without travel belong together as long as they do not fall and rise less
    steeply than `steepest` (a spiral written with three decimals has flat beads among the rising ones). Behind a travel
    a bead belongs to the run only at the run's height. A run never crosses a cut.

    Parameters
    ----------
    moves
        Columns of the moves.
    cuts
        Sorted: move indices at which a new run begins; the last one is beyond all moves.
    flat_mm
        Heights closer than this are one height.
    steepest
        Rise over path beyond which a bead goes to another height instead of rising along.
    runs
        Filled as far as there is room.

    Returns
    -------
    Number of runs, or minus the number that would be needed where the arrays are too short.
    """
    x, y, z, length, kind = moves.x_mm, moves.y_mm, moves.z_mm, moves.length_mm, moves.kind
    found = 0
    room = len(runs.first)
    cut = 0
    open_run = False
    joined = False  # whether no travel came since the last bead
    px, py, pz = np.float32(0.0), np.float32(0.0), np.float32(0.0)
    top = 0.0
    ux, uy = 0.0, 0.0  # the last bead's direction, not normalised; (0, 0): none
    for i in range(len(kind)):
        while cuts[cut] <= i:
            open_run = False
            cut += 1
        if kind[i] == BEAD:
            end_z = z[i]
            dz = np.float64(end_z) - pz
            level = abs(end_z - top) <= flat_mm
            rising = joined and dz >= -flat_mm and dz <= steepest * length[i]
            if not open_run or not (level or rising):
                if found < room:
                    _begin(runs, found, i, end_z)
                if (
                    open_run or not joined
                ):  # over a cut within a path the corner there counts: it may be a seam
                    ux, uy = 0.0, 0.0
                found += 1
                open_run = True
                top = end_z
            else:
                top = max(top, end_z)
            if found <= room:
                k = found - 1
                runs.last[k] = i
                runs.path[k] += length[i]
                runs.height[k] = max(runs.height[k], end_z)
                if joined and dz > 0.0:
                    runs.rise[k] += dz
                dx = np.float64(x[i]) - px
                dy = np.float64(y[i]) - py
                # turning is asked for only of runs that rise
                if runs.rise[k] > 0.0 and (abs(dx) > STILL_MM or abs(dy) > STILL_MM):
                    if ux != 0.0 or uy != 0.0:
                        runs.turning[k] += math.atan2(ux * dy - uy * dx, ux * dx + uy * dy)
                    ux, uy = dx, dy
            joined = True
        elif length[i] > 0.0 or kind[i] == PLACE:
            joined = False
            ux, uy = 0.0, 0.0
        px, py, pz = x[i], y[i], z[i]
    return found if found <= room else -found
