"""The kernels that draw beads into masks, shrink masks and add up their regions.

A mask has a byte a cell, and a bit for each of up to eight sorts of beads. See `oblong` for where cells lie.
"""

# mypy: allow-untyped-defs, allow-untyped-calls
from __future__ import annotations

from typing import TYPE_CHECKING, Final, NamedTuple

import numpy as np

from viewer.beads.kernels.columns import Segments
from viewer.beads.kernels.oblong import LARGEST, Frame, direction_of, left_edge, oblong_of
from viewer.jit import kernel

if TYPE_CHECKING:
    from viewer.arrays import F64, I32, U8

NEAR_TOP: Final = 255
"""Distances are counted in one byte."""


class Part(NamedTuple):
    """The part of a mask that changes; the ends are exclusive."""

    row_lo: int
    row_hi: int
    column_lo: int
    column_hi: int


@kernel
def mark_cells(grid: U8, segments: Segments, bits: U8, frame: Frame, part: Part) -> None:
    """Set ``bits[k]`` in every cell of ``grid`` (rows, columns) whose centre lies within bead k's footprint.

    Only the cells of ``part`` change. A bead with an end or a width that is not finite is left out: no cell can be named
    for it.
    """
    for k in range(len(bits)):
        bead = oblong_of(segments, k, frame, frame.scale)
        x0, y0, x1, y1, r = bead
        # written so that a bead with a NaN meets no part
        if not (y0 - r < part.row_hi and y1 + r >= part.row_lo and r < LARGEST):
            continue
        if not (min(x0, x1) - r < part.column_hi and max(x0, x1) + r >= part.column_lo):
            continue
        u = direction_of(bead)
        if not u.length < LARGEST:
            continue
        bit = bits[k]
        top = int(min(np.floor(y1 + r), part.row_hi - 1.0))
        for i in range(int(max(np.ceil(y0 - r), float(part.row_lo))), top + 1):
            left = np.ceil(left_edge(float(i), x0, y0, x1, y1, u.x, u.y, r))
            right = np.floor(-left_edge(float(i), -x0, y0, -x1, y1, -u.x, u.y, r))
            if left <= right:
                j_end = int(min(right, part.column_hi - 1.0)) + 1
                for j in range(int(max(left, float(part.column_lo))), j_end):
                    grid[i, j] |= bit


@kernel
def shrink(mask: U8, bit: int, radius: float, near: U8, result: U8) -> None:
    """Set ``result`` to 1 where no cell within ``radius`` cells lacks ``bit`` in ``mask``: erosion by a disc.

    ``near`` (rows, columns) is room for the distance along the row to the nearest cell that lacks it, so that
    one comparison a row of the disc is enough. Beyond the grid nothing counts as lacking. The radius is below
    `NEAR_TOP`.
    """
    rows, columns = mask.shape
    for i in range(rows):
        d = NEAR_TOP
        for j in range(columns):  # to the nearest on the left
            d = min(d + 1, NEAR_TOP) if mask[i, j] & bit else 0
            near[i, j] = d
        for j in range(columns - 1, -1, -1):  # or on the right
            d = min(d + 1, NEAR_TOP, near[i, j]) if mask[i, j] & bit else 0
            near[i, j] = d
    deep = int(radius)
    for i in range(rows):
        for j in range(columns):
            result[i, j] = 1
        for k in range(max(0, i - deep), min(rows, i + deep + 1)):
            half = np.uint8(np.sqrt(radius * radius - (k - i) * (k - i)))  # half the disc's chord on row k
            for j in range(columns):
                result[i, j] &= near[k, j] > half


@kernel
def sum_regions(labels: I32, mask: U8, part_bit: int, sums: F64) -> None:
    """Add up ``mask``'s cells by label: ``sums`` (labels + 1, 4) of n, columns, rows, n with ``part_bit``."""
    rows, columns = mask.shape
    for i in range(rows):
        for j in range(columns):
            if mask[i, j]:
                k = labels[i, j]
                sums[k, 0] += 1.0
                sums[k, 1] += j
                sums[k, 2] += i
                if mask[i, j] & part_bit:
                    sums[k, 3] += 1.0
