"""Layers that were left out, laid twice or laid in the wrong order, by what is laid alone: marks are not needed.

Left out: a layer lies a whole number of usual heights above the one before, its neighbours on both sides rise by one
height, and its beads draw no more filament for a mm than theirs: they were made for one height and are laid over a gap.

Laid twice: the beads of a layer are there again, from the same places to the same places at the same height.

Wrong order: beads lie lower than what was laid before them, in the same place.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
import numpy.typing as npt

from viewer.arrays import F64
from viewer.layers.layers import FLAT_MM, HOLD, Layers
from viewer.read.moves import BEAD, Moves

Rows = npt.NDArray[np.intp]

LEAST_LAYERS: Final = 5
"""Fewer layers have no neighbours to compare with."""
LEAST_RISE: Final = 1.7
"""A layer that rises by this many heights of its neighbours has none of its own below it."""
MOST_FED: Final = 1.3
"""Beads that draw this many times the filament of their neighbours' fill a larger height."""
ALIKE: Final = 0.15
"""Neighbours' heights that differ by less than this share are one height."""
TWICE_SHARE: Final = 0.5
"""Share of a layer's path that is there twice (on 60 whole programs at most 0.03)."""
LOW_SHARE: Final = 0.4
"""Beads this share of a layer's height lower than those before lie in their layer or below it."""
OVERLAP: Final = 0.5
"""Share of the smaller of two rectangles about beads that lies in the other."""
LEAST_PATH: Final = 0.3
"""Path of the lower beads over that of the layer above them: less is a repair or a purge."""
PER_MM: Final = 1000.0
"""Places are compared to 0.001 mm."""


@dataclass(frozen=True, slots=True)
class LeftOut:
    """One place where a layer is missing."""

    layer: int
    """The layer behind it, from 1."""
    rise_mm: float
    usual_mm: float
    fed_ratio: float
    """Filament that its beads draw for a mm, over that of its neighbours' beads."""


@dataclass(frozen=True, slots=True)
class Twice:
    """One layer whose beads are laid twice."""

    layer: int
    share: float  # of its path that is there before
    move: int  # first bead that is there before


@dataclass(frozen=True, slots=True)
class Lower:
    """Beads that are laid lower than what lies there by then."""

    move: int  # first of them
    height_mm: float
    above_mm: float  # height of what was laid before
    path_mm: float


def fed_per_mm(moves: Moves, layers: Layers) -> F64:
    """Return the filament that the beads of each layer draw for a mm of path, (layers,); 0 without beads."""
    rows = np.flatnonzero(moves.kind == BEAD)
    number = layers.of_moves(rows)
    many = len(layers) + 2
    path = np.bincount(number, moves.length_mm[rows], many)
    fed = np.bincount(number, moves.fed_mm[rows], many)
    rate: F64 = np.divide(fed, path, out=np.zeros(many), where=path > 0.0)
    return rate[1:-1]


def layers_left_out(moves: Moves, layers: Layers) -> list[LeftOut]:
    """Find the layers below which one or more are missing; the last two layers and the first two are not judged."""
    height, rate = layers.thickness_mm, fed_per_mm(moves, layers)
    if len(layers) < LEAST_LAYERS:
        return []
    at = np.arange(2, len(layers) - 1)
    before, after = height[at - 1].copy(), height[at + 1]
    second = layers.is_first[at - 1]  # a first layer may have a height of its own
    before[second] = after[second]
    usual = np.maximum(before, after)
    fed = np.divide(
        rate[at], np.maximum(rate[at - 1], rate[at + 1]), out=np.full(len(at), np.inf), where=rate[at - 1] > 0
    )
    times = height[at] / usual
    hit = (
        (times >= LEAST_RISE)
        & (np.abs(times - np.round(times)) <= ALIKE)
        & (np.abs(before - after) <= ALIKE * usual)
        & (fed < MOST_FED)
        & ~(layers.is_first[at] | layers.is_first[at + 1] | layers.spiral[at] | layers.spiral[at - 1])
    )
    columns = (at[hit] + 1, height[at][hit], usual[hit], fed[hit])
    return [LeftOut(*row) for row in zip(*(column.tolist() for column in columns), strict=True)]


def layers_laid_twice(moves: Moves, layers: Layers) -> list[Twice]:
    """Find the layers of whose path at least half is laid again, from end to end at the same height."""
    first, end = (int(layers.first_move[0]), int(layers.first_move[-1])) if len(layers) else (0, 0)
    rows = first + np.flatnonzero(moves.kind[first:end] == BEAD)
    rows = rows[rows > 0]
    if len(rows) < 2:
        return []
    number = layers.of_moves(rows)
    again = _seen_before(_keys(moves, rows, number))
    path = moves.length_mm[rows].astype(np.float64)
    many = len(layers) + 2
    # what is laid twice counts twice in the path
    share = 2.0 * np.bincount(number, path * again, many) / np.maximum(np.bincount(number, path, many), 1e-9)
    firsts = np.full(many, -1, np.int64)
    firsts[number[again][::-1]] = rows[again][::-1]
    return [
        Twice(k, min(float(share[k]), 1.0), int(firsts[k]))
        for k in np.flatnonzero(share >= TWICE_SHARE).tolist()
    ]


def _keys(moves: Moves, rows: Rows, number: Rows) -> npt.NDArray[np.uint64]:
    """Return one number for each bead: equal for those with the same layer, height and ends."""
    columns = (
        number,
        moves.z_mm[rows],
        moves.x_mm[rows - 1],
        moves.y_mm[rows - 1],
        moves.x_mm[rows],
        moves.y_mm[rows],
    )
    keys = np.zeros(len(rows), np.uint64)
    for column in columns:
        whole = np.round(column.astype(np.float64) * PER_MM).astype(np.int64).astype(np.uint64)
        keys = (keys ^ whole) * np.uint64(0x9E3779B97F4A7C15)
        keys ^= keys >> np.uint64(29)
    return keys


def _seen_before(keys: npt.NDArray[np.uint64]) -> npt.NDArray[np.bool_]:
    """Return of each key whether it stands there before."""
    order = np.argsort(keys, kind="stable")
    again = np.zeros(len(keys), np.bool_)
    again[order[1:]] = keys[order[1:]] == keys[order[:-1]]
    return again


def beads_laid_lower(moves: Moves, layers: Layers) -> list[Lower]:
    """Find runs of beads that lie lower than what was laid before them in the same place, object by object."""
    if not len(layers):
        return []
    first, end = int(layers.first_move[0]), int(layers.first_move[-1])
    rows = first + np.flatnonzero(moves.kind[first:end] == BEAD)
    number = np.clip(layers.of_moves(rows), 1, len(layers)) - 1
    rows, number = rows[~layers.spiral[number]], number[~layers.spiral[number]]
    if not len(rows):
        return []
    z = moves.z_mm[rows].astype(np.float64)
    apart = (float(z.max()) - float(z.min()) + 1.0) * layers.object[number]  # objects do not see each other
    top = np.maximum.accumulate(z + apart) - apart
    usual = float(np.median(layers.thickness_mm))
    low = z < top - max(FLAT_MM, LOW_SHARE * usual)
    if not low.any():
        return []
    edges = np.flatnonzero(np.diff(low.astype(np.int8), prepend=0, append=0))
    found = []
    for begin, until in zip(edges[::2].tolist(), edges[1::2].tolist(), strict=True):
        above = _run_at(z, float(top[begin]), begin)
        path = float(moves.length_mm[rows[begin:until]].sum(dtype=np.float64))
        whole = float(moves.length_mm[rows[above:begin]].sum(dtype=np.float64))
        if path >= LEAST_PATH * whole and _overlap(moves, rows[above:begin], rows[begin:until]) >= OVERLAP:
            found.append(Lower(int(rows[begin]), float(z[begin]), float(top[begin]), path))
    return found


def _run_at(z: F64, height: float, end: int) -> int:
    """Return where the run of beads at a height begins that ends before `end`."""
    other = np.flatnonzero(np.abs(z[:end] - height) > FLAT_MM)
    return int(other[-1]) + 1 if len(other) and other[-1] < end - 1 else max(0, end - 1)


def _overlap(moves: Moves, one: Rows, other: Rows) -> float:
    """Return the share of the smaller of two rectangles about beads that lies in the other."""
    boxes = [_rectangle(moves, rows) for rows in (one, other)]
    low = np.maximum(boxes[0][0], boxes[1][0])
    high = np.minimum(boxes[0][1], boxes[1][1])
    common = float(np.prod(np.maximum(high - low, 0.0)))
    least = min(float(np.prod(box[1] - box[0])) for box in boxes)
    return common / least if least > 0.0 else 0.0


def _rectangle(moves: Moves, rows: Rows) -> tuple[F64, F64]:
    points = np.unique(np.concatenate([rows, np.maximum(rows - 1, 0)]))
    xy = np.stack([moves.x_mm[points], moves.y_mm[points]], axis=1).astype(np.float64)
    return xy.min(axis=0), xy.max(axis=0)


def thick_layers(moves: Moves, layers: Layers, roles: npt.NDArray[np.uint8], most_mm: float) -> Rows:
    """Return the layers (from 1) that are thicker than a limit and laid so: objects' first layers and rafts apart.

    A layer whose beads draw no more than those of a neighbour that is not so thick lies over a gap, as above a raft.
    """
    height, rate = layers.thickness_mm, fed_per_mm(moves, layers)
    thick = (height > most_mm + FLAT_MM) & ~layers.is_first & ~layers.spiral
    found = [k + 1 for k in np.flatnonzero(thick).tolist() if not _over_gap(k, height, rate, thick)]
    return np.array([k for k in found if not _is_hold(moves, layers, roles, k)], np.intp)


def _over_gap(row: int, height: F64, rate: F64, thick: npt.NDArray[np.bool_]) -> bool:
    sides = [k for k in (row - 1, row + 1) if 0 <= k < len(height) and not thick[k]]
    return any(rate[row] < MOST_FED * rate[k] and height[row] > MOST_FED * height[k] for k in sides)


def _is_hold(moves: Moves, layers: Layers, roles: npt.NDArray[np.uint8], number: int) -> bool:
    own = layers.moves_of(number)
    bead = moves.kind[own] == BEAD
    return bool(np.all(roles[own][bead] == HOLD))
