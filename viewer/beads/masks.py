"""Masks measured: gaps between beads closed, the cells of each region added up."""

# mypy: allow-untyped-calls
from __future__ import annotations

from dataclasses import replace

import numpy as np

from viewer.arrays import F64, I32, U8
from viewer.beads.draw import Grid, draw_mask
from viewer.beads.kernels import mask as _kernels
from viewer.beads.section import Beads

MAX_RADIUS = 200.0
"""Cells; the kernel counts distances in one byte."""


def close_gaps(mask: U8, bit: int, beads: Beads, grid: Grid, gap_mm: float) -> U8:
    """Return the outline (h, w) of drawn beads: 1 where they lie and in the gaps between them up to ``gap_mm``.

    A morphological closing by a disc: the beads are drawn wider by R = gap/2 and half a cell on either
    side, which widens the footprint exactly, and that mask is shrunk by R. It is shrunk by one cell more,
    because the next cell outside lies up to a cell beyond the edge itself and every edge would move outwards;
    what this takes off the beads is put back. A hole that holds a disc of R stays as it is, but for what the
    disc cannot reach of its corners.

    Parameters
    ----------
    mask
        (h, w) where the beads set ``bit``; a margin of R about them is needed.
    bit
        Which bit of the mask counts.
    beads
        The beads that set it.
    grid
        Where the mask lies.
    gap_mm
        The widest gap that is closed.
    """
    radius = min(0.5 * gap_mm / grid.cell_mm + 0.5, MAX_RADIUS)
    closed = np.zeros_like(mask)
    wider = (beads.width_mm + np.float32(2.0 * radius * grid.cell_mm)).astype(np.float32)
    draw_mask(closed, replace(beads, width_mm=wider), grid)
    _kernels.shrink(closed, 1, radius + 1.0, np.empty_like(mask), closed)
    closed[(mask & np.uint8(bit)) != 0] = 1
    return closed


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
