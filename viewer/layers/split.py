"""Moves -> layers: by the height of beads, and by layer marks where these agree with the beads."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from viewer.arrays import F64, I32, columns_of, read_only
from viewer.layers.kernels.columns import Moves as MoveColumns
from viewer.layers.kernels.runs import STILL_MM, Runs, find_runs
from viewer.layers.layers import FLAT_MM, Layers
from viewer.layers.series import rest_on_own_series
from viewer.read.comments.remarks import Marks
from viewer.read.moves import BEAD, Moves

STEEPEST = 0.05
"""Rise over path: 0.2 mm in a turn of 15 mm is 0.013; a bead steeper than this goes to the next layer."""
WHOLE_TURN = 0.75 * 2.0 * np.pi
SPIRAL_RISE_MM = 0.02
SPIKE_SHARE = 0.2
"""A height left again downwards, with less of the layer's path than this, is no layer of its own."""
AGREEMENT = 0.6
"""Layer marks count when at least this share of the beads' path lies at its stretch's main height."""
LEAD_SHARE = 0.5
"""Flat beads at a spiral's beginning are a layer of their own from so much of its first turn's path."""
PURGE_CHAINS = 4
PURGE_BEADS = 8
PURGE_GAP_MM = 3.0


@dataclass(frozen=True, slots=True, eq=False)
class _Runs:
    """Runs of beads, in order: (n,) each."""

    first: I32
    last: I32
    height: F64
    path: F64
    spiral: npt.NDArray[np.bool_]


@dataclass(slots=True)
class _Layer:
    """A layer in the making."""

    first: int
    """First bead (move index)."""
    height: float
    path: float
    spiral: bool = False


def split_layers(moves: Moves, marks: Marks) -> Layers:
    """Find the layers of a program and the objects printed one after another.

    Parameters
    ----------
    moves
        All moves.
    marks
        Layer marks of comments; they decide where they agree with the beads.

    Notes
    -----
    A height reached again after a dip belongs to the layer that it interrupts. When the beads fall back to the
    height of the object's first layer, a new object begins. A run that rises along its beads is cut once a turn.
    """
    starts = np.unique(marks.move)
    chosen, agreement = _layers_by_marks(_runs(moves, starts), starts) if len(starts) else ([], 0.0)
    if agreement < AGREEMENT:
        starts = np.zeros(0, np.int32)
        chosen = _layers_by_height(moves, _runs(moves, starts))
    if not len(starts):
        chosen = _without_purge(moves, chosen)
    return _finish(moves, chosen, starts)


def _runs(moves: Moves, cuts: I32) -> _Runs:
    room = max(1024, len(cuts) * 4)
    ends = read_only(np.append(cuts, np.int32(2**31 - 1)).astype(np.int32))
    columns = columns_of(MoveColumns, moves)
    while True:
        rows, sums = [np.empty(room, np.int32) for _ in range(2)], [np.empty(room) for _ in range(4)]
        runs = Runs._make([*rows, *sums])
        n = find_runs(columns, ends, FLAT_MM, STEEPEST, runs)
        if n >= 0:
            spiral = (runs.rise[:n] > SPIRAL_RISE_MM) & (np.abs(runs.turning[:n]) >= WHOLE_TURN)
            return _Runs(runs.first[:n], runs.last[:n], runs.height[:n], runs.path[:n], spiral)
        room = -n


def _floor(found: list[_Layer], base: int) -> float:
    """Return the height of the object's first layer; a priming line below it, much shorter than it, does not count."""
    first, second = found[base], found[base + 1]
    return (
        second.height
        if first.path < 0.5 * second.path and second.height < 2.0 * first.height
        else first.height
    )


def _layers_by_height(moves: Moves, runs: _Runs) -> list[_Layer]:
    found: list[_Layer] = []
    base = 0  # index of the first layer of the object being printed
    for first, last, height, path, spiral in zip(
        runs.first.tolist(), runs.last.tolist(), runs.height.tolist(), runs.path.tolist(), runs.spiral.tolist(),
        strict=True,
    ):  # fmt: skip
        if spiral:
            rise = _rise_of(moves, first, last)
            turns = _turns(moves, rise, last)
            if rise == first or not _is_layer(moves, first, rise, turns, last):
                found.extend(_turns(moves, first, last))
                continue
            height = float(moves.z_mm[first])
            if found and abs(found[-1].height - height) <= FLAT_MM:
                found[-1].path += path
            else:
                found.append(_Layer(first, height, path))
            found.extend(turns)
            continue
        if not found:
            found.append(_Layer(first, height, path))
            continue
        while (
            len(found) > base + 1
            and height < found[-1].height - FLAT_MM
            and height >= found[-2].height - FLAT_MM
            and found[-1].path < SPIKE_SHARE * found[-2].path
            and not found[-1].spiral
        ):
            spike = found.pop()
            found[-1].path += spike.path
        top = found[-1]
        if height > top.height + FLAT_MM:
            found.append(_Layer(first, height, path))
        elif (
            height < top.height - FLAT_MM
            and len(found) > base + 1
            and height <= _floor(found, base) + FLAT_MM
        ):
            base = len(found)
            found.append(_Layer(first, height, path))
        elif height < top.height - FLAT_MM and len(found) == base + 1:
            base = len(found)  # a priming line had a height of its own
            found.append(_Layer(first, height, path))
        else:
            top.path += path
    return found


def _rise_of(moves: Moves, first: int, last: int) -> int:
    """Return the first bead of a spiral run that lies higher than the run's first."""
    rows = first + np.flatnonzero(moves.kind[first : last + 1] == BEAD)
    above = np.flatnonzero(moves.z_mm[rows] > moves.z_mm[first] + FLAT_MM)
    return int(rows[above[0]]) if len(above) else first


def _is_layer(moves: Moves, first: int, rise: int, turns: list[_Layer], last: int) -> bool:
    """Whether the flat beads before a spiral's rise are a layer of their own: a floor, not some rounded heights."""
    until = turns[1].first if len(turns) > 1 else last + 1
    lead, turn = (_path(moves, a, b) for a, b in ((first, rise), (rise, until)))
    return lead >= LEAD_SHARE * turn


def _path(moves: Moves, first: int, end: int) -> float:
    own = moves.kind[first:end] == BEAD
    return float(moves.length_mm[first:end][own].sum(dtype=np.float64))


def _turns(moves: Moves, first: int, last: int) -> list[_Layer]:
    """Cut one spiral run into turns, each where its direction has for the first time come round once more.

    A notch or a rib in the outline turns the direction to and fro by up to a whole turn and more: what counts is how
    far it has come in all, not each crossing of a whole turn. What is left behind the last whole turn joins it when it
    is less than half a turn.
    """
    rows = first + np.flatnonzero(moves.kind[first : last + 1] == BEAD)
    before = np.maximum(rows - 1, 0)
    dx = moves.x_mm[rows].astype(np.float64) - moves.x_mm[before]
    dy = moves.y_mm[rows].astype(np.float64) - moves.y_mm[before]
    moved = np.flatnonzero(np.hypot(dx, dy) > STILL_MM)
    step = np.diff(np.arctan2(dy[moved], dx[moved]), prepend=0.0)
    step[:1] = 0.0
    turned = np.cumsum(np.arctan2(np.sin(step), np.cos(step)))
    come = np.maximum.accumulate(turned if not len(turned) or turned[-1] >= 0.0 else -turned) / (2.0 * np.pi)
    whole = np.floor(come + 1e-6)
    begins = np.concatenate([[0], moved[np.flatnonzero(np.diff(whole, prepend=0.0) > 0.0)]])
    if len(begins) > 1 and come[-1] - whole[-1] < 0.5:
        begins = begins[:-1]
    tops = np.maximum.reduceat(moves.z_mm[rows], begins)
    return [
        _Layer(int(start), float(top), 0.0, spiral=True)
        for start, top in zip(rows[begins].tolist(), tops.tolist(), strict=True)
    ]


def _layers_by_marks(runs: _Runs, starts: I32) -> tuple[list[_Layer], float]:
    """Make one layer of each stretch between marks that holds beads; its height is where most of them lie.

    Returns also the share of the beads' path that lies in the longest run of its stretch.
    """
    stretch = np.searchsorted(starts, runs.first, side="right") - 1
    inside = np.flatnonzero(stretch >= 0)
    if not len(inside):
        return [], 0.0
    heights = _path_by_height(runs, stretch, inside)
    firsts = inside[np.flatnonzero(np.diff(stretch[inside], prepend=-1))]
    found: list[_Layer] = []
    main = 0.0
    for first in firsts.tolist():
        run, path, total = heights[int(stretch[first])]
        main += path
        height, spiral = float(runs.height[run]), bool(runs.spiral[run])
        if found and not spiral and not found[-1].spiral and abs(height - found[-1].height) <= FLAT_MM:
            found[-1].path += total
        else:
            found.append(_Layer(int(runs.first[first]), height, total, spiral))
    return found, main / max(1e-9, float(runs.path[inside].sum()))


def _path_by_height(
    runs: _Runs, stretch: npt.NDArray[np.intp], inside: npt.NDArray[np.intp]
) -> dict[int, tuple[int, float, float]]:
    """Return of each stretch a run at its main height, the path at that height, and the path in all."""
    level = np.round(runs.height[inside] / (2.0 * FLAT_MM)).astype(np.int64)
    order = np.lexsort((level, stretch[inside]))
    of, at, rows = stretch[inside][order], level[order], inside[order]
    begins = np.flatnonzero(np.diff(of, prepend=-1).astype(bool) | np.diff(at, prepend=-(2**62)).astype(bool))
    paths = np.add.reduceat(runs.path[rows], begins)
    found: dict[int, tuple[int, float, float]] = {}
    for begin, path in zip(begins.tolist(), paths.tolist(), strict=True):
        k = int(of[begin])
        run, best, total = found.get(k, (-1, -1.0, 0.0))
        found[k] = (int(rows[begin]), path, total + path) if path > best else (run, best, total + path)
    return found


def _without_purge(moves: Moves, layers: list[_Layer]) -> list[_Layer]:
    """Leave out what is fed before the part, in programs without layer marks.

    A priming line may have a height of its own, above or below the first layer's. Leading chains of beads count as
    purge when they are line-like (a box narrower than 3 mm, longer than 20 mm, of few beads) and lie outside of what
    follows (common practice, no source).
    """
    while len(layers) > 1:
        begin, end = layers[0].first, layers[1].first
        until = layers[2].first if len(layers) > 2 else len(moves)
        lines = _after_lines(moves, begin, end, until) >= end
        falls = layers[0].height > layers[1].height + FLAT_MM and layers[0].path < layers[1].path
        if not (falls or lines):
            break
        layers = layers[1:]
    if not layers:
        return layers
    begin = layers[0].first
    end = layers[1].first if len(layers) > 1 else len(moves)
    first_bead = _after_lines(moves, begin, end, end)
    if first_bead < end:
        layers = [_Layer(first_bead, layers[0].height, layers[0].path, layers[0].spiral), *layers[1:]]
    return layers


def _after_lines(moves: Moves, begin: int, end: int, until: int) -> int:
    """Return the first bead of moves begin .. end - 1 behind leading line-like chains; `end` when all are such.

    A chain must lie apart from all beads behind it, up to move `until`.
    """
    rows = begin + np.flatnonzero(moves.kind[begin:end] == BEAD)
    following = begin + np.flatnonzero(moves.kind[begin:until] == BEAD)
    leading = rows[: PURGE_CHAINS * PURGE_BEADS + 1]
    if not len(leading):
        return begin
    x, y = moves.x_mm, moves.y_mm
    chain = np.cumsum(_breaks(moves, leading))
    at = 0
    for number in range(1, min(PURGE_CHAINS, int(chain[-1])) + 1):
        part = leading[chain == number]
        rest = following[np.searchsorted(following, part[-1], side="right") :]
        if len(part) > PURGE_BEADS or not len(rest):
            break
        ends = np.append(max(part[0] - 1, 0), part)
        px, py = x[ends], y[ends]
        sides = sorted((float(np.ptp(px)), float(np.ptp(py))))
        apart = max(
            float(x[rest].min() - px.max()), float(px.min() - x[rest].max()),
            float(y[rest].min() - py.max()), float(py.min() - y[rest].max()),
        )  # fmt: skip
        if not (
            sides[0] < 3.0 and sides[1] > 20.0 and (apart > PURGE_GAP_MM or _is_leading(moves, part, rest))
        ):
            break
        at += len(part)
    return int(rows[at]) if at < len(rows) else end


def _is_leading(moves: Moves, part: npt.NDArray[np.intp], rest: npt.NDArray[np.intp]) -> bool:
    """Whether a chain is followed by another line of the purge close by: what comes behind both lies apart."""
    x, y = moves.x_mm, moves.y_mm
    chain = np.cumsum(_breaks(moves, rest[: PURGE_BEADS + 1]))
    behind = rest[int(np.count_nonzero(chain == 1)) :]
    if not len(behind) or int(np.count_nonzero(chain == 1)) > PURGE_BEADS:
        return False
    px, py = x[np.append(part, rest[0])], y[np.append(part, rest[0])]
    return bool(
        max(
            float(x[behind].min() - px.max()), float(px.min() - x[behind].max()),
            float(y[behind].min() - py.max()), float(py.min() - y[behind].max()),
        ) > PURGE_GAP_MM
    )  # fmt: skip


def _breaks(moves: Moves, rows: npt.NDArray[np.intp]) -> npt.NDArray[np.bool_]:
    """Tell of each bead whether the nozzle went elsewhere since the bead before it."""
    start_x, start_y = moves.x_mm[np.maximum(rows - 1, 0)], moves.y_mm[np.maximum(rows - 1, 0)]
    gap = np.hypot(start_x[1:] - moves.x_mm[rows[:-1]], start_y[1:] - moves.y_mm[rows[:-1]])
    return np.concatenate([[True], gap > 0.05])


def _finish(moves: Moves, layers: list[_Layer], starts: I32) -> Layers:
    n = len(layers)
    height = np.array([layer.height for layer in layers])
    first_bead = np.array([layer.first for layer in layers], np.int64)
    beads = np.flatnonzero(moves.kind == BEAD) if n else np.zeros(0, np.intp)
    first_move = np.empty(n + 1, np.int32)
    before = np.searchsorted(beads, first_bead) - 1
    after_last = np.where(before >= 0, beads[np.maximum(before, 0)] + 1, 0) if n else first_bead
    first_move[:n] = after_last
    if n and before[0] < 0 and not len(starts):
        first_move[0] = first_bead[0]
    if len(starts) and n:
        mark = starts[np.searchsorted(starts, first_bead, side="right") - 1]
        first_move[:n] = np.maximum(mark, after_last)
    first_move[n] = beads[-1] + 1 if n else len(moves)
    new_object = np.zeros(n, np.bool_)
    if n:
        new_object[0] = True
        falls = np.flatnonzero(np.diff(height) < -FLAT_MM) + 1
        new_object[falls] = _back_to_first(height, falls)
    objects = (np.cumsum(new_object) - 1).astype(np.int32)
    thickness = np.diff(height, prepend=0.0)
    thickness[new_object] = height[new_object]
    usual = float(np.median(thickness[thickness > FLAT_MM])) if (thickness > FLAT_MM).any() else 0.2
    rest_on_own_series(moves, first_move, height, new_object, usual, thickness)
    thickness = np.where(thickness > FLAT_MM, thickness, usual)
    spiral = np.array([layer.spiral for layer in layers], np.bool_)
    for array in (first_move, height, thickness, objects, new_object, spiral):
        array.flags.writeable = False
    return Layers(first_move, height, thickness, objects, new_object, spiral)


def _back_to_first(height: F64, falls: npt.NDArray[np.intp]) -> npt.NDArray[np.bool_]:
    """Tell of each fall of height whether it comes down to where the object before began."""
    result = np.zeros(len(falls), np.bool_)
    base = 0
    for k, at in enumerate(falls.tolist()):
        thick = height[min(base + 1, len(height) - 1)] - height[base]
        if height[at] <= height[base] + max(FLAT_MM, 0.6 * abs(thick)) and at > base:
            result[k] = True
            base = at
    return result
