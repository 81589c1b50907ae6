"""The commanded speed: the program's own factor counts, one that nothing can be planned with does not."""

from __future__ import annotations

import numpy as np

from tests.timing.by_hand import moves_of, settings_of
from viewer.timing.commanded import commanded_mm_s

FACTORS = ({}, {"speed_factor": 0.5}, {"speed_factor": 0.0})
"""Not stated, M220 S50, M220 S0."""


def test_the_speed_factor_is_applied_where_it_can_be_planned_with() -> None:
    moves = moves_of([{"x": 10.0}, *({"x": 10.0 * k, "f": 40.0} for k in range(2, 5))])
    settings = settings_of(4, *FACTORS, of_move=[0, 0, 1, 2])
    assert commanded_mm_s(moves, settings, slice(None)).tolist() == [0.0, 40.0, 20.0, 40.0]
    assert commanded_mm_s(moves, settings, np.array([3, 2])).tolist() == [40.0, 20.0]
