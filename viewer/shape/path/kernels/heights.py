"""One pass over the moves: beads raise the map of heights, moves are compared with it, in the order of the program."""

# mypy: allow-untyped-defs, allow-untyped-calls
from __future__ import annotations

from typing import TYPE_CHECKING, Final, NamedTuple

import numpy as np

from viewer.jit import lean_inner_kernel, lean_kernel

if TYPE_CHECKING:
    from viewer.arrays import F32, F64, I32, U8

PATH: Final = np.uint8(1)
"""Compare the whole path with the map."""
END: Final = np.uint8(2)
"""Compare the end point alone: how the nozzle comes there is not known."""
LAY: Final = np.uint8(4)
"""Raise the map by this bead, after it was compared itself."""


MAX_STEPS: Final = 20_000
"""Points at which one path is compared: of what is longer than some metres, further apart."""


class Moves(NamedTuple):
    """Columns of `viewer.read.moves.Moves`, read-only: (n,) each."""

    x_mm: F32
    y_mm: F32
    z_mm: F32
    length_mm: F32
    fed_mm: F32


class Layers(NamedTuple):
    """Columns of `viewer.layers.layers.Layers`, read-only."""

    first_move: I32  # (layers + 1,)
    thickness_mm: F64  # (layers,)


class HeightMap(NamedTuple):
    """Square cells over what is laid; row 0 lies in front, column 0 on the left."""

    top_mm: F32  # (rows, columns) highest bead laid there so far; `NOTHING` where none is
    move: I32  # (rows, columns) the move that laid it; -1: none
    place: F64  # (3,) left and front edge, and cell, mm


class Hits(NamedTuple):
    """What was met, one row a move: (capacity,) each."""

    move: I32
    depth_mm: F64  # of the deepest point below the top of what lies there
    length_mm: F64  # of the path that runs deeper than the tolerance; 0 where only the end was compared
    x_mm: F64  # of the deepest point
    y_mm: F64
    z_mm: F64
    laid_by: I32  # the move that laid what is met there


@lean_inner_kernel
def _raise_map(heights, x0, y0, z0, x1, y1, z1, half, move):
    """Raise the cells whose centre lies within ``half`` mm of a bead to its top at the nearest point of its path."""
    left, front, cell = heights.place[0], heights.place[1], heights.place[2]
    rows, columns = heights.top_mm.shape
    dx, dy, dz = x1 - x0, y1 - y0, z1 - z0
    length_2 = dx * dx + dy * dy
    first = max(int(np.ceil((min(y0, y1) - half - front) / cell - 0.5)), 0)
    last = min(int(np.floor((max(y0, y1) + half - front) / cell - 0.5)), rows - 1)
    for i in range(first, last + 1):
        py = front + (i + 0.5) * cell
        ta, tb = 0.0, 1.0
        if abs(dy) > 1e-9:  # the stretch of the path whose distance in Y is not above `half`
            ta = min(max((py - half - y0) / dy, 0.0), 1.0)
            tb = min(max((py + half - y0) / dy, 0.0), 1.0)
        xa, xb = x0 + ta * dx, x0 + tb * dx
        j0 = max(int(np.ceil((min(xa, xb) - half - left) / cell - 0.5)), 0)
        j1 = min(int(np.floor((max(xa, xb) + half - left) / cell - 0.5)), columns - 1)
        for j in range(j0, j1 + 1):
            px = left + (j + 0.5) * cell
            t = 0.0
            if length_2 > 0.0:
                t = min(max(((px - x0) * dx + (py - y0) * dy) / length_2, 0.0), 1.0)
            ax, ay = px - x0 - t * dx, py - y0 - t * dy
            top = np.float32(z0 + t * dz)
            if ax * ax + ay * ay <= half * half and top > heights.top_mm[i, j]:
                heights.top_mm[i, j] = top
                heights.move[i, j] = move


@lean_inner_kernel
def _compare(heights, x0, y0, z0, x1, y1, z1, end_only, tolerance, hits, at):
    """Compare a path with the map, at points half a cell apart, the end among them.

    Fill row ``at`` and return whether anything is met.
    """
    left, front, cell = heights.place[0], heights.place[1], heights.place[2]
    rows, columns = heights.top_mm.shape
    dx, dy, dz = x1 - x0, y1 - y0, z1 - z0
    length = np.sqrt(dx * dx + dy * dy + dz * dz)
    steps = 1 if end_only else min(max(int(np.ceil(2.0 * length / cell)), 1), MAX_STEPS)
    deepest = tolerance
    met = 0
    for s in range(steps):
        t = (s + 1.0) / steps  # the start is the end of the move before
        px, py, pz = x0 + t * dx, y0 + t * dy, z0 + t * dz
        j = int(np.floor((px - left) / cell))
        i = int(np.floor((py - front) / cell))
        if i < 0 or i >= rows or j < 0 or j >= columns:
            continue
        depth = heights.top_mm[i, j] - pz
        if depth <= tolerance:
            continue
        met += 1
        if depth > deepest:
            deepest = depth
            hits.depth_mm[at] = depth
            hits.x_mm[at] = px
            hits.y_mm[at] = py
            hits.z_mm[at] = pz
            hits.laid_by[at] = heights.move[i, j]
    hits.length_mm[at] = 0.0 if end_only else met * length / steps
    return met > 0


@lean_kernel
def follow(
    moves: Moves, layers: Layers, todo: U8, span: tuple[int, int], heights: HeightMap,
    raised_mm: float, tolerance_mm: float, filament_area: float, widest_mm: float, hits: Hits,
) -> int:  # fmt: skip
    """Follow the moves of a span in order and return how many meet what was laid before them.

    Parameters
    ----------
    todo
        (n,) of `PATH`, `END` and `LAY`, added up.
    span
        First move and the one behind the last.
    heights
        Changed: a bead is as wide as its volume fills a rectangle of its layer's thickness, at least a cell and at
        most ``widest_mm``, and its top is the nozzle's height.
    raised_mm
        What is compared lies this much above the nozzle's tip.
    tolerance_mm
        What is met by less is let pass.
    filament_area
        Cross-section of the filament, mm2.
    hits
        Filled up to its capacity; more are counted only.
    """
    count = 0
    layer = 0
    capacity = len(hits.move) - 1  # the last row is for what is counted only
    for i in range(span[0], span[1]):
        what = todo[i]
        if what == 0:
            continue
        x0 = y0 = z0 = 0.0
        if i > 0:
            x0, y0, z0 = (
                np.float64(moves.x_mm[i - 1]),
                np.float64(moves.y_mm[i - 1]),
                np.float64(moves.z_mm[i - 1]),
            )
        x1, y1, z1 = np.float64(moves.x_mm[i]), np.float64(moves.y_mm[i]), np.float64(moves.z_mm[i])
        if what & (PATH | END):
            at = min(count, capacity)
            end_only = (what & END) != 0
            if _compare(
                heights, x0, y0, z0 + raised_mm, x1, y1, z1 + raised_mm, end_only, tolerance_mm, hits, at
            ):
                hits.move[at] = i
                count += 1
        if what & LAY:
            while layer < len(layers.thickness_mm) - 1 and i >= layers.first_move[layer + 1]:
                layer += 1
            section = moves.fed_mm[i] * filament_area / moves.length_mm[i]
            width = min(section / max(layers.thickness_mm[layer], 0.01), widest_mm)
            half = 0.5 * max(width, heights.place[2])
            _raise_map(heights, x0, y0, z0, x1, y1, z1, half, i)
    return count
