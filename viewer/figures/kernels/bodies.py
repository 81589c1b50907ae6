"""The kernels that tell the parts printed together apart: their shadow on the plate, their mass and height.

``roles`` (n,) is the role of each move. A raster lies over the plate: the place (x, y) is in the cell of row
(y - front) / cell and column (x - left) / cell, rounded down.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from viewer.figures.kernels.columns import Layers, Moves, is_part
from viewer.jit import kernel

if TYPE_CHECKING:
    from viewer.arrays import F64, I32, U8


class Raster(NamedTuple):
    """Where the cells lie, mm."""

    left_mm: float
    front_mm: float
    cell_mm: float


class Sums(NamedTuple):
    """What is added up for each body; row 0 belongs to none."""

    moments: F64  # (bodies + 1, 4) of m, m x, m y, m z; m is filament, mm
    top_mm: F64  # (bodies + 1,) greatest height


@kernel
def stretch_box(moves: Moves, roles: U8, first: int, last: int, box: F64) -> None:
    """Stretch ``box`` (4,) of low x, high x, low y, high y over both ends of the part's beads among some moves."""
    x, y = moves.x_mm, moves.y_mm
    for i in range(max(first, 1), last):
        if is_part(moves.kind[i], roles[i]):
            for j in range(i - 1, i + 1):
                box[0] = min(box[0], x[j])
                box[1] = max(box[1], x[j])
                box[2] = min(box[2], y[j])
                box[3] = max(box[3], y[j])


@kernel
def mark_path(moves: Moves, roles: U8, first: int, last: int, raster: Raster, mask: U8) -> None:
    """Set the cells of ``mask`` (rows, columns) through which the middle lines of the part's beads go.

    One cell a step of at most a cell's side: a line that only cuts a corner may leave that cell out. All beads lie
    within the mask.
    """
    x, y = moves.x_mm, moves.y_mm
    scale = 1.0 / raster.cell_mm
    for i in range(max(first, 1), last):
        if is_part(moves.kind[i], roles[i]):
            px = (np.float64(x[i - 1]) - raster.left_mm) * scale
            py = (np.float64(y[i - 1]) - raster.front_mm) * scale
            dx = (np.float64(x[i]) - raster.left_mm) * scale - px
            dy = (np.float64(y[i]) - raster.front_mm) * scale - py
            steps = np.int64(max(abs(dx), abs(dy))) + 1
            share = 1.0 / steps
            dx *= share
            dy *= share
            for _ in range(steps + 1):
                mask[np.uint64(py), np.uint64(px)] = 1  # unsigned: no look whether it counts from the end
                px += dx
                py += dy


@kernel
def add_bodies(
    moves: Moves, roles: U8, layers: Layers, first_layer: int, last_layer: int, raster: Raster, labels: I32, sums: Sums
) -> None:  # fmt: skip
    """Add up filament, its moments and the greatest height of each body, in the layers of one object.

    ``labels`` (rows, columns) tells the body at the bead's mid-point. Each bead's mass sits there, half a thickness below
    the nozzle's path.
    """
    x, y, z = moves.x_mm, moves.y_mm, moves.z_mm
    scale = 1.0 / raster.cell_mm
    for layer in range(first_layer, last_layer):
        half = 0.5 * layers.thickness_mm[layer]
        for i in range(max(layers.first_move[layer], 1), layers.first_move[layer + 1]):
            if is_part(moves.kind[i], roles[i]):
                mx = 0.5 * (np.float64(x[i - 1]) + np.float64(x[i]))
                my = 0.5 * (np.float64(y[i - 1]) + np.float64(y[i]))
                mz = 0.5 * (np.float64(z[i - 1]) + np.float64(z[i])) - half
                row, column = (
                    np.uint64((my - raster.front_mm) * scale),
                    np.uint64((mx - raster.left_mm) * scale),
                )
                body = labels[row, column]
                m = np.float64(moves.fed_mm[i])
                sums.moments[body, 0] += m
                sums.moments[body, 1] += m * mx
                sums.moments[body, 2] += m * my
                sums.moments[body, 3] += m * mz
                sums.top_mm[body] = max(sums.top_mm[body], np.float64(z[i]))
