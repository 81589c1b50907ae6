"""The beads' spacing: programs laid by hand with known spacing, and the kernel against shapely."""

from __future__ import annotations

import math
import time
from collections.abc import Sequence
from itertools import pairwise

import numpy as np
import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st

from viewer.arrays import read_only
from viewer.jit import compiler_is_off
from viewer.layers.kernels import gaps as k
from viewer.layers.layers import Layers
from viewer.layers.spacing import NO_SPACING, Spacing, measure_spacing
from viewer.read.moves import BEAD, TRAVEL, Moves

THICK = 0.2
Line = tuple[tuple[float, float], tuple[float, float]]


def moves_of(layers: Sequence[Sequence[Line]], fed_per_mm: float = 0.03) -> tuple[Moves, Layers]:
    """Lay lines one by one, with travel between."""
    rows: list[tuple[float, float, float, int]] = []
    begins = [0]
    for number, lines in enumerate(layers, 1):
        for (ax, ay), (bx, by) in lines:
            rows += [(ax, ay, number * THICK, TRAVEL), (bx, by, number * THICK, BEAD)]
        begins.append(len(rows))
    x, y, z, kind = (np.array(column) for column in zip(*rows, strict=True))
    length = np.hypot(np.diff(x, prepend=0.0), np.diff(y, prepend=0.0))
    f32 = lambda column: read_only(np.asarray(column, np.float32))  # noqa: E731
    moves = Moves(
        x_mm=f32(x), y_mm=f32(y), z_mm=f32(z), length_mm=f32(length),
        fed_mm=f32(np.where(kind == BEAD, length * fed_per_mm, 0.0)), speed_mm_s=f32(np.full(len(x), 40.0)),
        line=read_only(np.arange(1, len(x) + 1, dtype=np.int32)), kind=read_only(kind.astype(np.uint8)),
    )  # fmt: skip
    count = len(layers)
    return moves, Layers(
        first_move=np.array(begins, np.int32), height_mm=THICK * np.arange(1.0, count + 1),
        thickness_mm=np.full(count, THICK),
        object=np.zeros(count, np.int32), is_first=np.arange(count) == 0, spiral=np.zeros(count, np.bool_),
    )  # fmt: skip


def fill(
    spacing: float, angle_deg: float = 0.0, count: int = 30, long: float = 20.0, low: float = 0.0
) -> list[Line]:
    """Parallel lines about (100, 100)."""
    cos, sin = math.cos(math.radians(angle_deg)), math.sin(math.radians(angle_deg))

    def at(u: float, v: float) -> tuple[float, float]:
        return 100.0 + u * cos - v * sin, 100.0 + u * sin + v * cos

    return [(at(0.0, low + row * spacing), at(long, low + row * spacing)) for row in range(count)]


def measured(*layers: Sequence[Line], fed_per_mm: float = 0.03) -> Spacing:
    return measure_spacing(*moves_of(layers, fed_per_mm))


@pytest.mark.parametrize("angle_deg", [0.0, 17.0, 45.0, 90.0, 133.0, 270.0])
@pytest.mark.parametrize("spacing", [0.22, 0.41, 0.79, 1.5])
def test_lines_of_known_spacing(spacing: float, angle_deg: float) -> None:
    found = measured(*[fill(spacing, angle_deg)] * 3)
    assert found.distance_mm == pytest.approx(spacing, abs=0.001)
    assert found.share > 0.95 and found.layers == 3 and found.is_sure
    assert found.thickness_mm == pytest.approx(THICK)


def test_space_and_filament_agree_where_the_diameter_is_right() -> None:
    # A = s t; filament of 1.75 mm has 2.4053 mm2 (pi d^2/4)
    found = measured(*[fill(0.41, 30.0)] * 3, fed_per_mm=0.41 * THICK / 2.4053)
    assert found.fill_ratio(2.4053) == pytest.approx(1.0, abs=0.005)
    assert found.fill_ratio(math.pi * 2.85**2 / 4) == pytest.approx((1.75 / 2.85) ** 2, abs=0.005)
    # w = s + t (1 - pi/4): the oblong section of this area
    assert found.width_mm == pytest.approx(0.41 + 0.2 * (1.0 - math.pi / 4), abs=0.002)
    assert measured(fill(0.41), fed_per_mm=0.0).fill_ratio(2.4053) == math.inf


def test_loops_within_one_another() -> None:
    turn = np.linspace(0.0, 2.0 * math.pi, 65)
    rings = [np.column_stack([100 + r * np.cos(turn), 100 + r * np.sin(turn)]) for r in (10.0, 9.55, 9.1)]
    loops: list[Line] = [
        ((float(a[0]), float(a[1])), (float(b[0]), float(b[1]))) for ring in rings for a, b in pairwise(ring)
    ]
    assert measured(*[loops] * 4).distance_mm == pytest.approx(0.45, abs=0.005)


def test_sparse_infill_does_not_count_where_walls_touch() -> None:
    walls = [*fill(0.4, 0.0, 2, 30.0), *fill(0.4, 0.0, 2, 30.0, low=20.0)]
    sparse = fill(1.6, 45.0, 12, 20.0, low=2.0)
    found = measured(*[[*walls, *sparse]] * 6)
    assert found.distance_mm == pytest.approx(0.4, abs=0.001)
    assert 0.2 < found.share < 0.5


def test_a_few_overlaps_do_not_count() -> None:
    found = measured(*[[*fill(0.5, 0.0, 30), *fill(0.24, 0.0, 2, 10.0, low=40.0)]] * 6)
    assert found.distance_mm == pytest.approx(0.5, abs=0.001)


def test_a_narrow_spacing_of_one_layer_does_not_count() -> None:
    found = measured(*[fill(0.9)] * 11, fill(0.3, 0.0, 90))
    assert found.distance_mm == pytest.approx(0.9, abs=0.001)


def test_where_nothing_lies_beside() -> None:
    assert not measured([((0.0, 0.0), (30.0, 0.0))]).is_known
    assert not measured(fill(2.5)).is_known
    assert not measured(fill(0.01, 0.0, 2)).is_known  # one line drawn twice
    crossed = [*fill(5.0, 0.0, 4), *fill(5.0, 90.0, 4)]
    assert not measured(crossed).is_known
    assert not NO_SPACING.is_sure


def test_no_layers_and_broken_numbers() -> None:
    moves, _ = moves_of([fill(0.4)])
    none = Layers(
        first_move=np.zeros(1, np.int32), height_mm=np.zeros(0), thickness_mm=np.zeros(0),
        object=np.zeros(0, np.int32), is_first=np.zeros(0, np.bool_), spiral=np.zeros(0, np.bool_),
    )  # fmt: skip
    assert measure_spacing(moves, none) is NO_SPACING
    far = [((-3e8, 7.0), (3e8, 7.1)), *fill(0.4), ((5e5, 5e5), (5e5, 5e5))]
    found = measured(far, far)
    assert not found.is_known  # all places lie on the line that a broken number makes


def nearest(lines: Sequence[Line], own: int, share: float) -> float:
    """The twin: cut the line square to a bead with all others, and take the nearest parallel one."""
    (ax, ay), (bx, by) = lines[own]
    length = math.hypot(bx - ax, by - ay)
    ux, uy = (bx - ax) / length, (by - ay) / length
    px, py = ax + share * (bx - ax), ay + share * (by - ay)
    across = shapely.LineString([(px - 2 * uy, py + 2 * ux), (px + 2 * uy, py - 2 * ux)])
    best = math.inf
    for number, (c, d) in enumerate(lines):
        other = math.hypot(d[0] - c[0], d[1] - c[1])
        sine = abs(ux * (d[1] - c[1]) - uy * (d[0] - c[0])) / other
        if number == own or sine > 0.2:
            continue
        met = across.intersection(shapely.LineString([c, d]))
        if not met.is_empty and (away := met.distance(shapely.Point(px, py))) > k.NEAREST_MM:
            best = min(best, away)
    return best


@given(st.integers(0, 2**32 - 1))
def test_the_kernel_against_shapely(seed: int) -> None:
    rng = np.random.default_rng(seed)
    count = int(rng.integers(2, 12))
    middle, angle = (
        rng.uniform(-2.0, 2.0, (count, 2)),
        rng.choice([0.0, 0.1, 1.3], count) + rng.normal(0, 0.05, count),
    )
    half = rng.uniform(0.3, 5.0, count)
    lines: list[Line] = []
    for (x, y), a, r in zip(middle.tolist(), angle.tolist(), half.tolist(), strict=True):
        dx, dy = r * math.cos(a), r * math.sin(a)
        lines.append(
            (
                (float(np.float32(x - dx)), float(np.float32(y - dy))),
                (float(np.float32(x + dx)), float(np.float32(y + dy))),
            )
        )
    moves, _ = moves_of([lines])
    room = np.empty(64, np.int32), np.empty(400, np.int32), np.empty(400, np.int32)
    found = np.empty((200, 2))
    columns = [read_only(c) for c in (moves.kind, moves.x_mm, moves.y_mm, moves.length_mm, moves.fed_mm)]
    step = 0.7
    done = k.measure_gaps(*columns, 0, len(moves), step, *room, found)
    expected, at = [], 0.5 * step
    for own, ((ax, ay), (bx, by)) in enumerate(lines):
        length = math.hypot(bx - ax, by - ay)
        while at < length:
            expected.append(nearest(lines, own, at / length))
            at += step
        at -= length
    assert done == len(expected)
    np.testing.assert_allclose(found[:done, 0], expected, atol=1e-4)


@pytest.mark.skipif(compiler_is_off(), reason="needs the compiler: it takes the time of machine code")
def test_beads_piled_up_take_bounded_time() -> None:
    pile = [((100.0, 100.0 + 1e-4 * row), (100.5, 100.0 + 1e-4 * row)) for row in range(20_000)]
    moves, layers = moves_of([pile] * 24)
    begin = time.perf_counter()
    measure_spacing(moves, layers)
    assert time.perf_counter() - begin < 5.0
