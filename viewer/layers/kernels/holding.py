"""Hold-down: skirts, brims and the like in the first layers of an object.

::

     first layer      layer above        with a layer above: what lies outside of all that goes on there
     (((  [===]  )))     [===]           a brim touches the part, a skirt does not

A rule is one function that marks or releases loops (``held``); `find_hold` applies them in their order.
"""

# mypy: allow-untyped-defs, allow-untyped-calls
from __future__ import annotations

from typing import Final

import numpy as np

from viewer.jit import inner_kernel
from viewer.layers.kernels.pieces import DEEPEST, HOLLOW

MAX_STEPS: Final = 64
"""Loops of hold-down within one another that are gone through to find what they lie in."""


@inner_kernel
def beyond_walls(p, width, pieces):
    """Go outwards from loop p through walls that touch and hold no fill: return the first other loop, -1 none."""
    around, steps = np.int64(pieces[p].parent), 0
    while around >= 0 and pieces[around].filled == 0.0 and pieces[around].gap <= HOLLOW * width:
        around, steps = np.int64(pieces[around].parent), steps + 1
        if steps == DEEPEST:
            return np.int64(-1)
    return around


@inner_kernel
def _mark(number, has_above, pieces):
    """Mark what is held for now.

    With a layer above: what lies outside of all that goes on there. Without: loops that hold other loops and no fill.
    """
    for p in range(number):
        one = pieces[p]
        if has_above:
            one.held = one.beyond
        elif one.area != 0.0 and one.parent >= 0 and pieces[one.parent].filled == 0.0:
            pieces[one.parent].held = 1


@inner_kernel
def _empty_skirts(number, width, pieces):
    """Take the lines between a held loop and a part with fill for supports, not for the loop's fill: it is a skirt.

    A loop with lines in it around walls with fill in them is no foot: the part is on one side of a wall only.
    """
    for p in range(number):
        if pieces[p].held == 0 and pieces[p].filled > 0.0:
            around = beyond_walls(p, width, pieces)
            if around >= 0 and pieces[around].held == 1:
                pieces[around].filled = 0.0


@inner_kernel
def _release_feet(number, has_above, is_upper, pieces):
    """Release what touches the part.

    With a layer above: loops with fill of their own (a foot, wider than what stands on it), and, above the first layer
    (``is_upper``), the loop along the part: a brim has one layer. Without: loops with something near in them. From
    there outwards all loops are released as long as each runs along the next.
    """
    for p in range(number):
        one = pieces[p]
        foot = has_above and one.held == 1 and one.filled != 0.0
        beside = one.held == 0 and one.along == 1 and (is_upper or not has_above)
        if not foot and not beside:
            continue
        if beside:
            one = pieces[one.parent]
        while one.held == 1:
            one.held = 0
            if one.along == 1:
                one = pieces[one.parent]


@inner_kernel
def _release_within(number, pieces):
    """Release what lies in a part: it is the part's (a foot's holes)."""
    for p in range(number):
        q, steps = np.int64(pieces[p].parent), 0
        while q >= 0 and pieces[q].held == 1 and steps < MAX_STEPS:
            q, steps = np.int64(pieces[q].parent), steps + 1
        if q >= 0 and pieces[q].held == 0:
            pieces[p].held = 0


@inner_kernel
def find_hold(number, width, has_above, is_upper, pieces):
    """Mark the loops of a first layer that are hold-down.

    With a layer above: loops outside of all that goes on there, but not those along a loop whose own fill lies outside,
    too, nor, above the first layer, those along the part. Without: loops around everything that hold no fill and
    nothing near. In neither case loops in a part.
    """
    _mark(number, has_above, pieces)
    if has_above:
        _empty_skirts(number, width, pieces)
    _release_feet(number, has_above, is_upper, pieces)
    _release_within(number, pieces)
