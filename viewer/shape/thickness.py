"""Walls thinner than two beads: how thick the part is across its loops, layer by layer.

::

         |<- thickness ->|
    .....#################.....       from the middle of a bead outwards to either side, until nothing is set
              ^ bead                  (hollows that infill encloses count as set)

A single bead measures one width, two neighbours nearly two. Gaps up to a third of a bead are passed over: they
are what a program leaves between loops that touch once printed.
"""

from __future__ import annotations

from typing import Final

import numpy as np
import numpy.typing as npt

from viewer.arrays import F64
from viewer.beads.regions import label_cells
from viewer.shape.kernels import thickness as k
from viewer.shape.masks import LayerMask, MaskBuffers
from viewer.shape.spots import ThinPlace

STEP_MM: Final = 0.7
"""Distance between two measurements along a loop."""
LIMIT_BEADS: Final = 1.75
"""Only places thinner than this are kept: two beads that overlap as usual measure 1.9 widths."""
JUMP_BEADS: Final = 0.33
"""Gaps up to this are passed over."""
POST_BEADS: Final = 2.5
"""A place no longer than this along its bead, in every measurement, is a post."""
COARSE_MM: Final = 1.0
"""Measurements in cells of this size that touch make one place."""
MIN_MM: Final = 2.0
"""A thin place that is shorter is a tip or a corner, unless it is a post (common practice, no source)."""
MAX_PLACES: Final = 30
MAX_POINTS: Final = 20_000


def measure_thin(buffers: MaskBuffers, layer: LayerMask) -> list[ThinPlace]:
    """Return the places of a drawn layer that are thinner than two beads, at most `MAX_PLACES`, the longest."""
    if not np.any(layer.loops):
        return []
    points = _points(buffers, layer, buffers.empty)
    if len(points):
        points = _points(buffers, layer, layer.hollows(buffers))
    return _places(points, layer) if len(points) else []


def _points(buffers: MaskBuffers, layer: LayerMask, hollows: npt.NDArray[np.uint8]) -> F64:
    """Return (n, 6): x, y, thickness, extent along the bead, bead width, bead."""
    length = float(
        np.hypot(*(layer.table[layer.loops, 2:4] - layer.table[layer.loops, 0:2]).T).sum(dtype=np.float64)
    )
    found = np.empty((min(int(length / STEP_MM) + 2, MAX_POINTS), 6))
    count = k.find_thin(
        layer.table,
        layer.loops,
        layer.mask,
        hollows,
        buffers.left_front_cell,
        STEP_MM,
        LIMIT_BEADS,
        JUMP_BEADS,
        found,
    )
    return found[:count]


def _places(points: F64, layer: LayerMask) -> list[ThinPlace]:
    """Join points that lie close to one another to places."""
    low = points[:, :2].min(axis=0)
    cells = ((points[:, :2] - low) / COARSE_MM).astype(np.intp)
    grid = np.zeros(cells.max(axis=0) + 1, np.uint8)
    grid[cells[:, 0], cells[:, 1]] = 1
    labels, _ = label_cells(grid)
    label = labels[cells[:, 0], cells[:, 1]]
    numbers, sizes = np.unique(label, return_counts=True)
    longest = np.sort(numbers[np.argsort(-sizes, kind="stable")[:MAX_PLACES]])
    places = (_place(points[label == number], layer) for number in longest.tolist())
    return [place for place in places if place.is_post or place.length_mm >= MIN_MM]


def _place(points: F64, layer: LayerMask) -> ThinPlace:
    x, y, thickness, extent, width, bead = points.T
    nearest = np.argmin(np.hypot(x - x.mean(), y - y.mean()))
    half = 0.5 * float(width.max())
    return ThinPlace(
        layer=layer.number, place_mm=(float(x[nearest]), float(y[nearest])),
        box_mm=(float(x.min()) - half, float(y.min()) - half, float(x.max()) + half, float(y.max()) + half),
        move=int(layer.beads.move[int(bead[0])]), last_move=int(layer.beads.move[int(bead[-1])]),
        thickness_mm=float(thickness.mean()), bead_mm=float(width.mean()), length_mm=_length(points),
        is_post=bool((extent <= POST_BEADS * width).all()) and float(np.ptp(x) + np.ptp(y)) < POST_BEADS * 2.0 * half,
    )  # fmt: skip


def _length(points: F64) -> float:
    """Return the length of a place, mm; where a loop goes there and back, the way back is not counted again.

    A point belongs to the way back where an earlier one lies across the wall, up to half a step ahead or behind.
    """
    across = float((points[:, 2] - points[:, 4]).max())
    near = min(float(np.hypot(0.5 * STEP_MM, across)) + 0.05, 0.95 * STEP_MM)
    x, y = np.ascontiguousarray(points[:, 0]), np.ascontiguousarray(points[:, 1])
    return int(k.count_apart(x, y, np.argsort(x), near)) * STEP_MM
