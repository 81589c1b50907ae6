"""Regions of the plate where the seconds of some moves are spent."""

from __future__ import annotations

from typing import Final

import numpy as np

from viewer.arrays import F64, I64
from viewer.beads.regions import label_cells

CELL_MM: Final = 5.0
"""Moves whose middles lie in cells of this width that touch, at corners too, are in one region."""
MAX_CELLS: Final = 250_000
LEAST_SHARE: Final = 0.08
"""A region with less of the seconds than this share is none of its own."""
ELSEWHERE: Final = -1


def regions_of(x_mm: F64, y_mm: F64, seconds: F64) -> I64:
    """Return the region of each move: (n,).

    Parameters
    ----------
    x_mm, y_mm
        (n,) the middles of the moves.
    seconds
        (n,) what they take.

    Returns
    -------
    ndarray of int64, (n,)
        From 0, the dearest region first; `ELSEWHERE` for moves of regions too small to be told apart. Where no two
        regions are worth telling apart, all moves are in region 0.
    """
    cell = CELL_MM
    spans = [float(column.max() - column.min()) for column in (x_mm, y_mm)]
    while (spans[0] / cell + 1.0) * (spans[1] / cell + 1.0) > MAX_CELLS:
        cell *= 2.0
    columns, rows = (((values - values.min()) // cell).astype(np.int64) for values in (x_mm, y_mm))
    mask = np.zeros((int(rows.max()) + 1, int(columns.max()) + 1), np.uint8)
    mask[rows, columns] = 1
    labels, _ = label_cells(mask)
    label = labels[rows, columns].astype(np.int64)
    by_label = np.bincount(label, seconds)
    order = np.argsort(-by_label, kind="stable")
    large = order[by_label[order] >= LEAST_SHARE * by_label.sum()]
    large = large[by_label[large] > 0.0]
    if len(large) < 2:
        return np.zeros(len(label), np.int64)
    number = np.full(len(by_label), ELSEWHERE)
    number[large] = np.arange(len(large))
    return np.asarray(number[label])
