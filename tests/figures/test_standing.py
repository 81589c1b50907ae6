"""Standing against statics (any textbook): a body topples when its centre of mass leaves its foot."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
import pytest
import shapely

from tests.beads.by_hand import Point, Run, hatching, program_of, rectangle
from viewer.beads.section import add_moments
from viewer.figures.first_layer import first_layer
from viewer.figures.standing import Standing, least_standing, standing, tilt_angle
from viewer.jit import compiler_is_off
from viewer.layers.layers import HOLD, PURGE
from viewer.read.moves import BEAD

pytestmark = pytest.mark.skipif(compiler_is_off(), reason="the first layer's grid needs the compiler")


def piled(paths: Sequence[Sequence[Point]], count: int, below: Sequence[Run] = (), **more: int) -> list[Run]:
    """Return a body of the same layers of 0.2 mm, on what lies below in the first of them."""
    up = [Run(path, top=0.2 * (k + 1), **more) for k in range(count) for path in paths]
    return [*below, *up]


def stands(runs: list[Run]) -> tuple[Standing, ...]:
    moves, layers, roles = program_of(runs)
    return standing(moves, layers, roles, first_layer(moves, layers, roles))


def circle(radius: float, corners: int = 90) -> list[Point]:
    turn = np.linspace(0, 2 * np.pi, corners + 1)
    return [(100 + radius * math.cos(a), 80 + radius * math.sin(a)) for a in turn]


@pytest.mark.parametrize(("radius", "count"), [(8.0, 50), (3.2, 200)])
def test_a_cylinder_topples_at_2r_over_h(radius: float, count: int) -> None:
    rings = [circle(0.2 + 0.4 * k) for k in range(round(radius / 0.4))]
    (got,) = stands(piled(rings, count))
    height = 0.2 * count
    assert got.centre_mm == pytest.approx((100, 80, height / 2), abs=1e-3)
    assert got.tilt_deg == pytest.approx(math.degrees(math.atan(2 * radius / height)), rel=2e-3)
    assert got.tilt_held_deg == got.tilt_deg


def test_a_box_topples_over_its_shorter_side() -> None:
    # the lines' round ends add half a bead on either side: 30.4 x 8 x 20
    (got,) = stands(piled(hatching(10, 10, 30, 8, 0.4), 100))
    assert got.centre_mm == pytest.approx((25, 14, 10), abs=1e-3)
    assert got.tilt_deg == pytest.approx(math.degrees(math.atan(4 / 10)), abs=0.01)


def test_an_angle_piece_against_shapely() -> None:
    # an L: its centre of mass lies off the middle of its hull
    flat, upright = hatching(0, 0, 40, 8, 0.4), hatching(0, 8, 10, 24, 0.4)
    (got,) = stands(piled([*flat, *upright], 60))
    area = shapely.union(shapely.box(0, 0, 40, 8), shapely.box(0, 8, 10, 32))
    assert got.centre_mm == pytest.approx((area.centroid.x, area.centroid.y, 6.0), abs=0.01)
    foot = shapely.union_all([shapely.LineString(p).buffer(0.2) for p in [*flat, *upright]]).convex_hull
    reach = foot.exterior.distance(shapely.Point(area.centroid.x, area.centroid.y))
    assert got.tilt_deg == pytest.approx(math.degrees(math.atan(reach / 6.0)), abs=0.05)


def test_what_leans_too_far_falls_by_itself() -> None:
    foot = [Run(path) for path in hatching(0, 0, 10, 4, 0.4)]
    arm = [Run(path, top=0.4) for path in hatching(0, 0, 60, 4, 0.4)]
    (got,) = stands([*foot, *arm])
    assert got.centre_mm[0] > 10.2
    assert got.tilt_deg == 0.0


def test_a_brim_widens_the_foot_and_weighs_nothing() -> None:
    post = hatching(10, 10, 4, 4, 0.4)
    brim = [
        Run(rectangle(9.8 - 0.4 * k, 9.8 - 0.4 * k, 4.4 + 0.8 * k, 4.4 + 0.8 * k), role=HOLD)
        for k in range(10)
    ]
    (bare,) = stands(piled(post, 150))
    (held,) = stands(piled(post, 150, below=brim))
    assert held.centre_mm == pytest.approx(bare.centre_mm, abs=1e-6)
    assert held.tilt_deg == pytest.approx(bare.tilt_deg, abs=1e-6)
    assert held.tilt_held_deg == pytest.approx(math.degrees(math.atan((2.2 + 3.6 + 0.2) / 15)), abs=0.02)


def test_on_a_raft_the_raft_is_the_foot() -> None:
    raft = [Run(path, role=HOLD) for path in hatching(0, 0, 20, 20, 0.4)]
    body = [Run(path, top=0.4) for path in hatching(8, 8, 4, 4, 0.4)]
    (got,) = stands([*raft, *body])
    assert got.tilt_deg == got.tilt_held_deg == pytest.approx(math.degrees(math.atan(10 / 0.3)), abs=0.05)


def test_each_object_stands_for_itself() -> None:
    low, tall = hatching(0, 0, 10, 10, 0.4), hatching(50, 0, 10, 2, 0.4)
    both = stands([*piled(low, 5), *piled(tall, 50, object=1)])
    assert [one.object for one in both] == [0, 1]
    assert both[1].tilt_deg == pytest.approx(math.degrees(math.atan(1 / 5)), abs=0.02)
    assert least_standing(both) is both[1]
    assert least_standing(()) is None


def test_purge_alone_stands_nowhere() -> None:
    assert stands([Run([(0, 0), (9, 0)], role=PURGE)]) == ()


def test_moments_against_plain_sums() -> None:
    rng = np.random.default_rng(8)
    runs = [
        Run(
            [(float(x), float(y)) for x, y in rng.uniform(0, 200, (9, 2))],
            top=0.2 * (k % 12 + 1), object=k // 12, role=int(rng.integers(0, 9)),
            width=float(rng.uniform(0.3, 0.9)),
        )
        for k in range(36)
    ]  # fmt: skip
    moves, layers, roles = program_of(runs, prelude=[Run([(0, 0), (99, 0)])])
    want = [[0.0] * 4 for _ in range(3)]
    for k in range(len(layers)):
        for i in range(layers.first_move[k], layers.first_move[k + 1]):
            if moves.kind[i] != BEAD or roles[i] in (HOLD, PURGE):
                continue
            mass, (x, y, z) = float(moves.fed_mm[i]), moves.start_xyz(i)
            middle = ((x + float(moves.x_mm[i])) / 2, (y + float(moves.y_mm[i])) / 2, z - 0.1)
            for column, factor in enumerate((1.0, *middle)):
                want[int(layers.object[k])][column] += mass * factor
    assert add_moments(moves, layers, roles) == pytest.approx(np.array(want), rel=1e-6)


@pytest.mark.parametrize(
    ("x", "y", "height", "angle"),
    [
        (5, 5, 5, 45.0),
        (1, 5, 1, 45.0),
        (9, 5, math.sqrt(3), 30.0),
        (10, 5, 3, 0.0),
        (12, 5, 3, 0.0),
        (5, 5, 0, 90.0),
    ],
)
def test_tilt_over_a_square(x: float, y: float, height: float, angle: float) -> None:
    square = np.array([[0.0, 0.0], [10.0, 0.0], [10.0, 10.0], [0.0, 10.0]])
    assert tilt_angle(square, x, y, height) == pytest.approx(angle)


def by_layer(*bodies: tuple[list[list[Point]], int]) -> list[Run]:
    """Return bodies printed together, layer by layer: the paths of a layer, and how many layers high it is."""
    most = max(count for _, count in bodies)
    return [
        Run(path, top=0.2 * (k + 1))
        for k in range(most)
        for paths, count in bodies
        if k < count
        for path in paths
    ]


TOWER = (hatching(10, 10, 4, 4, 0.4), 120)
SLAB = (hatching(30, 10, 40, 30, 0.4), 10)


def test_parts_printed_together_topple_each_for_itself() -> None:
    alone = {}
    for name, body in (("tower", TOWER), ("slab", SLAB)):
        (alone[name],) = stands(by_layer(body))
    both = stands(by_layer(TOWER, SLAB))
    assert len(both) == 2
    tower, slab = sorted(both, key=lambda one: one.tilt_deg)
    for got, expected in ((tower, alone["tower"]), (slab, alone["slab"])):
        assert got.centre_mm == pytest.approx(expected.centre_mm, abs=1e-3)
        assert got.tilt_deg == pytest.approx(expected.tilt_deg, abs=1e-6)
        assert got.top_mm == pytest.approx(expected.top_mm, abs=1e-5)
    assert tower.tilt_deg == pytest.approx(math.degrees(math.atan(2.0 / 12.0)), rel=0.02)  # 4 x 4 x 24 mm
    assert least_standing(both) is tower


def test_parts_that_an_arch_joins_are_one_body() -> None:
    legs = [*hatching(10, 10, 4, 4, 0.4), *hatching(40, 10, 4, 4, 0.4)]
    arch = hatching(10, 10, 34, 4, 0.4)
    runs = [Run(path, top=0.2 * (k + 1)) for k in range(30) for path in (legs if k < 25 else arch)]
    (got,) = stands(runs)
    assert got.foot.part_xy_mm[:, 0].max() - got.foot.part_xy_mm[:, 0].min() == pytest.approx(34.4, abs=0.01)
    assert got.centre_mm[:2] == pytest.approx((27, 12), abs=0.05)


def test_many_dots_are_taken_as_one_body() -> None:
    dots = [[(2.0 * k, 2.0 * row), (2.0 * k + 0.4, 2.0 * row)] for k in range(20) for row in range(20)]
    assert len(stands([Run(path, top=0.2 * (k + 1)) for k in range(3) for path in dots])) == 1
