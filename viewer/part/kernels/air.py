"""The kernels that find the beads which the air about a part comes to: all others can never be seen.

Space is cut into cells. A cell whose middle lies in a bead is solid; air comes in from the rim of the grid, from cell to
cell across their faces, and a bead is seen where such air is at most one cell beside it,
or `DEEP` above or below.
"""

# mypy: allow-untyped-defs, allow-untyped-calls
from __future__ import annotations

from typing import TYPE_CHECKING, Final, NamedTuple

import numpy as np

from viewer.jit import lean_inner_kernel, lean_kernel
from viewer.part.kernels.columns import Solid

if TYPE_CHECKING:
    from viewer.arrays import U8

f64 = np.float64
i64 = np.int64
u8 = np.uint8
FREE: Final = u8(0)
SOLID: Final = u8(1)
AIR: Final = u8(2)
MIDDLE: Final = 0.3
"""Share of a bead's thickness at its top and bottom that marks no cell: rounding would fill the layer above, too."""
DEEP: Final = 3
"""Levels from the air at which a bead still counts as seen: in the creases of the top layer those below show. With 3, at
most 3 of the 5,000 to 10,000 beads that a view shows are missed, in 6 of 650,000 pixels (a boat, 30 views; with 2: 10
beads, 19 pixels); none are with 2 cells beside as well, but then up to 40 % more beads are drawn."""


class Cells(NamedTuple):
    """Where the cells lie: the corner of cell (0, 0, 0), mm, their sides, and how many there are."""

    left: float
    front: float
    bottom: float
    side: float
    height: float
    columns: int
    rows: int
    levels: int


@lean_inner_kernel
def _span(y, x0, y0, x1, y1, r):
    """Return the least and the greatest x on a line of one y that lies within r of a level segment; none: 1, 0."""
    dx, dy = x1 - x0, y1 - y0
    length = np.sqrt(dx * dx + dy * dy)
    low, high = 1.0, 0.0
    off0, off1 = r * r - (y - y0) * (y - y0), r * r - (y - y1) * (y - y1)
    if off0 >= 0.0:
        low, high = x0 - np.sqrt(off0), x0 + np.sqrt(off0)
    if off1 >= 0.0:
        begin, end = x1 - np.sqrt(off1), x1 + np.sqrt(off1)
        low, high = (begin, end) if low > high else (min(low, begin), max(high, end))
    if abs(dy) > 1e-9:
        ux, uy = dx / length, dy / length
        for side in (-r, r):  # where the line meets the straight sides
            along = (y - y0 - side * ux) / uy
            if 0.0 <= along <= length:
                x = x0 + along * ux - side * uy
                low, high = (x, x) if low > high else (min(low, x), max(high, x))
    return low, high


@lean_inner_kernel
def _bead(solid, k, cells):
    """Return a bead's ends in the plane, and its levels."""
    i, j = solid.start[k], solid.end[k]
    x0, y0, z0 = f64(0.0), f64(0.0), f64(solid.z_mm[j])
    if i >= 0:
        x0, y0, z0 = f64(solid.x_mm[i]), f64(solid.y_mm[i]), f64(solid.z_mm[i])
    z1 = f64(solid.z_mm[j])
    middle, half = f64(0.5) * solid.thickness_mm[k], f64(0.5 - MIDDLE) * solid.thickness_mm[k]
    low = i64(np.floor((min(z0, z1) - middle - half - cells.bottom) / cells.height))
    high = i64(np.floor((max(z0, z1) - middle + half - cells.bottom) / cells.height))
    return x0, y0, f64(solid.x_mm[j]), f64(solid.y_mm[j]), low, high


@lean_kernel
def mark_solid(solid: Solid, cells: Cells, marks: U8) -> None:
    """Mark the cells whose middle lies in a bead as `SOLID`; ``marks`` is flat, x runs fastest, then y."""
    for k in range(len(solid.end)):
        x0, y0, x1, y1, low, high = _bead(solid, k, cells)
        r = 0.5 * solid.width_mm[k]
        first = max(i64(np.ceil((min(y0, y1) - r - cells.front) / cells.side - 0.5)), i64(0))
        last = min(i64(np.floor((max(y0, y1) + r - cells.front) / cells.side - 0.5)), cells.rows - 1)
        for row in range(first, last + 1):
            begin, end = _span(cells.front + (row + 0.5) * cells.side, x0, y0, x1, y1, r)
            left = max(i64(np.ceil((begin - cells.left) / cells.side - 0.5)), i64(0))
            right = min(i64(np.floor((end - cells.left) / cells.side - 0.5)), cells.columns - 1)
            for level in range(max(low, i64(0)), min(high, cells.levels - 1) + 1):
                at = (level * cells.rows + row) * cells.columns
                for column in range(left, right + 1):
                    marks[at + column] = SOLID


@lean_inner_kernel
def _spread(marks, columns, at, row_step, level_step):
    """Let air into a row of cells from the rows beside, above and below, and along it; return whether any came in."""
    changed = np.bool_(False)
    for column in range(1, columns - 1):
        here = at + column
        if marks[here] == FREE and (
            marks[here - 1] == AIR
            or marks[here - row_step] == AIR
            or marks[here + row_step] == AIR
            or marks[here - level_step] == AIR
            or marks[here + level_step] == AIR
        ):
            marks[here] = AIR
            changed = np.bool_(True)
    for column in range(columns - 2, 0, -1):
        here = at + column
        if marks[here] == FREE and marks[here + 1] == AIR:
            marks[here] = AIR
            changed = np.bool_(True)
    return changed


@lean_kernel
def let_air_in(cells: Cells, marks: U8) -> int:
    """Turn the free cells that air comes to from the rim into `AIR`; return how often all were gone through."""
    columns, row_step, level_step = cells.columns, cells.columns, cells.columns * cells.rows
    for level in range(cells.levels):
        for row in range(cells.rows):
            at = level * level_step + row * row_step
            rim = row == 0 or row == cells.rows - 1 or level == 0 or level == cells.levels - 1
            for column in range(0, columns, 1 if rim else columns - 1):
                if marks[at + column] == FREE:
                    marks[at + column] = AIR
    changed, times = np.bool_(True), 0
    while changed:
        changed = np.bool_(False)
        back = times & 1
        for n in range(1, cells.levels - 1):
            level = cells.levels - 1 - n if back else n
            for m in range(1, cells.rows - 1):
                row = cells.rows - 1 - m if back else m
                if _spread(marks, columns, level * level_step + row * row_step, row_step, level_step):
                    changed = np.bool_(True)
        times += 1
    return times


@lean_inner_kernel
def _touches(solid, k, cells, marks):
    """Tell whether a cell with air is at most one cell beside a bead, or `DEEP` above or below."""
    x0, y0, x1, y1, low, high = _bead(solid, k, cells)
    r = 0.5 * solid.width_mm[k] + 1.5 * cells.side
    first = max(i64(np.floor((min(y0, y1) - r - cells.front) / cells.side - 0.5)), i64(0))
    last = min(i64(np.ceil((max(y0, y1) + r - cells.front) / cells.side - 0.5)), cells.rows - 1)
    for row in range(first, last + 1):
        begin, end = _span(cells.front + (row + 0.5) * cells.side, x0, y0, x1, y1, r)
        left = max(i64(np.ceil((begin - cells.left) / cells.side - 0.5)), i64(0))
        right = min(i64(np.floor((end - cells.left) / cells.side - 0.5)), cells.columns - 1)
        for level in range(max(low - DEEP, i64(0)), min(high + DEEP, cells.levels - 1) + 1):
            at = (level * cells.rows + row) * cells.columns
            for column in range(left, right + 1):
                if marks[at + column] == AIR:
                    return np.bool_(True)
    return np.bool_(False)


@lean_kernel
def touched_by_air(solid: Solid, cells: Cells, marks: U8, seen: U8) -> None:
    """Set ``seen`` (n,) to 1 for each bead that air comes to."""
    for k in range(len(solid.end)):
        seen[k] = u8(1) if _touches(solid, k, cells, marks) else u8(0)
