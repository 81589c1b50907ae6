"""Regions of the plate where the seconds of some moves are spent."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np

from viewer.arrays import F64, I64
from viewer.beads.regions import label_cells

CELL_MM: Final = 3.0
"""Moves that pass through cells of this width that touch, at corners too, are in one region."""
MAX_CELLS: Final = 500_000
MAX_PASSES: Final = 4_000_000
"""Most cells that all moves together may pass through; cells are made larger until they do."""
LEAST_SHARE: Final = 0.08
"""A region with less of the seconds than this share is none of its own."""
LEAST_TOLD: Final = 0.6
"""Regions that have less of the seconds than this share together tell nothing of where they are spent."""
ELSEWHERE: Final = -1


@dataclass(frozen=True, slots=True, eq=False)
class Paths:
    """Straight ways on the plate, (n,) each."""

    x0_mm: F64
    y0_mm: F64
    x1_mm: F64
    y1_mm: F64

    def of(self, rows: I64) -> Paths:
        """Return some of them."""
        return Paths(self.x0_mm[rows], self.y0_mm[rows], self.x1_mm[rows], self.y1_mm[rows])

    @property
    def middles(self) -> Paths:
        """Their middles, as ways without any length."""
        x, y = 0.5 * (self.x0_mm + self.x1_mm), 0.5 * (self.y0_mm + self.y1_mm)
        return Paths(x, y, x, y)


def regions_of(paths: Paths, seconds: F64) -> I64:
    """Return the region of each move: (n,).

    Parameters
    ----------
    paths
        (n,) the ways of the moves.
    seconds
        (n,) what they take.

    Returns
    -------
    ndarray of int64, (n,)
        From 0, the dearest region first; `ELSEWHERE` for moves of regions too small to be told apart. Where no two
        regions are worth telling apart, or where most of the seconds lie in small ones, all moves are in region 0.
    """
    label = _labels(paths)
    by_label = np.bincount(label, seconds)
    order = np.argsort(-by_label, kind="stable")
    large = order[by_label[order] >= LEAST_SHARE * by_label.sum()]
    large = large[by_label[large] > 0.0]
    if len(large) < 2 or by_label[large].sum() < LEAST_TOLD * by_label.sum():
        return np.zeros(len(label), np.int64)
    number = np.full(len(by_label), ELSEWHERE)
    number[large] = np.arange(len(large))
    return np.asarray(number[label])


def _labels(paths: Paths) -> I64:
    """Return the number of the region of touching cells in which each way lies: (n,)."""
    ends = [np.append(one, other) for one, other in ((paths.x0_mm, paths.x1_mm), (paths.y0_mm, paths.y1_mm))]
    corner = [float(side.min()) for side in ends]
    spans = [float(side.max()) - low for side, low in zip(ends, corner, strict=True)]
    length = np.hypot(paths.x1_mm - paths.x0_mm, paths.y1_mm - paths.y0_mm)
    cell = CELL_MM
    while (spans[0] / cell + 1.0) * (spans[1] / cell + 1.0) > MAX_CELLS or float(
        length.sum()
    ) / cell > MAX_PASSES:
        cell *= 2.0
    # an odd number of points on each way, so that its middle is one of them
    points = 2 * (length / cell).astype(np.int64) + 1
    first = np.cumsum(points) - points
    way = np.repeat(np.arange(len(points)), points)
    share = (np.arange(len(way)) - first[way] + 0.5) / points[way]
    columns, rows = (
        ((begin[way] + share * (end - begin)[way] - low) // cell).astype(np.int64)
        for begin, end, low in (
            (paths.x0_mm, paths.x1_mm, corner[0]), (paths.y0_mm, paths.y1_mm, corner[1]),
        )
    )  # fmt: skip
    mask = np.zeros((int(rows.max()) + 1, int(columns.max()) + 1), np.uint8)
    mask[rows, columns] = 1
    labels, _ = label_cells(mask)
    middle = first + points // 2
    return np.asarray(labels[rows[middle], columns[middle]], np.int64)
