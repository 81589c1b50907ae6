"""How regions over air are held: on both sides, as narrow channels are, or at one narrow place, as cantilevers are.

::

    channel: both sides carry          cantilever: one narrow place carries
    #####################                     .------------.
    - - - - - - - - - - -  air         ###----'            |   air all around
    #####################              ###----.            |
                                              '------------'
"""

from __future__ import annotations

from typing import Final

import numpy as np
import numpy.typing as npt

from viewer.arrays import F64, U8
from viewer.shape.air import AirRegions
from viewer.shape.kernels import held as kh
from viewer.shape.kernels import over_air as k
from viewer.shape.masks import SHELL_BIT, LayerMask

CHANNEL_BEADS: Final = 4.0
"""Bead widths: over a channel up to this wide beads hold one another, in whatever direction they are laid. Common
practice, no source."""
CHANNEL_SHARE: Final = 0.8
"""Share of a region that must lie between two sides."""
POINTS: Final = 48
"""Number of cells of a region that are looked at."""
DEPTH_MM: Final = 10.0
"""A piece that reaches this far from the one place that holds it is not held: its beads are dragged along before they
come back. Common practice, no source."""
NARROW_SHARE: Final = 1.0
"""The place that holds a cantilever is narrow: at most this share of how far the piece reaches. From a wide edge beads
can be laid side by side outwards, each held by the last."""
MIN_MM2: Final = 2.0
"""Smaller pieces are not followed."""


def channel_widths(air: AirRegions, above: LayerMask, chosen: npt.NDArray[np.bool_], reach_mm: float) -> F64:
    """Return how wide each of the chosen regions is that is a narrow channel, mm; 0 for all others.

    What carries is drawn wider by ``reach_mm``: a channel is twice that wider than the region.
    """
    widths = np.zeros(air.runs.count)
    shell = above.beads.width_mm[above.bits == SHELL_BIT]
    if not len(shell) or not np.any(chosen):
        return widths
    cell, buffers, runs = air.buffers.grid.cell_mm, air.buffers, air.runs
    widest = (CHANNEL_BEADS * float(np.median(shell)) - 2.0 * reach_mm) / cell
    stride = np.where(chosen, np.maximum(air.sums[:, k.AREA] // POINTS, 1), 0).astype(np.int64)
    across = np.zeros((runs.count, 3))
    kh.find_channels(
        runs.first, runs.begin, runs.end, runs.label, stride, widest, buffers.labels, buffers.air, buffers.carried,
        across,
    )  # fmt: skip
    found = (across[:, 1] > 0.0) & (across[:, 1] >= CHANNEL_SHARE * across[:, 0])
    widths[found] = cell * across[found, 2] / across[found, 1] + 2.0 * reach_mm
    return widths


def is_cantilever(air: AirRegions, region: int, mask: U8) -> bool:
    """Return whether one narrow place alone holds a region that reaches far."""
    cell = air.buffers.grid.cell_mm
    if air.area_mm2[region] < MIN_MM2 or air.side_mm[region] < 0.5 * DEPTH_MM:
        return False
    rows = air.sums[region, [k.LOW_Y, k.HIGH_Y, k.LOW_X, k.HIGH_X]].astype(np.int64)
    facts = np.zeros(5)
    buffers = air.buffers
    kh.find_depth(region, rows, buffers.labels, buffers.air, mask, buffers.carried, facts)
    depth = cell * facts[kh.DEPTH]
    held = cell * np.hypot(facts[kh.HIGH_X] - facts[kh.LOW_X], facts[kh.HIGH_Y] - facts[kh.LOW_Y])
    return bool(depth >= DEPTH_MM and held <= NARROW_SHARE * depth)
