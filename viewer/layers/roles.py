"""Roles from shape, for programs whose comments give none."""

from __future__ import annotations

from typing import Final

import numpy as np
import numpy.typing as npt

from viewer.arrays import I32, U8, columns_of, read_only
from viewer.layers.kernels import columns as c
from viewer.layers.kernels import pieces as k
from viewer.layers.kernels.roles import infer
from viewer.layers.layers import PURGE, Layers
from viewer.layers.loose import settle
from viewer.read.moves import BEAD, Moves

WIDTHS_MM: Final = (0.05, 20.0)
"""Bead widths outside of this make no shape that means anything."""


FEW: Final = 0.1
"""Walls count up to the depth that still holds so much of the filled area: more stand here and there only."""


def infer_roles(moves: Moves, layers: Layers, bead_width_mm: float) -> U8:
    """Say from their shape what the beads of each layer are for.

    Parameters
    ----------
    moves
        All moves.
    layers
        Their layers.
    bead_width_mm
        The usual width of a bead; taken as 0.05 mm or 20 mm where it is less or more, as 0.4 mm where it is no number.

    Returns
    -------
    array (moves,)
        The number of a role for each bead (see `viewer.layers.layers.ROLE_NAMES`), 0 for all else.

    Notes
    -----
    Beads without a travel between are a chain; a chain that comes back to its start is a loop. A loop with air on
    a side is an outline: one around which is nothing, or that holds neither fill nor nested loops close by; the others
    are inner loops. Lines within a loop are solid where they lie closer than 1.6 widths, infill else. In the first three
    layers of an object, what lies outside of all that goes on in the layer above is hold-down (above the first layer
    only where it does not touch the part; lines beside the part only where they do not go on above these layers), and
    lines before all else are purge, as is what comes before the first layer. Other lines outside of every loop are
    supports, a raft, or the fill of a part without walls: see `viewer.layers.loose`; a single one there is a wall, short
    ones stay unlabelled. A spiral is all outline. Bridges are not told from solids.

    Loops that touch, within one another around air, are an outline, walls and the outline of a hole; where the program's
    other holes run around against the outermost loops, an innermost one that runs around with them is an inner loop.

    Fill may be nested loops, too. Single loops that follow each other inwards with like gaps wider than 1.6 widths, until
    no other fits, are infill; one that follows no other is so only at the gap of others in the layers before. Loops
    that touch are walls up to the most walls that fill stands behind anywhere in the program (0.1 of the filled area),
    and solid further in; so is a loop beyond the second wall at the speed of the layer's touching lines, where the second
    walls have another. Where all layers hold nothing but loops that touch, all of them are walls.

    Time goes with the beads: a layer of more than 200,000 is looked at in parts, and where beads are piled up so that a
    layer's searches pass their bound, the loops and lines still left count as lying alone (outlines, unlabelled).

    The rules and their numbers are common practice, no source.
    """
    roles = np.zeros(len(moves), np.uint8)
    bounds = np.clip(layers.first_move, 0, len(moves)).astype(np.int32)
    prelude = int(bounds[0]) if len(bounds) else 0
    roles[:prelude][moves.kind[:prelude] == BEAD] = PURGE
    if not len(layers):
        return roles
    room = _room(moves.kind, bounds)
    tally = k.Tally(
        budget=np.zeros(1, np.int64),
        filled_mm2=np.zeros(k.DEEPEST + 1, np.int64),
        holes_mm=np.zeros(2),
        path_mm=np.zeros(len(layers)),
        loose_mm=np.zeros(len(layers)),
    )
    infer(
        columns_of(c.Way, moves), _reading_order(layers, bounds), _width(bead_width_mm), _space(room), _space(room),
        tally, roles,
    )  # fmt: skip
    walls = _walls(tally.filled_mm2[1 : k.DEEPEST])
    return settle(roles, moves, layers, tally, walls)


def _walls(filled_mm2: npt.NDArray[np.int64]) -> int:
    """Return how many walls stand before fill, at most: of the depths that hold enough of it; all where none does."""
    enough = np.flatnonzero(filled_mm2 > FEW * filled_mm2.sum())
    return int(enough[-1]) + 1 if len(enough) else k.DEEPEST


def _width(width_mm: float) -> float:
    return float(np.clip(width_mm, *WIDTHS_MM)) if np.isfinite(width_mm) else 0.4


def _reading_order(layers: Layers, bounds: I32) -> c.Layers:
    """Return the layers with their order, their ranks in their objects, and whether the one above was read just before.

    The first four layers of an object come from above, as what goes on tells what only holds the part down.
    """
    rows = np.arange(len(layers))
    begins = np.flatnonzero(np.diff(layers.object, prepend=-1) != 0)
    sizes = np.diff(begins, append=len(layers))
    start, size = np.repeat(begins, sizes), np.repeat(sizes, sizes)
    rank = rows - start
    top = np.minimum(k.FIRST_LAYERS, size - 1)
    order = np.where(rank <= top, start + top - rank, rows)
    return c.Layers(
        first_move=read_only(bounds),
        spiral=read_only(layers.spiral),
        order=read_only(order.astype(np.int32)),
        rank=read_only(rank.astype(np.int32)),
        has_next=read_only(rank < top),
    )


def _room(kind: U8, bounds: I32) -> int:
    """Return the number of points that the largest layer can have, two a bead."""
    beads = np.concatenate([[0], np.cumsum(kind == BEAD, dtype=np.int32)])
    most = int(np.diff(beads[bounds]).max(initial=0))
    return 2 * min(most, k.PART_BEADS) + 4


def _space(room: int) -> k.Layer:
    """Return room for a layer's points, pieces and grid; the system hands memory out as it is written to."""
    grid = k.Grid(
        np.recarray(1, dtype=k.FRAME), np.empty(3 * room + 8, np.int32), np.empty(13 * room + 8, np.int32)
    )
    return k.Layer(np.recarray(room, dtype=k.POINT), np.recarray(room, dtype=k.PIECE), grid)
