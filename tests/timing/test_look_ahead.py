"""The finite look-ahead: exact, against a twin that tries every corner of every window."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.timing.by_hand import heron, moves_of, random_steps, settings_of, wide_open
from tests.timing.naive import look_ahead_entries
from viewer.arrays import read_only
from viewer.timing.kernels import look_ahead as _kernels
from viewer.timing.kernels.columns import Runs
from viewer.timing.limits import limits_for
from viewer.timing.plan import plan


def look_ahead(
    gain: np.ndarray, corner: np.ndarray, starts: list[int], rest: list[float], depth: int
) -> np.ndarray:
    entry = corner.astype(np.float32)
    _kernels.look_ahead(
        gain.astype(np.float32),
        entry,
        Runs(read_only(np.array(starts, np.int64)), np.array(rest, np.float64)),
        depth,
    )
    return entry


@pytest.mark.parametrize("depth", [0, 1, 2, 3, 7, 16, 59, 60, 61, 500])
@pytest.mark.parametrize("seed", range(3))
def test_it_is_the_twin(depth: int, seed: int) -> None:
    random = np.random.default_rng(seed)
    gain = random.exponential(300.0, 60)
    gain[random.random(60) < 0.1] = 0.0
    corner = np.where(random.random(60) < 0.3, 1e30, random.exponential(4000.0, 60))
    corner[random.random(60) < 0.05] = 0.0
    starts, rest = [0, 1, 20, 60], [9.0, 0.0, 64.0]
    expected = np.concatenate(
        [
            look_ahead_entries(gain[lo:hi], corner[lo:hi], end, depth)
            for lo, hi, end in zip(starts[:-1], starts[1:], rest, strict=True)
        ]
    )
    assert look_ahead(gain, corner, starts, rest, depth) == pytest.approx(expected, rel=1e-5, abs=1e-3)


def test_worked_by_hand() -> None:
    # five moves of 2 a d = 100 straight on, a stop at the end; two moves in sight
    gain, corner = np.full(5, 100.0), np.full(5, 1e30)
    assert look_ahead(gain, corner, [0, 5], [0.0], 2).tolist() == [200.0, 200.0, 200.0, 200.0, 100.0]
    assert look_ahead(gain, corner, [0, 5], [0.0], 0).tolist() == [500.0, 400.0, 300.0, 200.0, 100.0]


def test_fine_facets_are_slow_where_little_is_in_sight() -> None:
    # 0.1 mm at 1000 mm/s2: sixteen moves in sight can be braked from sqrt(2 a 16 d) = 56.6 mm/s
    moves = moves_of([{"x": 0.1 * i, "f": 200.0} for i in range(1, 2001)])
    said = settings_of(2000)
    card = wide_open("junction-deviation", 1000.0, junction_deviation_mm=0.05)
    limits = limits_for(said, card)
    seen = plan(moves, said, limits, [], 16)
    assert seen.entry_mm_s[1000] == pytest.approx(np.sqrt(2 * 1000.0 * 1.6), rel=1e-3)
    assert plan(moves, said, limits, [], 0).entry_mm_s[1000] == pytest.approx(200.0, rel=1e-5)


@settings(max_examples=25, deadline=None, derandomize=True)
@given(seed=st.integers(0, 10_000), rule=st.sampled_from(["jerk", "junction-deviation", "right-angle"]))
def test_to_see_farther_never_takes_longer(seed: int, rule: str) -> None:
    moves = moves_of(random_steps(seed, 30))
    said = settings_of(30)
    limits = limits_for(said, heron(rule))
    times = [plan(moves, said, limits, [7], depth).moving_s for depth in (1, 2, 3, 5, 8, 13, 30, 0)]
    for nearer, farther in pairwise(times):
        assert farther <= nearer * (1 + 1e-6)
    assert times[-2] == times[-1]
