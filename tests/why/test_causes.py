"""Causes looked at: seconds of moves, layers and places are those of the ledger; regions of the plate."""

from __future__ import annotations

import numpy as np
import pytest

from viewer import Program, open_program
from viewer.timing import CAUSES
from viewer.timing.limiters import LIMITERS
from viewer.why.causes import Cause, held_by_limit, times_of_cause
from viewer.why.ledger import bookings_of
from viewer.why.places import dearest_places
from viewer.why.regions import ELSEWHERE, Paths, regions_of
from viewer.why.trials import under_trial


@pytest.fixture(scope="module", params=["coat_hook_pause", "radiator_dial_two_tools"])
def program(request: pytest.FixtureRequest) -> Program:
    return open_program(f"sample_programs/{request.param}.gcode")


def test_every_cause_adds_up_to_the_ledger(program: Program) -> None:
    ledger = program.timing.ledger
    for number, name in enumerate(CAUSES):
        found = times_of_cause(program, Cause(name), None)
        np.testing.assert_allclose(found.by_layer, ledger.by_layer[:, number], atol=1e-6)
        assert sum(place.seconds for place in found.places) == pytest.approx(found.total_s, abs=1e-6)
        if found.waits:
            assert not found.seconds.any()
        else:
            assert float(found.seconds.sum(dtype=np.float64)) == pytest.approx(found.total_s, rel=1e-6)


def test_limits_add_up_to_what_they_hold_back(program: Program) -> None:
    table = held_by_limit(program)
    held = program.timing.ledger.by_layer[:, CAUSES.index("held back")]
    np.testing.assert_allclose(table.sum(axis=1), held, atol=1e-5)  # lengths and speeds are float32
    booked = {
        one.by: one.seconds
        for one in bookings_of(program)
        if one.loss == "held back" and one.group == "beads"
    }
    for k, limit in enumerate(LIMITERS):
        assert float(table[:, k].sum()) == pytest.approx(booked.get(limit, 0.0), abs=1e-4)
        found = times_of_cause(program, Cause("held back", limit))
        np.testing.assert_allclose(found.by_layer, table[:, k], atol=1e-9)


def test_a_trial_is_looked_at_as_it_would_be(program: Program) -> None:
    tried = under_trial(program, {"print-acceleration": 3.0})
    found = times_of_cause(tried, Cause("speeding up and braking"))
    number = CAUSES.index("speeding up and braking")
    np.testing.assert_allclose(found.by_layer, tried.timing.ledger.by_layer[:, number], atol=1e-6)
    assert found.total_s < float(program.timing.ledger.by_cause[number])


def ways(x0: list[float], y0: list[float], x1: list[float], y1: list[float]) -> Paths:
    return Paths(*(np.array(column, np.float64) for column in (x0, y0, x1, y1)))


def test_regions_that_lie_apart_are_told_apart() -> None:
    # the four sides of two rectangles of 40 mm by 12 mm, 20 mm apart, and something small far away
    left, right = (0.0, 40.0, 40.0, 0.0, 0.0), (60.0, 100.0, 100.0, 60.0, 60.0)
    y = (0.0, 0.0, 12.0, 12.0, 0.0)
    paths = ways(
        [*left[:4], *right[:4], 200.0],
        [*y[:4], *y[:4], 180.0],
        [*left[1:], *right[1:], 201.0],
        [*y[1:], *y[1:], 180.0],
    )
    seconds = np.array([1.0] * 4 + [2.0] * 4 + [0.5])
    assert regions_of(paths, seconds).tolist() == [1] * 4 + [0] * 4 + [ELSEWHERE]
    some = np.arange(4)
    assert not regions_of(paths.of(some), seconds[some]).any()  # one region is no region
    scattered = np.arange(0.0, 400.0, 20.0)
    assert not regions_of(Paths(scattered, scattered, scattered, scattered), np.ones(20)).any()
    far = ways([0.0, 1e9], [0.0, 1e9], [0.0, -1e9], [0.0, 0.0])  # strange coordinates cost no memory
    assert len(regions_of(far, np.ones(2))) == 2


def test_places_of_a_plate_of_several_parts_are_regions() -> None:
    plate = open_program("sample_programs/small_parts_plate.gcode")
    places = dearest_places(plate)
    assert sum(place.seconds for place in places) == pytest.approx(plate.timing.moving_s, abs=1e-6)
    apart = [place for place in places if place.where == "region"]
    assert apart
    extent = plate.totals.extent_all
    assert extent is not None
    widths = [place.x_mm[1] - place.x_mm[0] for place in apart if place.kind == "outline"]
    assert widths and max(widths) < extent.x[1] - extent.x[0]
