"""Kernel that measures how far beads lie from the nearest parallel bead beside them."""

# mypy: allow-untyped-defs, allow-untyped-calls
from __future__ import annotations

import numpy as np

from viewer.jit import inner_kernel, kernel

_BEAD = np.uint8(1)
FARTHEST_MM = 2.0
"""Beads farther apart do not touch each other: no usual nozzle is so wide (common practice, no source)."""
NEAREST_MM = 0.05
"""Nearer beads are one line drawn twice."""
_MARK_MM = 1.0
"""Distance of the marks that each bead leaves in the grid."""
_CELL_MM = FARTHEST_MM + 0.5 * _MARK_MM
"""A mark near the nearest point of a bead that is near enough lies in one of the nine cells around a place."""
_LONGEST_MM = 1000.0
_ASLANT = 0.2
"""Sine of the angle up to which two beads are parallel: 11.5 degrees, that loops around a curve pass."""
_MAX_LOOKS = 4000
"""Beads that are looked at from one place; more are piled up there and show nothing."""


@inner_kernel
def _slot(column, row, slots):
    """Return the slot of a cell in a table of ``slots`` places, a power of two."""
    mixed = (column * np.int64(73856093)) ^ (row * np.int64(19349663))
    return mixed & (slots - 1)


@inner_kernel
def _nearest_beside(x, y, move, at_x, at_y, heads, nexts, marks):
    """Return the distance, mm, from a place on the bead ``move`` square to it to the nearest parallel bead; inf: none."""
    ux = np.float64(x[move]) - np.float64(x[move - 1])
    uy = np.float64(y[move]) - np.float64(y[move - 1])
    own = np.sqrt(ux * ux + uy * uy)
    ux, uy = ux / own, uy / own
    column, row = np.int64(np.floor(at_x / _CELL_MM)), np.int64(np.floor(at_y / _CELL_MM))
    best, looks = np.inf, 0
    for near_row in range(row - 1, row + 2):
        for near_column in range(column - 1, column + 2):
            mark = heads[_slot(near_column, near_row, len(heads))]
            while mark >= 0 and looks < _MAX_LOOKS:
                looks += 1
                other = marks[mark]
                mark = nexts[mark]
                ax, ay = np.float64(x[other - 1]), np.float64(y[other - 1])
                vx, vy = np.float64(x[other]) - ax, np.float64(y[other]) - ay
                length = np.sqrt(vx * vx + vy * vy)
                cos = ux * vx + uy * vy
                if abs(ux * vy - uy * vx) > _ASLANT * length:
                    continue
                # the line square to the own bead, at + d (-uy, ux), meets the other one at a + u v
                u = (ux * (at_x - ax) + uy * (at_y - ay)) / cos
                if u < 0.0 or u > 1.0:
                    continue
                away = abs(ux * (ay + u * vy - at_y) - uy * (ax + u * vx - at_x))
                if away > NEAREST_MM and away < best:
                    best = away
    return best if best <= FARTHEST_MM else np.inf


@inner_kernel
def _mark_beads(kind, x, y, first, last, heads, nexts, marks):
    """Enter the beads of a range into the table, a mark every `_MARK_MM`; stop where it is full."""
    count = 0
    for move in range(first, last):
        if kind[move] != _BEAD:
            continue
        ax, ay = np.float64(x[move - 1]), np.float64(y[move - 1])
        vx, vy = np.float64(x[move]) - ax, np.float64(y[move]) - ay
        length = np.sqrt(vx * vx + vy * vy)
        if not length > 0.0 or not length < _LONGEST_MM:
            continue
        steps = int(length / _MARK_MM) + 1
        before_column, before_row, is_begun = np.int64(0), np.int64(0), False
        for step in range(steps + 1):
            column = np.int64(np.floor((ax + vx * step / steps) / _CELL_MM))
            row = np.int64(np.floor((ay + vy * step / steps) / _CELL_MM))
            if is_begun and column == before_column and row == before_row:
                continue
            if count >= len(marks):
                return
            before_column, before_row, is_begun = column, row, True
            slot = _slot(column, row, len(heads))
            marks[count] = move
            nexts[count] = heads[slot]
            heads[slot] = count
            count += 1


@kernel
def measure_gaps(kind, x, y, length_mm, fed_mm, first, last, step_mm, heads, nexts, marks, found):
    """Measure at places along the beads of a range how far away the nearest parallel bead beside them lies.

    Parameters
    ----------
    kind, x, y, length_mm, fed_mm
        Columns of the moves.
    first, last
        Moves of the range, the last exclusive; all of one layer.
    step_mm
        Path from one place to the next.
    heads, nexts, marks
        Room for the table: a power of two of places, and twice as many as marks are to be entered.
    found
        (places, 2), filled: distance, mm (inf where there is no bead near enough), and the filament fed for a mm of the
        bead, mm.

    Returns
    -------
    Number of places.
    """
    heads[:] = -1
    first = max(first, 1)
    _mark_beads(kind, x, y, first, last, heads, nexts, marks)
    count, until = 0, 0.5 * step_mm
    for move in range(first, last):
        if kind[move] != _BEAD:
            continue
        ax, ay = np.float64(x[move - 1]), np.float64(y[move - 1])
        vx, vy = np.float64(x[move]) - ax, np.float64(y[move]) - ay
        length = np.sqrt(vx * vx + vy * vy)
        if not length > 0.0 or not length < _LONGEST_MM:
            continue
        while until < length and count < len(found):
            share = until / length
            at_x, at_y = ax + share * vx, ay + share * vy
            found[count, 0] = _nearest_beside(x, y, move, at_x, at_y, heads, nexts, marks)
            found[count, 1] = fed_mm[move] / length_mm[move]
            count += 1
            until += step_mm
        until -= length
    return count
