"""Kernels on travel: where no filament is pulled back, and how far it crosses open space."""

# mypy: allow-untyped-defs, allow-untyped-calls
from __future__ import annotations

import numpy as np

from viewer.jit import kernel

TRAVEL, BEAD, PLACE = 0, 1, 5  # as viewer.read.moves; a kernel's constants stand in its own family
PULLED_MM = 0.02
"""Filament pulled back by less than this is rounding."""


@kernel
def find_bare_travel(kind, length, filament, first, last, limit, ways):
    """Find travel without retraction among the moves ``first`` to ``last`` (exclusive); return the number of ways.

    ``ways`` (capacity, 2): the first travel and the bead after it; ways beyond the capacity are left out. A way counts
    where it is longer than ``limit`` mm, begins after a bead and ends at one.
    """
    count = 0
    begin = -1
    way = pulled = 0.0
    known = False
    for i in range(first, last):
        if kind[i] == BEAD:
            if known and way > limit and begin >= 0 and count < len(ways):
                ways[count, 0] = begin
                ways[count, 1] = i
                count += 1
            begin, way, pulled, known = -1, 0.0, 0.0, True
        elif kind[i] == PLACE:
            known = False
        elif kind[i] == TRAVEL:
            if pulled <= PULLED_MM:
                if begin < 0:
                    begin = i
                way += length[i]
        else:
            pulled = max(pulled - filament[i], 0.0)
    return count


@kernel
def open_way(kind, x, y, filament, first, last, mask, hollows, grid, found):
    """Find the longest unbroken stretch of a way that crosses neither ``mask`` nor ``hollows``.

    ``found`` (4,), 0 at the beginning: its length, x and y of its middle, mm, and the move in which it ends. The way
    consists of the travels among the moves ``first`` to ``last`` (exclusive) on which no filament is pulled back; all
    space beyond the grid is open. ``grid``: left, front and cell, mm.
    """
    rows, columns = mask.shape
    so_far = pulled = 0.0
    sx = sy = 0.0
    for k in range(first, last):
        if kind[k] != TRAVEL:
            pulled = max(pulled - filament[k], 0.0)
            continue
        dx, dy = np.float64(x[k]) - x[k - 1], np.float64(y[k]) - y[k - 1]
        length = np.sqrt(dx * dx + dy * dy)
        steps = int(np.ceil(length / grid[2]))
        for s in range(steps):
            px = x[k - 1] + (s + 0.5) / steps * dx
            py = y[k - 1] + (s + 0.5) / steps * dy
            j = int(np.floor((px - grid[0]) / grid[2]))
            i = int(np.floor((py - grid[1]) / grid[2]))
            inside = 0 <= i < rows and 0 <= j < columns and (mask[i, j] | hollows[i, j]) != 0
            if inside or pulled > PULLED_MM:
                so_far = 0.0
                continue
            if so_far == 0.0:
                sx, sy = px, py
            so_far += length / steps
            if so_far > found[0]:
                found[0] = so_far
                found[1] = 0.5 * (sx + px)
                found[2] = 0.5 * (sy + py)
                found[3] = k
