"""In which order beads are drawn: what lies before comes first, so that what lies behind need not be drawn at all."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np

from viewer.arrays import F64, I32, freeze, read_only
from viewer.part.kernels.columns import Order
from viewer.part.solid import Part
from viewer.part.view import PartView

SIDE: Final = 32
"""So many columns of space along X, and along Y."""


@dataclass(frozen=True, slots=True, eq=False)
class Grouped:
    """Beads by the upright column of space in which they end: the same order in depth from every side."""

    rows: I32  # (n,) ascending in each column
    begin: I32  # (columns,) places in `rows`
    end: I32
    middle_xy: F64  # (columns, 2) mm

    def seen_from(self, view: PartView) -> Order:
        """Return the beads with the nearest column first."""
        toward = np.array(view.toward[:2])
        nearest = np.argsort(-(self.middle_xy @ toward), kind="stable")
        return Order(self.rows, read_only(self.begin[nearest]), read_only(self.end[nearest]))


def grouped(part: Part, rows: I32) -> Grouped:
    """Return some beads (rows, ascending) in groups.

    Columns with nothing in them are left out.
    """
    moves = part.end[rows]
    cell = np.zeros(len(rows), np.uint16)
    sides = []
    for place, low, high in zip((part.x_mm, part.y_mm), part.lowest, part.highest, strict=False):
        side = max((high - low) / SIDE, 1e-3)
        at = np.clip((place[moves] - np.float32(low)) * np.float32(1.0 / side), 0, SIDE - 1)
        cell = cell * np.uint16(SIDE) + at.astype(np.uint16)
        sides.append(side)
    counts = np.bincount(cell, minlength=SIDE * SIDE)
    used = np.flatnonzero(counts)
    ends = np.cumsum(counts)[used].astype(np.int32)
    begins = (ends - counts[used]).astype(np.int32)
    chosen = rows[np.argsort(cell, kind="stable")]
    freeze(chosen)
    middle = np.stack([used // SIDE * sides[0], used % SIDE * sides[1]], axis=1)
    return Grouped(chosen, begins, ends, middle)
