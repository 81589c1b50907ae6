"""The first layer's figures against shapely, and each of its questions by a program laid by hand."""

from __future__ import annotations

import math

import numpy as np
import pytest
import shapely
import shapely.affinity

from tests.beads.by_hand import Point, Run, beads_of, hatching, program_of, rectangle
from viewer.cards.printer import Plate
from viewer.figures.first_layer import FirstLayer, edge_distance, first_layer
from viewer.figures.hull import hull, polygon_area
from viewer.jit import compiler_is_off
from viewer.layers.layers import HOLD, PURGE, SUPPORT

pytestmark = pytest.mark.skipif(compiler_is_off(), reason="grids of a million cells need the compiler")


def lines(paths: list[list[Point]], width: float = 0.4, **more: float) -> list[Run]:
    return [Run(path, width=width, **more) for path in paths]  # type: ignore[arg-type]


def measured(runs: list[Run], plate: Plate | None = None) -> FirstLayer:
    return first_layer(*program_of(runs), plate)


def footprint(runs: list[Run]) -> shapely.Geometry:
    return shapely.union_all(
        [shapely.LineString(run.points).buffer(run.width / 2, quad_segs=32) for run in runs]
    )


def tray(spacing: float) -> list[Run]:
    """Return the bottom of a tap washer tray: an outline and hatching."""
    return [*lines([rectangle(10, 10, 20, 12)]), *lines(hatching(10.2, 10.2, 19.6, 11.6, spacing))]


@pytest.mark.parametrize("spacing", [0.4, 0.5, 0.6])
def test_areas_against_shapely(spacing: float) -> None:
    runs = tray(spacing)
    got = measured(runs)
    union = footprint(runs)
    assert got.contact_mm2 == pytest.approx(union.area, rel=0.01)
    r = 0.2 + got.cell_mm / 2
    assert got.outline_mm2 == pytest.approx(union.buffer(r).buffer(-r).area, rel=0.01)


@pytest.mark.parametrize("shift", [0.0, 0.013, 0.025, 0.037])
@pytest.mark.parametrize("turn", [0.0, 45.0, 90.0])
def test_gaps_of_a_quarter_of_a_cell(turn: float, shift: float) -> None:
    """A gap of 0.0125 mm every 0.4125 mm is 3 %, wherever and whichever way the lines lie on the grid."""
    whole = shapely.MultiLineString([((0, 0.4125 * k + shift), (30, 0.4125 * k + shift)) for k in range(40)])
    turned = shapely.affinity.rotate(whole, turn, origin=(0, 0))
    got = measured(lines([list(line.coords) for line in turned.geoms]))
    union = shapely.MultiLineString(whole).buffer(0.2, quad_segs=32)
    assert got.contact_mm2 == pytest.approx(union.area, rel=0.003)
    assert got.coverage == pytest.approx(0.4 / 0.4125, abs=0.003)
    (island,) = got.islands
    middle = shapely.affinity.rotate(whole, turn, origin=(0, 0)).centroid
    assert island.centre_mm == pytest.approx((middle.x, middle.y), abs=0.02)


def test_touching_beads_cover_everything() -> None:
    coverage = measured(tray(0.4)).coverage
    assert coverage is not None
    assert 0.99 < coverage <= 1.0


def test_a_gap_of_a_fifth_shows() -> None:
    # beads of 0.4 mm every 0.5 mm
    assert measured(lines(hatching(0, 0, 30, 30, 0.5))).coverage == pytest.approx(0.8, abs=0.01)


def test_a_real_hole_is_no_gap() -> None:
    # a ring of touching loops about a square hole of 5 mm
    loops = [rectangle(20 - k * 0.4, 20 - k * 0.4, 5.4 + k * 0.8, 5.4 + k * 0.8) for k in range(8)]
    got = measured(lines(loops))
    outer = 5.4 + 7 * 0.8 + 0.4
    assert got.outline_mm2 == pytest.approx(outer**2 - 5.0**2, rel=0.01)
    assert got.coverage is not None
    assert got.coverage > 0.99


def test_a_gap_of_two_beads_is_open_plate() -> None:
    got = measured(lines(hatching(0, 0, 30, 12, 1.2)))
    assert got.coverage == pytest.approx(1.0, abs=0.005)
    assert len(got.islands) == 10


def test_islands_have_area_and_place() -> None:
    coat_hook = lines(hatching(10, 10, 8, 4, 0.4))
    knob = lines(hatching(30.03, 5.01, 3, 3.2, 0.4))
    got = measured([*knob, *coat_hook])
    assert [island.has_part for island in got.islands] == [True, True]
    for island, runs in zip(got.islands, (coat_hook, knob), strict=True):
        union = footprint(runs)
        assert island.area_mm2 == pytest.approx(union.area, rel=0.01)
        assert island.centre_mm == pytest.approx((union.centroid.x, union.centroid.y), abs=0.05)


def test_a_skirt_is_an_island_without_part_and_widens_no_foot() -> None:
    skirt = Run(rectangle(0, 0, 40, 32), role=HOLD)
    got, bare = measured([skirt, *tray(0.4)]), measured(tray(0.4))
    assert [island.has_part for island in got.islands] == [True, False]
    assert got.hold_mm2 == pytest.approx(footprint([skirt]).area, rel=0.02)
    assert got.contact_mm2 == pytest.approx(bare.contact_mm2, rel=0.005)
    assert polygon_area(got.feet[0].held_xy_mm) == pytest.approx(got.hull_mm2)


def test_a_brim_is_one_with_the_part_and_widens_the_foot() -> None:
    brim = [
        Run(rectangle(10 - k * 0.4, 10 - k * 0.4, 20 + k * 0.8, 12 + k * 0.8), role=HOLD) for k in (1, 2, 3)
    ]
    got = measured([*brim, *tray(0.4)])
    assert len(got.islands) == 1
    assert got.islands[0].part_mm2 == pytest.approx(got.contact_mm2)
    assert got.islands[0].area_mm2 == pytest.approx(got.contact_mm2 + got.hold_mm2)
    assert got.hull_mm2 == pytest.approx(footprint(tray(0.4)).convex_hull.area, rel=1e-3)
    assert polygon_area(got.feet[0].held_xy_mm) == pytest.approx(footprint(brim).convex_hull.area, rel=1e-3)


def test_on_a_raft_no_part_touches_the_plate() -> None:
    raft = [Run(path, role=HOLD) for path in hatching(8, 8, 24, 16, 0.4)]
    above = [Run(run.points, top=0.4) for run in tray(0.4)]
    got = measured([*raft, *above])
    assert (got.contact_mm2, got.outline_mm2, got.coverage, got.hull_mm2) == (0.0, 0.0, None, 0.0)
    assert got.hold_mm2 == pytest.approx(footprint(raft).area, rel=0.01)
    assert polygon_area(got.feet[0].held_xy_mm) == pytest.approx(footprint(raft).convex_hull.area, rel=1e-3)


def test_purge_is_left_out_and_support_is_part() -> None:
    got = measured([Run([(0, 0), (200, 0)], role=PURGE), Run([(5, 5), (15, 5)], role=SUPPORT)])
    assert got.contact_mm2 == pytest.approx(10 * 0.4 + math.pi * 0.04, rel=0.02)
    assert got.hold_mm2 == 0.0
    assert len(got.islands) == 1


def test_objects_one_after_another_have_a_foot_each() -> None:
    one, other = (
        [Run([(5, 5), (15, 5)]), Run([(5, 5), (15, 5)], top=0.4)],
        [Run([(45, 5), (45, 25)], object=1)],
    )
    got = measured([*one, *other])
    assert [foot.object for foot in got.feet] == [0, 1]
    assert got.contact_mm2 == pytest.approx(footprint([one[0], *other]).area, rel=0.02)
    assert got.hull_mm2 == pytest.approx(footprint(one).area + footprint(other).area, rel=0.002)


def test_without_beads() -> None:
    got = measured([Run([(5, 5), (15, 5)], role=PURGE)], Plate(width_mm=200, depth_mm=200))
    assert (got.contact_mm2, got.islands, got.feet, got.edge_mm) == (0.0, (), (), None)


def test_the_grid_stays_bounded() -> None:
    got = measured(
        [Run([(0, 0), (900, 900)], width=5.0, thickness=1.0), Run([(0, 900), (9, 900)], thickness=1.0)]
    )
    assert 0.2 < got.cell_mm < 0.3
    assert got.contact_mm2 == pytest.approx(900 * math.sqrt(2) * 5 + math.pi * 6.25 + 9 * 0.4, rel=0.01)


# --- the plate's edge


PLATE = Plate(width_mm=200, depth_mm=150, left_mm=-10, front_mm=5)
ROUND = Plate(shape="circle", diameter_mm=100, left_mm=20, front_mm=0)


@pytest.mark.parametrize(
    ("row", "plate", "distance"),
    [
        ((0, 80, 50, 80, 2.0), PLATE, 9.0),  # left edge at -10
        ((50, 80, 187, 80, 2.0), PLATE, 2.0),  # right edge at 190
        ((50, 9, 60, 80, 2.0), PLATE, 3.0),  # front edge at 5
        ((50, 80, 60, 156, 2.0), PLATE, -2.0),  # back edge at 155
        ((20, 0, 60, 0, 2.0), ROUND, 9.0),
        ((20, -10, 20, -50, 2.0), ROUND, -1.0),
        ((50, 40, 20, 0, 0.5), ROUND, -0.25),  # 3, 4, 5
        ((0, 0, 1, 1, 1), None, None),
        ((0, 0, 1, 1, 1), Plate(), None),
        ((0, 0, 1, 1, 1), Plate(width_mm=10), None),
        ((0, 0, 1, 1, 1), Plate(shape="circle", width_mm=10, depth_mm=10), None),
    ],
)
def test_distance_to_the_edge(row: tuple[float, ...], plate: Plate | None, distance: float | None) -> None:
    got = edge_distance(beads_of([row]), plate)  # type: ignore[list-item]
    assert got is distance if distance is None else got == pytest.approx(distance, abs=1e-4)


def test_part_and_hold_down_each_have_their_distance() -> None:
    got = measured([Run(rectangle(2, 2, 40, 32), role=HOLD), *tray(0.4)], Plate(width_mm=220, depth_mm=220))
    assert got.hold_edge_mm == pytest.approx(1.8, abs=1e-3)
    assert got.edge_mm == pytest.approx(9.8, abs=1e-3)


def test_hull_of_beads_without_width_on_one_line() -> None:
    """Programs that switch their filament on and off (M101, M103) state none: their beads have no width."""
    flat = beads_of([(10, 10, 20, 10, 0), (20, 10, 35, 10, 0)])
    assert hull(flat).shape == (0, 2)
    bent = beads_of([(10, 10, 20, 10, 0), (20, 10, 20, 30, 0)])
    assert polygon_area(hull(bent)) == pytest.approx(100.0, rel=1e-6)


def test_hull_of_many_ends() -> None:
    """15,000 beads along a circle, drawn twice: pi r^2 with r to the beads' outer side."""
    turn = np.linspace(0.0, 2.0 * np.pi, 15_001)
    x, y = 100 + 40 * np.cos(turn), 100 + 40 * np.sin(turn)
    once = [(*bead, 0.4) for bead in zip(x[:-1], y[:-1], x[1:], y[1:], strict=True)]
    found = hull(beads_of([*once, *once]))
    assert polygon_area(found) == pytest.approx(math.pi * 40.2**2, rel=2e-5)


def test_many_objects_are_measured_in_part() -> None:
    runs = [Run([(x, 5), (x + 3, 5)], object=k) for k in range(1100) for x in [2 * k % 300]]
    found = measured(runs)
    assert [foot.object for foot in found.feet] == list(range(1000))
    area = 3 * 0.4 + math.pi * 0.2**2
    assert polygon_area(found.feet[999].part_xy_mm) == pytest.approx(area, rel=2e-3)
