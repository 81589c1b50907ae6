"""The path over the map of heights: against a slow twin, and scenes whose answer is known in closed form."""

from __future__ import annotations

import math

import numpy as np
import pytest

from viewer.arrays import read_only
from viewer.cards.printer import Head
from viewer.shape.path import head as h
from viewer.shape.path import heights as m
from viewer.shape.path.kernels import heights as k

FILAMENT_MM2 = 2.4
CELL = 0.2
Scene = tuple[k.Moves, k.Layers, np.ndarray]


def scene(seed: int, count: int = 60) -> Scene:
    """Random moves on 8 mm, of three layers of random thickness, each of which does random things."""
    rng = np.random.default_rng(seed)
    x, y, z = (rng.uniform(0.0, 8.0, count).astype(np.float32) for _ in range(3))
    flat = rng.random(count) < 0.5
    z[1:] = np.where(flat[1:], z[:-1], z[1:])  # half of them level
    x[1:] = np.where(rng.random(count - 1) < 0.2, x[:-1], x[1:])  # some along Y, some straight up or down
    y[1:] = np.where(rng.random(count - 1) < 0.2, y[:-1], y[1:])
    start = np.concatenate([[(0.0, 0.0, 0.0)], np.column_stack([x, y, z])[:-1]])
    length = np.linalg.norm(np.column_stack([x, y, z]) - start, axis=1)
    fed = (length * rng.uniform(0.01, 0.2, count)).astype(np.float32)
    todo = rng.choice([0, k.PATH, k.END, k.LAY, k.PATH | k.LAY], count).astype(np.uint8)
    todo[length == 0.0] = 0
    moves = k.Moves(*(read_only(one) for one in (x, y, z, length.astype(np.float32), fed)))
    first = np.array([0, count // 3, 2 * count // 3, count], np.int32)
    return moves, k.Layers(read_only(first), read_only(rng.uniform(0.1, 0.3, 3))), todo


def ends(moves: k.Moves, i: int) -> tuple[tuple[float, ...], tuple[float, ...]]:
    columns = (moves.x_mm, moves.y_mm, moves.z_mm)
    begin = (0.0, 0.0, 0.0) if i == 0 else tuple(float(one[i - 1]) for one in columns)
    return begin, tuple(float(one[i]) for one in columns)


def top_by_hand(
    moves: k.Moves, layers: k.Layers, laid: list[int], place: tuple[float, float], widest: float
) -> float:
    """The highest bead over a place, bead by bead; -inf where none lies."""
    highest = -math.inf
    for i in laid:
        a, b = ends(moves, i)
        row = int(np.searchsorted(layers.first_move, i, side="right")) - 1
        width = min(
            float(moves.fed_mm[i])
            * FILAMENT_MM2
            / float(moves.length_mm[i])
            / float(layers.thickness_mm[row]),
            widest,
        )
        ab = (b[0] - a[0], b[1] - a[1])
        square = ab[0] ** 2 + ab[1] ** 2
        t = 0.0 if square == 0.0 else ((place[0] - a[0]) * ab[0] + (place[1] - a[1]) * ab[1]) / square
        t = min(max(t, 0.0), 1.0)
        away = math.dist(place, (a[0] + t * ab[0], a[1] + t * ab[1]))
        if away <= 0.5 * max(width, CELL):
            highest = max(highest, a[2] + t * (b[2] - a[2]))
    return highest


def by_hand(
    moves: k.Moves, layers: k.Layers, todo: np.ndarray, raised: float, tolerance: float, widest: float
):  # type: ignore[no-untyped-def]
    """What each compared move meets: move, depth, length in it."""
    laid: list[int] = []
    for i in range(len(todo)):
        a, b = ends(moves, i)
        length = math.dist(a, b)
        if todo[i] & (k.PATH | k.END):
            steps = max(math.ceil(2.0 * length / CELL), 1)
            shares = [1.0] if todo[i] & k.END else [(s + 1) / steps for s in range(steps)]
            depths = []
            for t in shares:
                x, y, z = (p + t * (q - p) for p, q in zip(a, b, strict=True))
                centre = (
                    (math.floor((x + 1.0) / CELL) + 0.5) * CELL - 1.0,
                    (math.floor((y + 1.0) / CELL) + 0.5) * CELL - 1.0,
                )
                depths.append(top_by_hand(moves, layers, laid, centre, widest) - z - raised)
            deep = [one for one in depths if one > tolerance]
            if deep:
                yield i, max(deep), 0.0 if todo[i] & k.END else len(deep) * length / steps
        if todo[i] & k.LAY:
            laid.append(i)


@pytest.mark.parametrize("seed", range(6))
def test_the_kernel_and_its_slow_twin_meet_the_same(seed: int) -> None:
    moves, layers, todo = scene(seed)
    raised, tolerance, widest = 0.3 * (seed % 2), 0.4, 0.9
    heights = m._empty_map(-1.0, -1.0, CELL, (50, 50))
    hits = m.make_hits()
    count = k.follow(
        moves, layers, read_only(todo), (0, len(todo)), heights, raised, tolerance, FILAMENT_MM2, widest, hits
    )
    expected = list(by_hand(moves, layers, todo, raised, tolerance, widest))
    assert len(expected) > 5
    assert hits.move[:count].tolist() == [one[0] for one in expected]
    assert hits.depth_mm[:count] == pytest.approx([one[1] for one in expected], abs=1e-5)
    assert hits.length_mm[:count] == pytest.approx([one[2] for one in expected], abs=1e-5)


def test_hits_beyond_the_capacity_are_counted_only() -> None:
    moves, layers, todo = scene(1)
    small = k.Hits(*(column[:3] for column in m.make_hits()))
    heights = m._empty_map(-1.0, -1.0, CELL, (50, 50))
    count = k.follow(
        moves, layers, read_only(todo), (0, len(todo)), heights, 0.0, 0.4, FILAMENT_MM2, 0.9, small
    )
    assert count == len(list(by_hand(moves, layers, todo, 0.0, 0.4, 0.9)))
    assert small.move[:2].tolist() == [one[0] for one in by_hand(moves, layers, todo, 0.0, 0.4, 0.9)][:2]


@pytest.mark.parametrize(("after", "before"), [(0, 0), (1, 0), (0, 3), (2, 5), (7, 4), (30, 30)])
@pytest.mark.parametrize("axis", [0, 1])
def test_the_highest_of_a_window(after: int, before: int, axis: int) -> None:
    tops = np.random.default_rng(3).normal(size=(9, 11)).astype(np.float32)
    found = h._running_max(tops, after, before, axis)
    assert found.shape == tops.shape
    for i in range(tops.shape[axis]):
        window = np.take(tops, range(max(i - before, 0), min(i + after + 1, tops.shape[axis])), axis=axis)
        assert np.take(found, i, axis=axis) == pytest.approx(window.max(axis=axis))


def test_a_map_is_widened_to_where_the_nozzle_stands_when_the_head_covers_a_cell() -> None:
    heights = m._empty_map(10.0, 20.0, 1.0, (4, 5))
    heights.top_mm[2, 3] = 7.0
    wide = h._widened(heights, (6, 1, 2, 3))  # left, right, front, back
    i, j = np.nonzero(wide.top_mm == 7.0)
    x, y = wide.place[0] + j + 0.5, wide.place[1] + i + 0.5
    # the cell's centre is at 13.5, 22.5: to the head's right edge 1, to its left edge 6, and so on
    assert (x.min(), x.max()) == (12.5, 19.5)
    assert (y.min(), y.max()) == (19.5, 24.5)


def test_a_head_without_all_four_sides_has_no_outline() -> None:
    assert not Head(left_mm=1.0, right_mm=1.0, front_mm=1.0).has_outline
    assert Head(left_mm=0.0, right_mm=1.0, front_mm=1.0, back_mm=1.0).has_outline
