"""Closing and adding up masks against scipy.ndimage."""

from __future__ import annotations

import numpy as np
import pytest
import scipy.ndimage
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.beads.by_hand import beads_of
from viewer.beads.draw import Grid, draw_mask
from viewer.beads.kernels import mask as _kernels
from viewer.beads.masks import close_gaps, region_sums
from viewer.jit import compiler_is_off

SLOWLY = 15 if compiler_is_off() else 150


@settings(max_examples=SLOWLY, deadline=None)
@given(st.integers(0, 2**32 - 1), st.floats(0.0, 5.0), st.sampled_from([0.3, 0.9, 0.99, 1.0]))
def test_shrinking_against_the_distance_transform(seed: int, radius: float, filled: float) -> None:
    rng = np.random.default_rng(seed)
    mask = np.where(rng.random((13, 17)) < filled, np.uint8(6), np.uint8(3)).astype(np.uint8)
    result = np.empty_like(mask)
    _kernels.shrink(mask, 4, radius, np.empty_like(mask), result)
    lacking = (mask & 4) == 0
    # (k, l) is nearer than the radius: no rounding can decide, squares of whole numbers against its square
    away = scipy.ndimage.distance_transform_edt(~lacking) if lacking.any() else np.full(mask.shape, np.inf)
    plain = np.abs(away - radius) > 1e-9
    assert np.array_equal(result[plain], (away > radius)[plain])


def test_a_gap_is_closed_up_to_its_limit() -> None:
    # two beads of 0.4 mm whose edges are 0.3 mm apart
    beads = beads_of([(1, 1.0, 9, 1.0, 0.4), (1, 1.7, 9, 1.7, 0.4)])
    grid, shape = Grid(0.0, 0.0, 0.05), (60, 200)
    plain = np.zeros(shape, np.uint8)
    draw_mask(plain, beads, grid)
    middle = 27, 100  # y = 1.375, between them
    assert not plain[middle]
    assert not close_gaps(plain, 1, beads, grid, 0.2)[middle]
    closed = close_gaps(plain, 1, beads, grid, 0.3)
    assert closed[middle]
    assert np.all(closed[plain == 1])


@pytest.mark.parametrize("cell", [0.05, 0.083, 0.1])
def test_closing_against_shapely(cell: float) -> None:
    rng = np.random.default_rng(9)
    rows = [tuple(r) for r in np.column_stack([rng.uniform(2, 12, (25, 4)), rng.uniform(0.4, 0.6, 25)])]
    size = int(14 / cell)
    beads, grid, mask = beads_of(rows), Grid(0.0, 0.0, cell), np.zeros((size, size), np.uint8)
    draw_mask(mask, beads, grid, 4)
    closed = close_gaps(mask, 4, beads, grid, 0.5)
    union = shapely.union_all([shapely.LineString([r[:2], r[2:4]]).buffer(r[4] / 2) for r in rows])
    r = 0.25 + cell / 2
    exact = union.buffer(r, quad_segs=32).buffer(-r, quad_segs=32)
    assert exact.area > 1.01 * union.area
    # on average the outline's edge lies within a quarter of a cell of the exact one; half a cell off is the
    # mistake that shrinking by R alone would make
    assert closed.sum() * cell**2 == pytest.approx(exact.area, abs=0.25 * cell * exact.length)


def test_region_sums_against_ndimage() -> None:
    rng = np.random.default_rng(3)
    mask = rng.choice(np.array([0, 1, 2, 3], np.uint8), (40, 50), p=[0.6, 0.2, 0.1, 0.1])
    labels = np.empty(mask.shape, np.int32)
    count = scipy.ndimage.label(mask, output=labels)
    numbers = np.arange(1, count + 1)
    row, column = np.indices(mask.shape)
    sums = region_sums(labels, mask, 2, count)
    assert count > 100
    for k, values in enumerate((mask > 0, column, row, (mask & 2) > 0)):
        assert sums[1:, k] == pytest.approx(scipy.ndimage.sum(values, labels, numbers))
