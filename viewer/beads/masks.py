"""Masks measured: gaps between beads closed, the cells of each region added up."""

# mypy: allow-untyped-calls
from __future__ import annotations

from dataclasses import replace

import numpy as np

from viewer.beads import _kernels
from viewer.beads.draw import Grid, draw_mask
from viewer.beads.section import Beads
from viewer.read.moves import F64, I32, U8

MOST_RADIUS = 200.0
"""Cells; the kernel counts distances in one byte."""


def close_gaps(beads: Beads, grid: Grid, shape: tuple[int, int], gap_mm: float) -> U8:
    """Give the mask (h, w) of the beads with every gap up to ``gap_mm`` closed, and nothing wider.

    A morphological closing by a disc: the beads are drawn wider by R = (gap + cell)/2 on either side, which
    widens the footprint exactly, and the mask is then shrunk by R. A hole that holds a disc of R stays as it
    is, but for what the disc cannot reach of its corners. The grid needs a margin of R.
    """
    radius = min(0.5 * gap_mm / grid.cell_mm + 0.5, MOST_RADIUS)
    mask = np.zeros(shape, np.uint8)
    # a thousandth of a cell more: float32 widths must not undo a cell that lies exactly on the edge
    wider = (beads.width_mm + np.float32(2.0 * (radius + 1e-3) * grid.cell_mm)).astype(np.float32)
    draw_mask(mask, replace(beads, width_mm=wider), grid)
    _kernels.shrink(mask, 1, radius, np.empty(shape, np.uint8), mask)
    return mask


def region_sums(labels: I32, mask: U8, bit: int, count: int) -> F64:
    """Add up the cells set in ``mask`` (h, w) for each label (h, w), 0 to ``count``.

    Returns
    -------
    array
        (count + 1, 4): how many, the sum of their columns and of their rows, how many have ``bit``.
    """
    sums = np.zeros((count + 1, 4))
    _kernels.sum_regions(labels, mask, bit, sums)
    return sums
