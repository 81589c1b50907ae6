"""Lines outside of every loop: supports, a raft, or the fill of a part without walls.

The kernels write them as `LOOSE` or `HELD` (see `viewer.layers.kernels.pieces`), as only all layers together tell::

     ////// [====] //////       parts with walls, and lines beside them: supports
     ////////////////////       lines alone, in most layers: fill without walls
         [====]
     ////////////////////       lines alone, below all loops and all that stands on them: a raft
     ////////////////////
"""

from __future__ import annotations

from typing import Final

import numpy as np
import numpy.typing as npt

from viewer.arrays import F64, U8
from viewer.layers.kernels.pieces import DEEP, DEEPEST, HELD, LOOSE, SPARSE, WOUND, Tally
from viewer.layers.layers import HOLD, INFILL, INNER, OUTLINE, SOLID, SUPPORT, UNLABELLED, Layers
from viewer.read.moves import BEAD, Moves

MOSTLY: Final = 0.6
"""A program has no walls where more than this share of its path, and lines alone in more than this share of its layers,
lie outside of every loop; supports and rafts are less."""
ALONE: Final = 0.9
"""A layer holds lines alone where they are this share of its path."""
HIGHEST_RAFT: Final = 10
"""Layers; a raft has no more."""
CELL_MM: Final = 2.0
STEP_MM: Final = 1.0
"""Where a layer's beads lie is compared in cells of this size, at places along them this far apart."""
LONGEST_MM: Final = 10_000.0
"""A longer bead lies on no plate."""
COVERED: Final = 0.9
"""A raft lies below this share of the cells of what stands on it."""
WINDS_SO: Final = 0.9
"""A program's sense of winding tells holes where this share of the sure holes' path follows it."""
CODES: Final = DEEP + DEEPEST + 1


def settle(roles: U8, moves: Moves, layers: Layers, tally: Tally, walls: int) -> U8:
    """Return roles instead of the kernels' codes.

    Parameters
    ----------
    roles
        (moves,) roles and codes.
    moves, layers
        Columns.
    tally
        What the kernels counted.
    walls
        So many loops within one another are walls.
    """
    path_mm, loose_mm = tally.path_mm, tally.loose_mm
    wound = INNER if _winds_holes_backwards(tally.holes_mm) else OUTLINE
    if not layers.spiral.any() and _is_without_walls(path_mm, loose_mm):
        named = _meaning(walls, wound, (SOLID, INFILL), (SOLID, INFILL)).take(roles)
        _hold_loops(named, layers, path_mm, loose_mm)
        return named
    rafts = _raft_layers(roles, moves, layers, path_mm, loose_mm)
    named = _meaning(walls, wound, (SUPPORT, SUPPORT), (HOLD, HOLD)).take(roles)
    for row in rafts.tolist():
        own = named[layers.moves_of(row + 1)]
        own[moves.kind[layers.moves_of(row + 1)] == BEAD] = HOLD
    prelude = int(layers.first_move[0])
    if not (named[prelude:] == OUTLINE).any():  # without any outline nothing lies outside of the part
        named[prelude:] = UNLABELLED
    return named


def _meaning(walls: int, wound: int, loose: tuple[int, int], held: tuple[int, int]) -> U8:
    """Return the role of each role and code; ``loose`` and ``held``: of lines that touch and of sparse ones."""
    role = np.arange(CODES, dtype=np.uint8)
    role[DEEP:] = INNER
    role[DEEP + walls + 1 :] = SOLID
    role[WOUND] = wound
    role[[LOOSE, LOOSE + SPARSE]] = loose
    role[[HELD, HELD + SPARSE]] = held
    return role


def _winds_holes_backwards(holes_mm: F64) -> bool:
    """Whether the outlines of holes run around against those of the part, as far as holes are known for sure."""
    return bool(holes_mm[0] > 0.0 and holes_mm[0] >= WINDS_SO * holes_mm.sum())


def _is_without_walls(path_mm: F64, loose_mm: F64) -> bool:
    """Whether most layers hold lines alone, and most of the program's path is such lines."""
    used = path_mm > 0.0
    layers = int(np.count_nonzero(loose_mm[used] > ALONE * path_mm[used]))
    most = loose_mm.sum() > MOSTLY * path_mm.sum()
    return bool(most and layers > MOSTLY * np.count_nonzero(used))


def _hold_loops(roles: U8, layers: Layers, path_mm: F64, loose_mm: F64) -> None:
    """Take the loops of first layers for hold-down: there are no walls."""
    for row in np.flatnonzero(layers.is_first & (path_mm > loose_mm)).tolist():
        own = roles[layers.moves_of(row + 1)]
        own[(own == OUTLINE) | (own == INNER)] = HOLD


def _raft_layers(
    roles: U8, moves: Moves, layers: Layers, path_mm: F64, loose_mm: F64
) -> npt.NDArray[np.intp]:
    """Return the rows of layers that are a raft: below a layer of lines alone that carries all that stands on it."""
    bare = loose_mm > ALONE * path_mm
    begins = np.flatnonzero(np.diff(layers.object, prepend=-1) != 0)
    ends = np.append(begins[1:], len(layers))
    found: list[npt.NDArray[np.intp]] = [np.zeros(0, np.intp)]
    for begin, end in zip(begins.tolist(), ends.tolist(), strict=True):
        top = begin + 1
        while top < min(end, begin + HIGHEST_RAFT + 1) and bare[top]:
            top += 1
        lies_low = top > begin + 1 or bare[begin]
        if lies_low and top < end and _carries(roles, moves, layers, top - 1):
            found.append(np.arange(begin, top))
    return np.concatenate(found)


def _carries(roles: U8, moves: Moves, layers: Layers, row: int) -> bool:
    """Whether the lines of a layer lie below all walls and fill of the layer above."""
    below = _cells(moves, layers.moves_of(row + 1), roles, is_part=False)
    above = _cells(moves, layers.moves_of(row + 2), roles, is_part=True)
    return len(above) > 0 and float(np.isin(above, below).mean()) >= COVERED


def _cells(moves: Moves, own: slice, roles: U8, *, is_part: bool) -> npt.NDArray[np.complex128]:
    """Return the cells that the beads of a layer meet, each once, as column + i row: those of walls and fill, or all."""
    rows = np.flatnonzero(moves.kind[own] == BEAD) + own.start
    rows = rows[rows > 0]
    if is_part:
        rows = rows[np.isin(roles[rows], (OUTLINE, SOLID, INFILL)) | (roles[rows] >= DEEP)]
    x0, y0, x1, y1 = (c[r].astype(np.float64) for r in (rows - 1, rows) for c in (moves.x_mm, moves.y_mm))
    long = np.hypot(x1 - x0, y1 - y0)
    real = long < LONGEST_MM  # a bead from or to nowhere meets no cell
    steps = np.ceil(long[real] / STEP_MM).astype(np.intp) + 1
    before = np.cumsum(steps) - steps
    share = (np.arange(int(steps.sum())) - np.repeat(before, steps)) / np.repeat(steps, steps)
    column, line = (
        np.floor((np.repeat(a[real], steps) + share * np.repeat((b - a)[real], steps)) / CELL_MM)
        for a, b in ((x0, x1), (y0, y1))
    )
    return np.unique(column + 1j * line)
