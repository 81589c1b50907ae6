"""The kernel that finds the bead under the pointer."""

# mypy: allow-untyped-defs, allow-untyped-calls
from __future__ import annotations

from typing import NamedTuple

import numpy as np

from viewer.beads.kernels.columns import Segments
from viewer.jit import kernel


class Nearest(NamedTuple):
    """A bead (-1: none) and the distance to its footprint, mm (inf where there is none)."""

    bead: int
    distance_mm: float


@kernel
def find_nearest(x: float, y: float, segments: Segments) -> Nearest:
    """Return the bead whose footprint is nearest to a point; within footprints the distance is 0.

    Of equal ones it is the later. A bead without a length is a disc about its start.
    """
    found = -1
    best = np.inf
    for k in range(len(segments.x0_mm)):
        ax, ay = np.float64(segments.x0_mm[k]), np.float64(segments.y0_mm[k])
        dx, dy = segments.x1_mm[k] - ax, segments.y1_mm[k] - ay
        square = dx * dx + dy * dy
        at = ((x - ax) * dx + (y - ay) * dy) / square if square > 0.0 else 0.0
        at = min(max(at, 0.0), 1.0)
        away = np.hypot(x - ax - at * dx, y - ay - at * dy) - 0.5 * segments.width_mm[k]
        if max(away, 0.0) <= best:
            best = max(away, 0.0)
            found = k
    return Nearest(found, best)
