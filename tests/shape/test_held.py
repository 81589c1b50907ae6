"""How regions are held: channels and depths against scipy and by hand."""

from __future__ import annotations

import numpy as np
import pytest
import scipy.ndimage
from hypothesis import given
from hypothesis import strategies as st

from tests.beads.test_regions import random_grid
from viewer.beads.regions import find_regions, label_cells
from viewer.shape.kernels import held as kh

seeds = st.integers(0, 2**32 - 1)


def labelled(air: np.ndarray) -> np.ndarray:
    return (label_cells(air)[0] - 1).astype(np.int32)


@given(seeds)
def test_depth_against_dilation_step_by_step(seed: int) -> None:
    air, carried = random_grid(seed), random_grid(seed + 1)
    carried &= 1 - air
    labels = labelled(air)
    if labels.max() < 0:
        return
    region = seed % (int(labels.max()) + 1)
    own = labels == region
    rows, columns = np.nonzero(own)
    facts = np.zeros(5)
    box = np.array([rows.min(), rows.max(), columns.min(), columns.max()])
    kh.find_depth(region, box, labels, air, carried, carried, facts)
    square = np.ones((3, 3), np.bool_)
    reached = own & scipy.ndimage.binary_dilation(carried != 0, square)
    if not reached.any():
        assert facts.tolist() == [0.0] * 5
        return
    held_rows, held_columns = np.nonzero(reached)
    assert facts[1:].tolist() == [
        held_columns.min(), held_columns.max(), held_rows.min(), held_rows.max()
    ]  # fmt: skip
    steps = 0
    while True:
        wider = scipy.ndimage.binary_dilation(reached, square) & own
        if (wider == reached).all():
            break
        reached, steps = wider, steps + 1
    assert facts[kh.DEPTH] == steps


@pytest.mark.parametrize(("wide", "widest", "share"), [(4, 6, 1.0), (6, 6, 1.0), (7, 6, 0.0)])
@pytest.mark.parametrize("turned", [False, True])
def test_a_channel_between_two_sides(wide: int, widest: float, share: float, turned: bool) -> None:
    air, carried = (np.zeros((40, 40), np.uint8) for _ in range(2))
    air[10 : 10 + wide, 2:38] = 1
    carried[5:10], carried[10 + wide : 15 + wide] = 1, 1
    if turned:
        air, carried = np.ascontiguousarray(air.T), np.ascontiguousarray(carried.T)
    assert across(air, carried, widest) == pytest.approx((share, wide * share))


def test_a_strip_beside_an_edge_is_no_channel() -> None:
    air, carried = (np.zeros((40, 40), np.uint8) for _ in range(2))
    air[10:14, 2:38] = 1
    carried[5:10] = 1
    assert across(air, carried, 8) == (0.0, 0.0)


def across(air: np.ndarray, carried: np.ndarray, widest: float) -> tuple[float, float]:
    """Share of the cells between two sides and their mean distance."""
    runs = find_regions(air, 1, 1)
    found = np.zeros((runs.count, 3))
    kh.find_channels(
        runs.first, runs.begin, runs.end, runs.label, np.ones(runs.count, np.int64), widest, labelled(air), air,
        carried, found,
    )  # fmt: skip
    cells, between, total = found[0]
    assert cells == np.count_nonzero(air)
    return between / cells, total / max(between, 1.0)
