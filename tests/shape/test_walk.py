"""`shape_of` on parts whose areas are known in closed form: progress, stopping, threads."""

from __future__ import annotations

import math
from pathlib import Path

import numpy as np
import pytest

from tests.checks.sliced import THICK, cone, printed
from viewer.errors import Stopped
from viewer.jit import compiler_is_off
from viewer.shape import shape_of

pytestmark = pytest.mark.skipif(compiler_is_off(), reason="layers of a million cells: needs the compiler")


def test_the_rings_area_of_a_cone_is_measured(tmp_path: Path) -> None:
    # beyond 45 degrees hangs a ring between R - step + t and R
    program = printed(tmp_path, cone(75.0, layers=8, radius=8.0))
    step = THICK * math.tan(math.radians(75.0))
    got = shape_of(program.shape_columns).overhang_mm2
    for number in range(4, 9):  # the plate carries what begins up to two layers above it
        outer = 8.0 + (number - 1) * step
        ring = math.pi * (outer**2 - (outer - step + THICK + 0.01) ** 2)
        assert got[number - 1] == pytest.approx(ring, rel=0.02)
    assert got[:3].tolist() == [0.0, 0.0, 0.0]


def test_progress_and_stop(tmp_path: Path) -> None:
    shares: list[float] = []
    columns = printed(tmp_path, cone(30.0, layers=60)).shape_columns
    shape_of(columns, 45.0, shares.append)
    assert shares == sorted(shares)
    assert shares[-1] == 1.0
    with pytest.raises(Stopped):
        shape_of(columns, 50.0, stop=lambda: True)


def test_two_threads_and_ranges_change_nothing(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    columns = printed(tmp_path, cone(60.0, layers=45)).shape_columns
    once = shape_of(columns)
    monkeypatch.setattr("viewer.shape.walk.RANGE_LAYERS", 7)
    ranges = shape_of(columns)
    assert np.array_equal(once.overhang_mm2, ranges.overhang_mm2)
    assert once.overhangs == ranges.overhangs


def test_a_wider_angle_counts_less(tmp_path: Path) -> None:
    columns = printed(tmp_path, cone(60.0, layers=10)).shape_columns
    at_45, at_55 = shape_of(columns), shape_of(columns, 55.0)
    assert (at_45.angle_deg, at_55.angle_deg) == (45.0, 55.0)
    assert 0.0 < at_55.overhang_mm2.sum() < at_45.overhang_mm2.sum()
