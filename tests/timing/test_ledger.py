"""The ledger: every second to one cause, and the causes add up."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.timing.by_hand import (
    Step,
    events_of,
    heron,
    layers_of,
    moves_of,
    random_steps,
    settings_of,
    state_of,
    wide_open,
)
from tests.timing.naive import cause_of, motions
from viewer.cards.printer import Axes, PrinterCard
from viewer.layers.layers import INFILL, OUTLINE, UNLABELLED
from viewer.timing import CAUSES, WAITING_ROLE, Timing, plan_time
from viewer.timing.ledger import Ledger
from viewer.timing.limits import limits_for
from viewer.timing.plan import plan

NOTHING = events_of()


def timed(steps: list[Step], card: PrinterCard, **row: float) -> Timing:
    moves = moves_of(steps)
    return plan_time(
        moves, NOTHING, state_of(NOTHING), settings_of(len(moves), row), layers_of(0, len(moves)), None, card
    )


def by_cause(ledger: Ledger) -> dict[str, float]:
    return {name: s for name, s in zip(CAUSES, ledger.by_cause.tolist(), strict=True) if s}


def test_a_bead_split_by_hand() -> None:
    # 100 mm at a commanded 100 mm/s: 1 s; the axis does 50: 1 s more; the ramps at 1000 mm/s2: 50/1000 s
    wide = Axes(x=50.0, y=1e6, z=1e6, e=1e6)
    card = heron("junction-deviation", max_speed_mm_s=wide, print_acceleration_mm_s2=1000.0)
    result = timed([{"x": 100.0, "e": 4.0, "f": 100.0}], card)
    expected = {"laying": 1.0, "held back": 1.0, "speeding up and braking": 0.05}
    assert by_cause(result.ledger) == pytest.approx(expected, rel=1e-5)


def test_m220_changes_what_counts_as_commanded() -> None:
    card = wide_open("junction-deviation", 1000.0, junction_deviation_mm=0.02)
    result = timed([{"x": 100.0, "e": 4.0, "f": 100.0}], card, speed_factor=0.5)
    assert by_cause(result.ledger) == pytest.approx(
        {"laying": 2.0, "speeding up and braking": 0.05}, rel=1e-5
    )
    assert result.nominal_s == pytest.approx(1.0)


def test_without_a_commanded_speed_nothing_is_held_back() -> None:
    card = heron("junction-deviation", print_acceleration_mm_s2=1000.0)
    result = timed([{"x": 500.0, "e": 4.0}], card)
    assert by_cause(result.ledger) == pytest.approx(
        {"laying": 2.0, "speeding up and braking": 0.25}, rel=1e-5
    )
    assert result.nominal_s == 0.0


@pytest.mark.parametrize(
    ("step", "cause"),
    [
        ({"x": 9.0, "f": 50.0}, "travel"),
        ({"x": 9.0, "z": 1.0, "f": 50.0}, "travel"),
        ({"y": 9.0, "z": 1.0, "f": 50.0}, "travel"),
        ({"x": 9.0, "e": -1.0, "f": 50.0}, "travel"),  # a wipe lays nothing
        ({"z": 1.0, "f": 5.0}, "height changes"),
        ({"z": 1.0, "e": 0.1, "f": 5.0}, "height changes"),
        ({"e": -1.0, "f": 30.0}, "retract and prime"),
        ({"e": 1.0, "f": 30.0}, "retract and prime"),
    ],
)
def test_other_moves_have_one_cause(step: Step, cause: str) -> None:
    result = timed([step], heron())
    assert by_cause(result.ledger) == pytest.approx({cause: result.total_s})


def test_layers_and_roles() -> None:
    card = wide_open("junction-deviation", 1e9, junction_deviation_mm=1e9)
    steps: list[Step] = [{"x": 10.0 * i, "e": 0.5, "f": 10.0} for i in range(1, 7)]
    events = events_of(("G28", 0), ("G4 S3", 1), ("G4 S5", 3), ("M600", 5), ("G4 S7", 6))
    roles = np.array([0, 1, 1, 3, 3, 0], np.uint8)
    result = plan_time(
        moves_of(steps), events, state_of(events), settings_of(6), layers_of(1, 3, 5), roles, card
    ).ledger
    # each move takes 1 s; the dwell before move 1 stands before layer 1, the pause behind the last
    assert result.by_layer.sum(axis=1) == pytest.approx([1 + 18 + 3, 2, 2 + 5, 1 + 240 + 7], rel=1e-4)
    rows = result.by_role.sum(axis=1)
    assert rows[[UNLABELLED, OUTLINE, INFILL, WAITING_ROLE]] == pytest.approx([2, 2, 2, 273], rel=1e-4)
    assert result.by_cause[CAUSES.index("pauses")] == 240.0
    assert result.by_cause[CAUSES.index("homing and levelling")] == 18.0


def test_without_layers_all_is_prelude_and_coda() -> None:
    moves = moves_of([{"x": 10.0, "f": 10.0}])
    events = events_of(("G4 S3", 0), ("G4 S5", 1))
    result = plan_time(moves, events, state_of(events), settings_of(1), layers_of(1), None, heron())
    assert result.ledger.by_layer.shape == (2, len(CAUSES))
    assert result.ledger.total_s == pytest.approx(result.total_s, rel=1e-9)
    assert result.moments.first_layer_done_s is None


@pytest.mark.parametrize("rule", ["jerk", "junction-deviation", "right-angle"])
@settings(max_examples=25, deadline=None, derandomize=True)
@given(seed=st.integers(0, 10_000), factor=st.sampled_from([0.5, 1.0, 3.0]))
def test_the_causes_add_up(rule: str, seed: int, factor: float) -> None:
    moves = moves_of(random_steps(seed, 40))
    events = events_of(("G28", 0), ("M109 S210", 2), ("T1", 11), ("G4 P300", 20), ("M0", 40))
    roles = np.random.default_rng(seed).integers(0, 9, 40).astype(np.uint8)
    said = settings_of(40, {"speed_factor": factor})
    result = plan_time(
        moves, events, state_of(events), said, layers_of(5, 10, 11, 30, 38), roles, heron(rule)
    )
    total = result.moving_s + result.waits.seconds.sum()
    assert result.ledger.total_s == pytest.approx(total, rel=1e-9)
    assert result.ledger.by_role.sum() == pytest.approx(total, rel=1e-9)
    assert result.total_s == pytest.approx(total, rel=1e-9)
    assert result.ledger.by_layer.min() >= 0.0
    assert result.ledger.by_role.sum(axis=0) == pytest.approx(result.ledger.by_cause, rel=1e-9)


def test_the_booking_is_that_of_the_slow_twin() -> None:
    moves, card = moves_of(random_steps(5, 200)), heron()
    random = np.random.default_rng(5)
    roles = random.integers(0, 9, 200).astype(np.uint8)
    said, layers = settings_of(200, {"speed_factor": 1.5}), layers_of(3, 50, 51, 190)
    ledger = plan_time(moves, NOTHING, state_of(NOTHING), said, layers, roles, card).ledger
    planned = plan(moves, said, limits_for(said, card), [])
    by_layer, by_role = np.zeros((5, len(CAUSES))), np.zeros((len(ledger.by_role), len(CAUSES)))
    for i, motion in enumerate(motions(moves, card, factor=1.5)):
        seconds, cause = float(planned.time_s[i]), cause_of(moves, i)
        parts = {cause: seconds}
        if cause == "bead":
            laying = motion.distance / (1.5 * float(moves.speed_mm_s[i]))
            held = motion.distance / motion.limit - laying
            parts = {"laying": laying, "held back": held, "speeding up and braking": seconds - laying - held}
        layer = sum(i >= first for first in (3, 50, 51, 190))
        for name, part in parts.items():
            by_layer[layer, CAUSES.index(name)] += part
            by_role[roles[i], CAUSES.index(name)] += part
    assert ledger.by_layer == pytest.approx(by_layer, rel=1e-5, abs=1e-5)
    assert ledger.by_role == pytest.approx(by_role, rel=1e-5, abs=1e-5)
