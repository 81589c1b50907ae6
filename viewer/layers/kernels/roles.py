"""The kernel that reads the roles of all layers from shape: the order of the steps. `pieces` tells where each rule is."""

# mypy: allow-untyped-defs, allow-untyped-calls
from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from viewer.jit import inner_kernel, kernel
from viewer.layers.kernels.chains import split_chains
from viewer.layers.kernels.columns import BEAD, OUTLINE, UNLABELLED, Layers, Way
from viewer.layers.kernels.fill import find_air, join_nested, measure_rest
from viewer.layers.kernels.holding import find_hold
from viewer.layers.kernels.labels import HOLDS_ALL, HOLDS_NOTHING, HOLDS_SINGLE, write_roles
from viewer.layers.kernels.nesting import nest
from viewer.layers.kernels.pieces import FIRST_LAYERS, SEARCHED_AT_LEAST, SEARCHED_PER_BEAD, Layer, Tally
from viewer.layers.kernels.probes import look_at_loops, look_at_open, look_for_fill
from viewer.layers.kernels.speeds import find_solid_loops
from viewer.layers.kernels.walls import label_loops

if TYPE_CHECKING:
    from viewer.arrays import U8


@inner_kernel
def _label_spiral(moves, begin, end, roles):
    """Write the roles of a spiral: all outline."""
    for j in range(begin, end):
        roles[j] = OUTLINE if moves.kind[j] == BEAD else UNLABELLED


@kernel
def infer(
    moves: Way, layers: Layers, width: float, here: Layer, above: Layer, tally: Tally, roles: U8
) -> None:
    """Write the role of every bead of every layer, in the order of ``layers``.

    Parameters
    ----------
    moves, layers
        Columns.
    width
        Usual width of a bead, mm.
    here, above
        Room for two layers, which change places from layer to layer: a first layer looks at the one above it.
    tally
        Its columns are added to.
    roles
        (n,) a role of `viewer.layers.layers`, `DEEP` + depth for loops within the outline, or for lines outside of all
        loops `LOOSE` or `HELD`.
    """
    standing, propped = False, False  # whether the part, and lines beside it, were seen in the layer above
    pitch = 0.0  # of nested fill, mm
    for k in layers.order:
        i, end = np.int64(layers.first_move[k]), np.int64(layers.first_move[k + 1])
        first_layer = layers.rank[k] < FIRST_LAYERS
        has_above, standing = layers.has_next[k] and standing, False
        goes_on, propped = has_above and propped, False
        here, above = above, here
        pieces = here.pieces
        parts = 0
        # a spiral is looked at only where the layer below asks for what goes on above it
        while i < end and (layers.rank[k] <= FIRST_LAYERS or not layers.spiral[k]):
            cut = split_chains(moves, i, end, width, here.points, pieces)
            i, number = cut.next_move, cut.pieces
            if cut.points == 0:
                break
            tally.budget[0] = SEARCHED_PER_BEAD * cut.points + SEARCHED_AT_LEAST
            nest(cut, width, here, tally.budget)
            look_at_loops(number, width, first_layer, has_above, here, above, tally.budget)
            look_at_open(number, width, here, tally.budget)
            measure_rest(number, width, pieces)
            if first_layer:
                find_hold(number, width, has_above, layers.rank[k] > 0, pieces)
            if find_air(number, width, pitch, pieces):
                look_for_fill(number, here, tally.budget)
                pitch = join_nested(number, pitch, pieces)
            parts += 1
            outermost = label_loops(number, width, pieces, tally)
            find_solid_loops(number, width, here, moves.speed_mm_s)
            standing = outermost > 0 and parts == 1  # one part of several is no layer
            holds = HOLDS_NOTHING
            if first_layer:
                holds = HOLDS_SINGLE if goes_on and outermost > 0 else HOLDS_ALL
            propped = write_roles(number, holds, k == 0, width, here, tally, k, roles)
        if layers.spiral[k]:
            _label_spiral(moves, layers.first_move[k], layers.first_move[k + 1], roles)
