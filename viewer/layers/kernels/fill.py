"""What loops hold: fill, air, or nested loops that are fill themselves.

Nested loops are fill where they follow each other inwards at a pitch::

    | |    |    |    |          two walls and fill: a loop lies a pitch behind each of its places, and the next one
    | |    |    | () |          ahead, or its own far side, no farther than two, as loops that come from
    | |    |    |    |          opposite walls may meet with a gap of up to two
"""

# mypy: allow-untyped-defs, allow-untyped-calls
from __future__ import annotations

from typing import Final

import numpy as np

from viewer.jit import inner_kernel
from viewer.layers.kernels.pieces import ALONE, FARTHEST, HOLLOW, LIKE_FILL, NOT_ALONE, PAIRED

STRAY: Final = 2.0
"""Open pieces of no more widths than this in all are no fill."""


@inner_kernel
def measure_rest(number, width, pieces):
    """Measure what each loop holds directly: area and edges without its inner loops, and the path of fill.

    The mean gap is that of a band of this area between edges of this length: 2 area / edges. A single bead that leads to
    a loop is no fill.
    """
    for p in range(number):
        one = pieces[p]
        one.rest, one.edges, one.filled, one.held = abs(one.area), one.path, 0.0, 0
    for p in range(number):
        one = pieces[p]
        if one.parent < 0:
            continue
        around, behind = pieces[one.parent], pieces[min(p + 1, number - 1)]
        if one.area != 0.0:
            around.rest -= abs(one.area)
            around.edges += one.path
        elif one.last > one.first + 1 or behind.chain != one.chain or behind.area == 0.0:
            around.filled += one.path
    for p in range(number):
        one = pieces[p]
        one.gap = 2.0 * one.rest / one.edges
        if one.filled * FARTHEST * width < one.rest or one.filled <= STRAY * width:
            one.filled = 0.0


@inner_kernel
def _pass_hold_down(number, pieces):
    """Write each piece the smallest loop around it that is no hold-down: hold-down is no surrounding."""
    for p in range(number):
        q = np.int64(p)
        while pieces[q].parent >= 0 and pieces[pieces[q].parent].held == 1:
            q = np.int64(pieces[q].parent)
        found, q = pieces[q].parent, np.int64(p)
        while pieces[q].parent != found:  # the next that come this way need not go it again
            beside = np.int64(pieces[q].parent)
            pieces[q].parent = found
            q = beside


@inner_kernel
def _find_pitches(number, width, pitch, pieces):
    """Write each loop alone the pitch of the fill that it may be.

    That is the gap between two loops alone, or the lesser of those beyond, should they meet there; a single one may
    have the ``pitch`` of a layer before.
    """
    for p in range(number):
        pieces[p].pitch = pitch
    for p in range(number):
        one = pieces[p]
        if one.nested == ALONE and pieces[one.parent].nested == ALONE:
            around = pieces[one.parent]
            step = max(around.gap, min(pieces[around.parent].gap, one.gap))
            if step < FARTHEST * width:
                one.pitch, around.pitch = max(one.pitch, step), max(around.pitch, step)


@inner_kernel
def find_air(number, width, pitch, pieces):
    """Say which loops hold air (no fill, and more than a gap to their inner loops) and which are alone.

    A loop is alone where air is to both sides of it; the innermost one's own inside may be small. Return whether there
    are any: `probes.look_for_fill` looks at them, and `join_nested` decides.
    """
    _pass_hold_down(number, pieces)
    for p in range(number):
        one = pieces[p]
        one.air = 1 if one.filled == 0.0 and one.gap > HOLLOW * width else 0
    alone = False
    for p in range(number):
        one = pieces[p]
        one.nested = NOT_ALONE
        if one.parent >= 0 and one.area != 0.0 and one.held == 0 and pieces[one.parent].air == 1:
            if one.air == 1 or (one.edges == one.path and one.filled == 0.0):
                one.nested, alone = ALONE, True
    if alone:
        _find_pitches(number, width, pitch, pieces)
    return alone


@inner_kernel
def join_nested(number, pitch, pieces):
    """Take loops for fill that look so with the loop around them, or alone at the known pitch; return the pitch.

    Such loops become `LIKE_FILL`, all others `NOT_ALONE`; around fill is no air.
    """
    found = pitch
    for p in range(number):
        one = pieces[p]
        if one.nested >= LIKE_FILL and pieces[one.parent].nested >= LIKE_FILL:
            one.nested, pieces[one.parent].nested, found = PAIRED, PAIRED, one.pitch
    for p in range(number):
        one = pieces[p]
        fill = one.nested == PAIRED or (one.nested == LIKE_FILL and one.pitch == pitch)
        one.nested = LIKE_FILL if fill else NOT_ALONE
        if fill:
            one.air, pieces[one.parent].air = 0, 0
    return found
