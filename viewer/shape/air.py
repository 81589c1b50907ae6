"""The regions of a layer over air: their areas, places, boxes and beads."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from viewer.arrays import F64, U8
from viewer.beads.regions import Regions, find_regions
from viewer.shape.kernels import over_air as k
from viewer.shape.masks import SHELL_BIT, LayerMask, MaskBuffers
from viewer.shape.spots import Box


@dataclass(slots=True, eq=False)
class AirRegions:
    """The regions of a layer over air, measured."""

    runs: Regions
    sums: F64  # (regions, 8)
    place: F64  # (regions, 2) column and row
    buffers: MaskBuffers

    @property
    def area_mm2(self) -> F64:
        """(regions,) the area of each."""
        return np.asarray(self.sums[:, k.AREA] * self.buffers.grid.cell_mm**2)

    @property
    def side_mm(self) -> F64:
        """(regions,) the longer side of each region's box."""
        wide = self.sums[:, k.HIGH_X] - self.sums[:, k.LOW_X]
        deep = self.sums[:, k.HIGH_Y] - self.sums[:, k.LOW_Y]
        return np.asarray(self.buffers.grid.cell_mm * (np.maximum(wide, deep) + 1.0))

    def place_of(self, region: int) -> tuple[float, float]:
        """Return the point of a region nearest to its centroid, mm."""
        grid = self.buffers.grid
        column, row = self.place[region].tolist()
        return grid.left_mm + (column + 0.5) * grid.cell_mm, grid.front_mm + (row + 0.5) * grid.cell_mm

    def box_of(self, region: int) -> Box:
        """Return the box around a region, mm."""
        grid = self.buffers.grid
        low_x, high_x, low_y, high_y = self.sums[region, k.LOW_X : k.HIGH_Y + 1].tolist()
        return (
            grid.left_mm + low_x * grid.cell_mm,
            grid.front_mm + low_y * grid.cell_mm,
            grid.left_mm + (high_x + 1.0) * grid.cell_mm,
            grid.front_mm + (high_y + 1.0) * grid.cell_mm,
        )

    def beads_in(self, region: int, drawn: LayerMask) -> npt.NDArray[np.intp]:
        """Return the rows of the part's beads whose ends, middle or quarters lie there."""
        table, grid = drawn.table, self.buffers.grid
        rows, columns = self.buffers.air.shape
        hit = np.zeros(len(table), np.bool_)
        for share in (0.0, 0.25, 0.5, 0.75, 1.0):
            at = table[:, 0:2] + share * (table[:, 2:4] - table[:, 0:2])
            i = ((at[:, 1] - grid.front_mm) / grid.cell_mm).astype(np.intp).clip(0, rows - 1)
            j = ((at[:, 0] - grid.left_mm) / grid.cell_mm).astype(np.intp).clip(0, columns - 1)
            hit |= (self.buffers.air[i, j] != 0) & (self.buffers.labels[i, j] == region)
        return np.flatnonzero(hit & (drawn.bits == SHELL_BIT))

    def ends_in(self, region: int, drawn: LayerMask) -> tuple[int, int]:
        """Return the first and last move of the part's beads there, or the one whose footprint is nearest."""
        rows = self.beads_in(region, drawn)
        ends = (rows[0], rows[-1]) if len(rows) else (self._nearest(region, drawn),) * 2
        return int(drawn.beads.move[ends[0]]), int(drawn.beads.move[ends[1]])

    def _nearest(self, region: int, drawn: LayerMask) -> int:
        x, y = self.place_of(region)
        table = drawn.table
        along = table[:, 2:4] - table[:, 0:2]
        square = np.maximum((along**2).sum(axis=1), 1e-12)
        at = (((x, y) - table[:, 0:2]) * along).sum(axis=1) / square
        away = (x, y) - table[:, 0:2] - at.clip(0.0, 1.0)[:, None] * along
        distance = np.hypot(away[:, 0], away[:, 1]) - 0.5 * table[:, 4]
        distance[drawn.bits != SHELL_BIT] = np.inf
        return int(np.argmin(distance))


def find_air(buffers: MaskBuffers, mask: U8) -> AirRegions:
    """Find and measure the regions of `MaskBuffers.air`."""
    runs = find_regions(buffers.air, 1, 1)
    sums, place = np.zeros((runs.count, 8)), np.zeros((runs.count, 2))
    k.sum_runs(runs.first, runs.begin, runs.end, runs.label, mask, buffers.carried, buffers.labels, sums)
    k.nearest_cells(runs.first, runs.begin, runs.end, runs.label, sums, np.full(runs.count, np.inf), place)
    return AirRegions(runs, sums, place, buffers)
