"""Bead widths of a whole program, by path length."""

from __future__ import annotations

import numpy as np

from viewer.arrays import F64, read_only
from viewer.shape.columns import ShapeColumns
from viewer.shape.kernels import widths as k
from viewer.units import filament_area_mm2


def path_by_width(columns: ShapeColumns) -> F64:
    """Return the path length of the part's beads by their width, mm: (bins,) of `k.WIDTH_BIN_MM` each.

    The width is that of the oblong section (`viewer.beads.section`). Hold-down and purge are left out.
    """
    path = np.zeros(k.WIDTH_BINS)
    moves, layers = columns.moves, columns.layers
    if len(layers):
        k.add_widths(
            read_only(moves.kind), read_only(columns.roles), read_only(moves.fed_mm), read_only(moves.length_mm),
            read_only(layers.first_move), read_only(layers.thickness_mm),
            filament_area_mm2(columns.filament_diameter_mm), path,
        )  # fmt: skip
    return path


def median_width_mm(columns: ShapeColumns) -> float | None:
    """Return the width that half of the path of the part's beads does not exceed, mm; None where there are no beads."""
    path = path_by_width(columns)
    if not path.sum() > 0.0:
        return None
    return (float(np.searchsorted(np.cumsum(path), 0.5 * path.sum())) + 0.5) * k.WIDTH_BIN_MM
