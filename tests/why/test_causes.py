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
from viewer.why.regions import ELSEWHERE, regions_of
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


def test_regions_that_lie_apart_are_told_apart() -> None:
    x = np.concatenate([np.linspace(10, 20, 30), np.linspace(100, 110, 30), [200.0]])
    y = np.concatenate([np.full(60, 50.0), [180.0]])
    seconds = np.concatenate([np.full(30, 1.0), np.full(30, 2.0), [0.5]])
    region = regions_of(x, y, seconds)
    assert set(region[:30]) == {1} and set(region[30:60]) == {0} and region[60] == ELSEWHERE
    assert not regions_of(x[:30], y[:30], seconds[:30]).any()  # one region is no region
    far = np.array([0.0, 1e9])  # a strange coordinate costs no memory
    assert len(regions_of(far, far, np.ones(2))) == 2


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
