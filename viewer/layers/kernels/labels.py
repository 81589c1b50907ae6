"""Roles written to the moves: those of loops as they are, those of open pieces by where they lie and how close."""

# mypy: allow-untyped-defs, allow-untyped-calls
from __future__ import annotations

from typing import Final

import numpy as np

from viewer.jit import inner_kernel
from viewer.layers.kernels.columns import HOLD, INFILL, OUTLINE, PURGE, SOLID, UNLABELLED
from viewer.layers.kernels.pieces import DENSE, HELD, LOOSE, SPARSE

# what beside all loops of a layer is hold-down or purge
HOLDS_NOTHING: Final = 0
HOLDS_SINGLE: Final = 1
"""Single beads: parallel ones go on above the first layers, and may be a support."""
HOLDS_ALL: Final = 2

PURGE_BEADS: Final = 12
"""A purge line has at most this many beads ..."""
PURGE_WIDE_MM: Final = 3.0
"""... lies in a box narrower than this ..."""
PURGE_LONG_MM: Final = 20.0
"""... and longer than this."""
SHORT: Final = 4.0
"""An open piece outside of all loops with fewer widths of path than this has no role of its own."""
STRAY: Final = 2.0
"""A bead of no more widths than this before or behind a loop, without travel, goes with it."""


@inner_kernel
def _is_purge_line(one, points):
    """Whether an open piece looks like a purge line: few beads, in a long and narrow box."""
    first = points[one.first]
    x_lo, x_hi, y_lo, y_hi = first.x, first.x, first.y, first.y
    for s in range(one.first + 1, one.last + 1):
        spot = points[s]
        x_lo, x_hi = min(x_lo, spot.x), max(x_hi, spot.x)
        y_lo, y_hi = min(y_lo, spot.y), max(y_hi, spot.y)
    wide, high = x_hi - x_lo, y_hi - y_lo
    few = one.last - one.first <= PURGE_BEADS
    return few and min(wide, high) < PURGE_WIDE_MM and max(wide, high) > PURGE_LONG_MM


@inner_kernel
def _fill_role(spacing, width):
    """Return the role of lines at a spacing: solid where they touch."""
    return SOLID if spacing <= DENSE * width else INFILL


@inner_kernel
def _role_outside(one, lines, purge, holds, width):
    """Return the role of an open piece outside of all loops of the part.

    A single bead is a wall, and parallel ones (``lines``) are `LOOSE`. Beside all loops they are hold-down or purge, as
    far as the layer ``holds`` anything.
    """
    if one.parent < 0 and (holds == HOLDS_ALL or (holds == HOLDS_SINGLE and (purge or not lines))):
        return PURGE if purge else (HELD if lines else HOLD)
    if lines:
        return LOOSE
    return UNLABELLED if one.path < SHORT * width else OUTLINE


@inner_kernel
def label_open(one, outside, holds, leading, width, points, roles):
    """Write the roles of the beads of an open piece; return whether it is purge.

    Within a loop its spacing tells solid from infill; short beads go with the one before them, those at its beginning
    with its first line. ``leading``: nothing but purge lines came before.
    """
    begin, end = np.int64(one.first), np.int64(one.last)
    now, lines = SOLID if one.dense == 1 else INFILL, one.dense == 1
    for s in range(end - 1, begin - 1, -1):
        if points[s].spacing < np.inf:
            now, lines = _fill_role(points[s].spacing, width), True
    purge = leading and _is_purge_line(one, points)
    if outside:
        one.role = _role_outside(one, lines, purge, holds, width)
        sparse = SPARSE if one.role == LOOSE or one.role == HELD else 0
        for s in range(begin, end):
            if points[s].spacing < np.inf:
                now = _fill_role(points[s].spacing, width)
            roles[points[s + 1].row] = one.role + (sparse if now == INFILL else 0)
        return purge and one.role == PURGE
    for s in range(begin, end):
        if points[s].spacing < np.inf:
            now = _fill_role(points[s].spacing, width)
        roles[points[s + 1].row] = now
    one.role = now
    return False


@inner_kernel
def _write_loop(piece, role, points, roles):
    """Write one role to all beads of a piece."""
    for s in range(piece.first + 1, piece.last + 1):
        roles[points[s].row] = role


@inner_kernel
def write_roles(number, holds, leading, width, layer, tally, at, roles):
    """Write the roles of all beads of a layer; return whether parallel ones lie beside the part and do not hold it.

    ``tally.path_mm[at]`` and ``tally.loose_mm[at]`` are added to.
    """
    points, pieces = layer.points, layer.pieces
    propped = False
    for p in range(number):
        one = pieces[p]
        tally.path_mm[at] += one.path
        if one.area == 0.0:
            outside = one.parent < 0 or pieces[one.parent].air == 1
            leading = label_open(one, outside, holds, leading, width, points, roles)
            lies_loose = one.role >= LOOSE and one.role <= HELD + SPARSE
            tally.loose_mm[at] += one.path if lies_loose else 0.0
            if one.parent < 0 and lies_loose and one.role < HELD and one.path >= SHORT * width:
                propped = True
            continue
        leading = leading and one.held == 1
        _write_loop(one, one.role, points, roles)
    for p in range(number):
        one = pieces[p]
        if one.area == 0.0 and one.path <= STRAY * width:
            q = p + 1 if p + 1 < number and pieces[p + 1].chain == one.chain else p - 1
            if q >= 0 and pieces[q].chain == one.chain:
                _write_loop(one, pieces[q].role, points, roles)
    return propped
