"""Convex hulls against scipy's (Qhull) and shapely's."""

from __future__ import annotations

import math

import numpy as np
import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st
from scipy.spatial import ConvexHull

from tests.beads.by_hand import beads_of
from viewer.figures.hull import hull, joined_hull, polygon_area


def test_hull_against_scipy_and_shapely() -> None:
    rng = np.random.default_rng(6)
    for scale in (0.5, 5.0, 80.0):
        table = np.column_stack([rng.normal(0, scale, (300, 4)), rng.uniform(0.3, 2.0, 300)])
        rows = [tuple(float(np.float32(v)) for v in row) for row in table]
        got = hull(beads_of(rows))
        turn = np.linspace(0, 2 * np.pi, 1000)
        ends = np.array([[*r[:2], r[4]] for r in rows] + [[*r[2:4], r[4]] for r in rows])
        round_ends = ends[:, None, :2] + 0.5 * ends[:, None, 2:] * np.stack(
            [np.cos(turn), np.sin(turn)], axis=1
        )
        exact = ConvexHull(round_ends.reshape(-1, 2)).volume
        assert polygon_area(got) == pytest.approx(exact, rel=1e-3)
        assert shapely.Polygon(got).is_valid
        assert shapely.Polygon(got).exterior.is_ccw
        outside = shapely.union_all([shapely.LineString([r[:2], r[2:4]]).buffer(r[4] / 2) for r in rows])
        assert outside.difference(shapely.Polygon(got).buffer(0.005)).area == 0.0


def test_hull_of_a_disc_and_of_nothing() -> None:
    assert polygon_area(hull(beads_of([(3, 3, 3, 3, 2.0)]))) == pytest.approx(math.pi, rel=2e-3)
    assert hull(beads_of([])).shape == (0, 2)
    assert polygon_area(hull(beads_of([]))) == 0.0


@given(st.lists(st.tuples(st.integers(-4, 4), st.integers(-4, 4)), min_size=1, max_size=40))
def test_hull_of_points_on_a_lattice(points: list[tuple[int, int]]) -> None:
    """Many lie on one line, many twice: corners alone are wanted, each once."""
    got = joined_hull([np.array(points, np.float64), np.array(points[:1], np.float64)])
    exact = shapely.MultiPoint(points).convex_hull
    assert polygon_area(got) == exact.area
    if isinstance(exact, shapely.Polygon):
        corners = shapely.get_coordinates(shapely.normalize(exact.simplify(0.0)).exterior)[:-1]
        assert sorted(got.tolist()) == sorted(corners.tolist())
        assert shapely.Polygon(got).exterior.is_ccw


def test_joined_hull_against_scipy() -> None:
    rng = np.random.default_rng(2)
    parts = [rng.normal(5.0 * k, 2.0, (30, 2)) for k in range(4)]
    points = np.concatenate(parts)
    got = joined_hull(parts)
    assert sorted(got.tolist()) == sorted(points[ConvexHull(points).vertices].tolist())
    assert joined_hull([]).shape == (0, 2)
    assert joined_hull([np.empty((0, 2)), np.empty((0, 2))]).shape == (0, 2)
