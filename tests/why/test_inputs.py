"""What a plan is made from, changed: a factor without limit leaves 0 at 0."""

from __future__ import annotations

import math
from pathlib import Path

import numpy as np

from tests.checks.on_paper import opened
from viewer.why.inputs import UNLIMITED, Inputs


def test_a_speed_or_limit_of_0_stays_0_under_a_factor_without_limit(tmp_path: Path) -> None:
    inputs = Inputs.of(opened(tmp_path, "G28\nG1 X10 Y10 Z5\nG1 X60 F3000\nM204 P0\nG1 X20\n"))
    before = inputs.moves.speed_mm_s
    assert (before == 0.0).any() and (before > 0.0).any()
    with np.errstate(all="raise"):
        after = inputs.with_speeds(np.ones(len(before), np.bool_), math.inf).moves.speed_mm_s
        inputs.with_stated(("accel_print_mm_s2",), math.inf)
    assert not np.isnan(after).any()
    assert (after[before == 0.0] == 0.0).all() and (after[before > 0.0] == np.float32(UNLIMITED)).all()
