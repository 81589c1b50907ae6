"""Head and gantry against what stands higher than the nozzle: objects printed in turn, and what follows the last layer.

The head is a rectangle about the nozzle, and the gantry a bar along X over the whole plate, as deep in Y as the head.
Where either would strike, the map of heights is widened by it, so that only the nozzle's path has to be followed.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from enum import Enum
from itertools import pairwise
from typing import Final

import numpy as np

from viewer.arrays import F32, Bool
from viewer.cards.printer import Head
from viewer.read.moves import PLACE
from viewer.shape.columns import ShapeColumns
from viewer.shape.path.heights import NOTHING, Strike, Tops, follow, height_map, make_hits, strikes_of
from viewer.shape.path.kernels import heights as k

CELL_MM: Final = 1.0
DOUBT_MM: Final = 5.0


_Reach = tuple[int, int, int, int]
"""Cells to the left, right, front and back of the nozzle."""


class Part(Enum):
    """What strikes; the value names it in a sentence."""

    HEAD = "head"
    GANTRY = "carriage or gantry"


@dataclass(frozen=True, slots=True)
class HeadStrike:
    """The deepest place where a part of the head strikes what was printed before an object, or before the end."""

    part: Part
    raised_mm: float
    """How far above the nozzle's tip the part's underside lies."""
    strike: Strike
    """Of the nozzle's path; `Strike.depth_mm` is how far the underside lies below the top of what it strikes."""
    struck_mm: tuple[float, float]
    """Where what it strikes stands, X and Y."""
    laid_by: int
    """The move that laid it."""
    moves: int
    """How many moves strike."""
    is_sure: bool
    """Whether a part that reaches `DOUBT_MM` less far would strike, too: a rectangle is larger than most heads."""


def find_head_strikes(
    columns: ShapeColumns, tops: Tops, low: Bool, head: Head, tolerance_mm: float
) -> Iterator[HeadStrike]:
    """Return the deepest strike of head and gantry for each object but the first, and for the end.

    Parameters
    ----------
    low
        (n,) the moves to compare.
    head
        Parts that it does not know are left out.
    tolerance_mm
        What is met by less is let pass.
    """
    for span in _spans(columns):
        own = np.zeros(len(low), np.bool_)
        own[span[0] : span[1]] = low[span[0] : span[1]] & (columns.moves.kind[span[0] : span[1]] != PLACE)
        if not own.any():
            continue
        before = tops.laid.copy()
        before[span[0] :] = False
        heights = height_map(columns, before, CELL_MM)
        follow(
            columns, (before * k.LAY).astype(np.uint8), (0, span[0]), heights, 0.0, tolerance_mm, make_hits()
        )
        for part, raised in _parts(head):
            found = _deepest(columns, own, heights, head, part, raised, tolerance_mm)
            if found is not None:
                yield found


def _spans(columns: ShapeColumns) -> Iterator[tuple[int, int]]:
    """Yield the moves of each object printed in turn but the first, then those behind the last layer."""
    layers, total = columns.layers, len(columns.moves)
    changes = np.flatnonzero(np.diff(layers.object)) + 1
    cuts = [*layers.first_move[changes].tolist(), int(layers.first_move[-1]), total]
    # the way to an object's first bead belongs to it
    yield from pairwise(cuts)


def _parts(head: Head) -> Iterator[tuple[Part, float]]:
    if head.has_outline:
        yield Part.HEAD, head.underside_mm
    if head.gantry_mm is not None:
        yield Part.GANTRY, head.gantry_mm


def _deepest(
    columns: ShapeColumns, own: Bool, heights: k.HeightMap, head: Head, part: Part, raised: float, tolerance: float
) -> HeadStrike | None:  # fmt: skip
    reach = _reach_cells(columns, own, heights, head, part)
    strikes, count = _strikes(columns, own, heights, reach, raised, tolerance)
    if not strikes:
        return None
    less = int(DOUBT_MM / float(heights.place[2]))
    left, right, front, back = (max(side - less, 0) for side in reach)
    smaller = (left, right, front, back)
    is_sure = bool(_strikes(columns, own, heights, smaller, raised, tolerance)[0])
    worst = max(strikes, key=lambda one: one.depth_mm)
    i, j = _struck_cell(heights, worst, reach)
    x, y = (float(heights.place[axis] + (at + 0.5) * heights.place[2]) for axis, at in ((0, j), (1, i)))
    return HeadStrike(part, raised, worst, (x, y), int(heights.move[i, j]), count, is_sure)


def _strikes(
    columns: ShapeColumns, own: Bool, heights: k.HeightMap, reach: _Reach, raised: float, tolerance: float
) -> tuple[list[Strike], int]:
    """Return where moves strike the map widened by a part, and how many moves do."""
    hits = make_hits()
    todo = (own * k.PATH).astype(np.uint8)
    count = follow(columns, todo, (0, len(own)), _widened(heights, reach), raised, tolerance, hits)
    return strikes_of(hits, min(count, len(hits.move) - 1)), count


def _reach_cells(columns: ShapeColumns, own: Bool, heights: k.HeightMap, head: Head, part: Part) -> _Reach:
    """Return how many whole cells a part reaches to the left, right, front and back of the nozzle.

    What reaches less than a cell further is let pass: the map is as coarse as that. The gantry reaches from wherever
    the nozzle is over the whole map.
    """
    sides = (head.left_mm, head.right_mm, head.front_mm, head.back_mm)
    across, along = (_span_cells(heights, columns, own, axis) for axis in (0, 1))
    left, right, front, back = (
        min(int((side or 0.0) / float(heights.place[2])), most)
        for side, most in zip(sides, (across, across, along, along), strict=True)
    )
    return (left, right, front, back) if part is Part.HEAD else (across, across, front, back)


def _span_cells(heights: k.HeightMap, columns: ShapeColumns, own: Bool, axis: int) -> int:
    """Return how many cells in X (axis 0) or Y (1) hold the map and the moves: nothing need reach further."""
    at = (columns.moves.x_mm if axis == 0 else columns.moves.y_mm)[own]
    cell, edge = float(heights.place[2]), float(heights.place[axis])
    other = edge + heights.top_mm.shape[1 - axis] * cell
    return int((max(float(at.max()), other) - min(float(at.min()), edge)) / cell) + 1


def _widened(heights: k.HeightMap, reach: _Reach) -> k.HeightMap:
    """Return the map widened: a cell holds the highest top that a part covers when the nozzle is there.

    The new map is larger by what the nozzle may lie outside of the old one and the part still strikes.
    """
    left, right, front, back = reach
    padded = np.pad(heights.top_mm, ((back, front), (right, left)), constant_values=NOTHING)
    wide = _running_max(_running_max(padded, back, front, 0), right, left, 1)
    x, y, cell = heights.place.tolist()
    place = np.array([x - right * cell, y - back * cell, cell])
    return k.HeightMap(wide, np.full(wide.shape, -1, np.int32), place)


def _running_max(tops: F32, after: int, before: int, axis: int) -> F32:
    """Return for each cell the maximum of itself, ``before`` cells before and ``after`` behind it along an axis."""
    lines = np.moveaxis(tops, axis, 0)
    size, done = before + after + 1, 1
    most = np.pad(lines, ((before, after), (0, 0)), constant_values=NOTHING)
    while done < size:  # doubles the window, as far as it goes
        step = min(done, size - done)
        most = np.maximum(most[:-step], most[step:])
        done += step
    return np.ascontiguousarray(np.moveaxis(most, 0, axis))


def _struck_cell(heights: k.HeightMap, strike: Strike, reach: _Reach) -> tuple[int, int]:
    """Return row and column of the highest cell that the part covers when the nozzle is at the deepest place."""
    left, right, front, back = reach
    cell = float(heights.place[2])
    i, j = (int(np.floor((strike.place_mm[axis] - heights.place[axis]) / cell)) for axis in (1, 0))
    rows, columns = heights.top_mm.shape
    i0, i1 = max(i - front, 0), min(i + back + 1, rows)
    j0, j1 = max(j - left, 0), min(j + right + 1, columns)
    at = int(np.argmax(heights.top_mm[i0:i1, j0:j1]))
    row, column = divmod(at, j1 - j0)
    return i0 + row, j0 + column
