"""Moves that run into what was printed before them, found on a map of heights.

A move can only meet something where the nozzle goes lower than the highest bead laid before it. Most programs never do
that, and then nothing is drawn. Otherwise the beads that later low moves could meet are drawn, in the order of the
program.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from typing import Final

import numpy as np

from viewer.arrays import F32, U8, Bool, columns_of, read_only
from viewer.layers.layers import PURGE
from viewer.read.moves import BEAD, PLACE, TRAVEL, WIPE
from viewer.shape.columns import ShapeColumns
from viewer.shape.path.kernels import heights as k
from viewer.units import filament_area_mm2

NOTHING: Final = -1e9
"""Height where nothing lies, mm."""
MAX_CELLS: Final = 2_500_000
"""Of one map: 20 MB."""
MAX_HITS: Final = 10_000
"""Moves that are kept of those that meet something."""
APART_MOVES: Final = 5
"""Moves that meet something and lie no further apart than this are one strike."""
WIDEST_NOZZLES: Final = 2.0
"""What is wider than this is filament primed into a short bead; its width on the plate is not known."""


@dataclass(frozen=True, slots=True)
class Strike:
    """One place where the path runs into what was printed before."""

    move: int
    """The move that runs deepest."""
    first_move: int
    last_move: int
    depth_mm: float
    """Of the deepest point below the top of what lies there."""
    length_mm: float
    """Of the path that runs deeper than the tolerance; 0: only its end was compared (homing)."""
    place_mm: tuple[float, float, float]
    laid_by: int
    """The move that laid what is met."""

    @property
    def top_mm(self) -> float:
        """How high that stands, in the program's Z, mm."""
        return self.place_mm[2] + self.depth_mm


@dataclass(frozen=True, slots=True, eq=False)
class Tops:
    """How high the print is when each move begins, n moves."""

    laid: Bool  # (n,) beads that raise the print
    low_mm: F32  # (n,) the lowest point of each move
    highest_mm: F32  # (n,) top of the highest bead before each move; NOTHING before the first
    high_mm: F32  # (n,) the highest point of each move


def tops_of(columns: ShapeColumns) -> Tops:
    """Return the height of the print before each move.

    Beads before the first layer and behind the last do not count. Nor do purge lines that lie far from their layer's
    height: what is pushed out in the air falls down.
    """
    moves, layers = columns.moves, columns.layers
    begin, end = (int(layers.first_move[at]) for at in (0, -1))
    laid = moves.kind == BEAD
    laid[:begin] = False
    laid[end:] = False
    purge = np.flatnonzero(laid & (columns.roles == PURGE))
    rows = layers.of_moves(purge) - 1
    away = np.abs(moves.z_mm[purge] - layers.height_mm[rows])
    laid[purge] = away <= np.maximum(layers.thickness_mm[rows], 0.1)
    before = np.concatenate([np.zeros(1, np.float32), moves.z_mm[:-1]])
    high = np.maximum(moves.z_mm, before)
    low = np.where(moves.kind == PLACE, moves.z_mm, np.minimum(moves.z_mm, before))
    highest = np.maximum.accumulate(np.where(laid, high, np.float32(NOTHING)))
    highest = np.concatenate([np.full(1, NOTHING, np.float32), highest[:-1]])
    return Tops(laid, low, highest, high)


def low_moves(columns: ShapeColumns, tops: Tops, tolerance_mm: float) -> Bool:
    """Return the moves (n,) that go lower than the highest bead before them, by more than a tolerance."""
    follows = np.isin(columns.moves.kind, (TRAVEL, BEAD, WIPE, PLACE))
    return np.asarray(follows & (tops.low_mm < tops.highest_mm - np.float32(tolerance_mm)))


def find_strikes(
    columns: ShapeColumns, tops: Tops, low: Bool, tolerance_mm: float
) -> tuple[list[Strike], int]:
    """Return where moves run into what was printed before them, and how many moves do so in all.

    Parameters
    ----------
    low
        (n,) the moves to compare: `low_moves`, without those whose height is not known.
    tolerance_mm
        What is met by less is let pass.

    Notes
    -----
    Only the bore's middle is compared, not the nozzle's flat. Of homing only where it ends.
    """
    if not low.any():
        return [], 0
    kind = columns.moves.kind
    todo = np.where(low, np.where(kind == PLACE, k.END, k.PATH), 0).astype(np.uint8)
    todo[_that_matter(tops, low, tolerance_mm)] |= k.LAY
    heights = height_map(columns, (todo & k.LAY) != 0, 0.5 * columns.nozzle_mm)
    hits = make_hits()
    count = follow(columns, todo, (0, len(kind)), heights, 0.0, tolerance_mm, hits)
    return strikes_of(hits, min(count, MAX_HITS)), count


def _that_matter(tops: Tops, low: Bool, tolerance_mm: float) -> Bool:
    """Return the beads (n,) that reach above a later low move."""
    lowest = np.where(low, tops.low_mm, np.float32(np.inf))[::-1]
    later = np.minimum.accumulate(lowest)[::-1]
    return np.asarray(tops.laid & (tops.high_mm > later + np.float32(tolerance_mm)))


def height_map(columns: ShapeColumns, laid: Bool, cell_mm: float) -> k.HeightMap:
    """Return an empty map that holds the beads (n,) given, with larger cells where there would be too many."""
    moves = columns.moves
    rows = np.flatnonzero(laid)
    ends = np.unique(np.concatenate([np.maximum(rows - 1, 0), rows]))
    margin = WIDEST_NOZZLES * columns.nozzle_mm
    if not len(ends):
        return _empty_map(0.0, 0.0, 1.0, (1, 1))
    left, front = float(moves.x_mm[ends].min()) - margin, float(moves.y_mm[ends].min()) - margin
    width, depth = (
        float(moves.x_mm[ends].max()) + margin - left,
        float(moves.y_mm[ends].max()) + margin - front,
    )
    cell = max(cell_mm, float(np.sqrt(2.0 * width * depth / MAX_CELLS)), 2.0 * (width + depth) / MAX_CELLS)
    return _empty_map(left, front, cell, (int(depth / cell) + 1, int(width / cell) + 1))


def _empty_map(left: float, front: float, cell: float, shape: tuple[int, int]) -> k.HeightMap:
    tops, owners = np.full(shape, NOTHING, np.float32), np.full(shape, -1, np.int32)
    return k.HeightMap(tops, owners, np.array([left, front, cell]))


def make_hits() -> k.Hits:
    """Return room for what `follow` finds."""
    size = MAX_HITS + 1
    depth, length, x, y, z = (np.zeros(size) for _ in range(5))
    return k.Hits(np.full(size, -1, np.int32), depth, length, x, y, z, np.full(size, -1, np.int32))


def follow(
    columns: ShapeColumns, todo: U8, span: tuple[int, int], heights: k.HeightMap,
    raised_mm: float, tolerance_mm: float, hits: k.Hits,
) -> int:  # fmt: skip
    """Run the kernel of the same name on the columns of a program."""
    return int(
        k.follow(
            columns_of(k.Moves, columns.moves), columns_of(k.Layers, columns.layers), read_only(todo), span, heights,
            raised_mm, tolerance_mm, filament_area_mm2(columns.drawn_diameter_mm),
            WIDEST_NOZZLES * columns.nozzle_mm, hits,
        )
    )  # fmt: skip


def strikes_of(hits: k.Hits, count: int) -> list[Strike]:
    """Join moves that follow one another closely."""
    if not count:
        return []
    move = hits.move[:count]
    starts = np.concatenate([[0], np.flatnonzero(np.diff(move) > APART_MOVES) + 1, [count]]).tolist()
    return [_strike(hits, a, b) for a, b in pairwise(starts)]


def _strike(hits: k.Hits, first: int, end: int) -> Strike:
    at = first + int(np.argmax(hits.depth_mm[first:end]))
    return Strike(
        move=int(hits.move[at]),
        first_move=int(hits.move[first]),
        last_move=int(hits.move[end - 1]),
        depth_mm=float(hits.depth_mm[at]),
        length_mm=float(hits.length_mm[first:end].sum()),
        place_mm=(float(hits.x_mm[at]), float(hits.y_mm[at]), float(hits.z_mm[at])),
        laid_by=int(hits.laid_by[at]),
    )
