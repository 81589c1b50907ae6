"""Two series of heights in one program: what a layer rests on when it is not the layer before it.

Support may have layers of another thickness than the part, and parts of one plate layers of their own. The
distance to the layer before is then that to the other series::

    part      0.95 ====     1.25 ====     1.55 ====         each 0.30 thick
    support   0.95 ----        1.30 ----     1.65 ----      each 0.35 thick, not 0.05 and 0.10
"""

from __future__ import annotations

from typing import Final

import numpy as np
import numpy.typing as npt

from viewer.arrays import F64, I32
from viewer.layers.layers import FLAT_MM
from viewer.read.moves import BEAD, Moves

SUSPECT_SHARE: Final = 0.75
"""A layer thinner than so much of the usual one may belong to another series of heights."""
CELL_MM: Final = 1.0
SHARED: Final = 0.25
"""Of two layers on each other the smaller one shares at least this share of its cells (crossing lines: about a half)."""
MAX_STEPS: Final = 1000
MAX_SUSPECTS: Final = 5000
"""No more layers than this are looked at: a damaged program may have a hundred thousand thin ones."""
SERIES_BACK: Final = 6
"""How many layers further down are searched for what a layer rests on."""


def rest_on_own_series(
    moves: Moves,
    first_move: I32,
    height: F64,
    new_object: npt.NDArray[np.bool_],
    usual: float,
    thickness: F64,
) -> None:
    """Correct the thickness of layers that do not rest on the layer before them, in place.

    Parameters
    ----------
    moves
        All moves.
    first_move
        (n + 1,) as in `Layers`.
    height, new_object, thickness
        (n,) of each layer, mm: its height, whether it begins an object, and its distance to the layer before.
    usual
        Median thickness, mm.

    Notes
    -----
    A layer that is much thinner than usual, and those behind it until one rests on the layer before it again, rest on
    the last layer before them with which they share their place in the plane.
    """
    aside = False
    suspects = 0
    for k in range(1, len(height)):
        is_thin = 0.0 < thickness[k] < SUSPECT_SHARE * usual
        if new_object[k] or not (aside or is_thin):
            aside = False
            continue
        suspects += 1
        if suspects > MAX_SUSPECTS:
            return
        own = _cells(moves, first_move, k)
        lowest = max(k - SERIES_BACK, 0)
        downwards = range(k - 1, lowest - 1, -1)
        base = next((j for j in downwards if _share(own, _cells(moves, first_move, j))), k - 1)
        aside = base < k - 1 or is_thin
        if base < k - 1 and not new_object[base + 1 : k].any() and height[k] > height[base] + FLAT_MM:
            thickness[k] = height[k] - height[base]


def _share(a: npt.NDArray[np.int64], b: npt.NDArray[np.int64]) -> bool:
    """Whether two sets of cells overlap by enough of the smaller one."""
    common = len(np.intersect1d(a, b, assume_unique=True))
    return common >= SHARED * max(1, min(len(a), len(b)))


def _cells(moves: Moves, first_move: I32, k: int) -> npt.NDArray[np.int64]:
    """Return the cells of `CELL_MM` in the plane that the beads of layer row `k` pass, each once, sorted."""
    low = int(first_move[k])
    rows = low + np.flatnonzero(moves.kind[low : int(first_move[k + 1])] == BEAD)
    before = np.maximum(rows - 1, 0)
    x, y = moves.x_mm[before].astype(np.float64), moves.y_mm[before].astype(np.float64)
    dx, dy = moves.x_mm[rows] - x, moves.y_mm[rows] - y
    steps = np.clip(np.ceil(np.hypot(dx, dy) / CELL_MM), 1, MAX_STEPS).astype(np.intp)
    bead = np.repeat(np.arange(len(rows)), steps)
    share = (np.arange(len(bead)) - np.repeat(np.cumsum(steps) - steps, steps) + 0.5) / steps[bead]
    column = np.floor((x[bead] + share * dx[bead]) / CELL_MM).astype(np.int64)
    row = np.floor((y[bead] + share * dy[bead]) / CELL_MM).astype(np.int64)
    return np.unique(column * (1 << 32) + row)
