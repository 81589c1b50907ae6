"""Whose limits hold: the card's, the program's, and which corner rule."""

from __future__ import annotations

import numpy as np
import pytest

from tests.timing.by_hand import heron, moves_of, settings_of
from viewer.cards.printer import Axes, Corner
from viewer.errors import CardError
from viewer.timing.limits import JERK, JUNCTION_DEVIATION, LIMIT_FIELDS, RIGHT_ANGLE, limits_for
from viewer.timing.plan import plan


def limit(field: str, rows: list[dict[str, float]], **card: object) -> list[float]:
    rule = str(card.pop("rule", "jerk"))
    table = limits_for(settings_of(0, *rows), heron(rule, **card))
    assert table.shape == (len(rows), len(LIMIT_FIELDS))
    assert table.dtype == np.float64
    return [float(value) for value in table[:, LIMIT_FIELDS.index(field)]]


def test_the_card_holds_where_the_program_says_nothing() -> None:
    table = limits_for(settings_of(0, {}), heron())[0]
    said = dict(zip(LIMIT_FIELDS, table.tolist(), strict=True))
    assert said == {
        "max_x_mm_s": 250.0, "max_y_mm_s": 200.0, "max_z_mm_s": 12.0, "max_e_mm_s": 40.0,
        "accel_x_mm_s2": 2500.0, "accel_y_mm_s2": 2000.0, "accel_z_mm_s2": 150.0, "accel_e_mm_s2": 3000.0,
        "accel_print_mm_s2": 1200.0, "accel_travel_mm_s2": 1800.0, "accel_retract_mm_s2": 2200.0,
        "jerk_x_mm_s": 8.0, "jerk_y_mm_s": 7.0, "jerk_z_mm_s": 0.4, "jerk_e_mm_s": 4.0,
        "junction_deviation_mm": np.inf, "corner_mm_s": np.inf, "rule": JERK,
        "speed_factor": 1.0, "max_path_mm_s": np.inf, "min_segment_time_s": 0.0,
    }  # fmt: skip


@pytest.mark.parametrize(
    ("field", "value"),
    [
        ("max_z_mm_s", 30.0),
        ("accel_x_mm_s2", 9000.0),
        ("accel_print_mm_s2", 700.0),
        ("accel_travel_mm_s2", 5000.0),
        ("jerk_e_mm_s", 9.0),
        ("max_path_mm_s", 120.0),
        ("min_segment_time_s", 0.02),
    ],
)
def test_the_program_s_own_value_counts_only_if_the_machine_obeys(field: str, value: float) -> None:
    card = limit(field, [{}])[0]
    assert limit(field, [{}, {field: value}]) == [card, value]
    assert limit(field, [{}, {field: value}], obeys_program_limits=False) == [card, card]


def test_m220_counts_on_a_machine_that_does_not_obey_limits() -> None:
    assert limit("speed_factor", [{"speed_factor": 0.8}], obeys_program_limits=False) == [0.8]


@pytest.mark.parametrize(
    "field", ["accel_print_mm_s2", "max_x_mm_s", "accel_e_mm_s2", "speed_factor", "junction_deviation_mm"]
)
@pytest.mark.parametrize("value", [0.0, -5.0, np.inf])
def test_values_that_cannot_be_planned_with_count_as_not_stated(field: str, value: float) -> None:
    said, empty = limit(field, [{field: value}, {}], rule="junction-deviation")
    assert said == empty


def test_a_retract_acceleration_above_the_drive_s_own_is_cut() -> None:
    assert limit("accel_retract_mm_s2", [{"accel_retract_mm_s2": 9000.0}]) == [3000.0]


def test_a_stated_print_acceleration_above_the_axis_is_cut_by_the_axis() -> None:
    # a bead along Y, whose own acceleration is 2000: 10 mm from rest to rest in 2 sqrt(d / a)
    moves = moves_of([{"y": 10.0, "e": 0.1, "f": 190.0}])
    said = settings_of(1, {"accel_print_mm_s2": 10_000.0})
    card = heron("junction-deviation")
    assert plan(moves, said, limits_for(said, card), []).moving_s == pytest.approx(
        2 * np.sqrt(10 / 2000), rel=1e-6
    )


@pytest.mark.parametrize(
    ("rule", "row", "expected"),
    [
        ("junction-deviation", {}, JUNCTION_DEVIATION),
        ("junction-deviation", {"jerk_x_mm_s": 8.0}, JERK),
        (
            "junction-deviation",
            {"jerk_e_mm_s": 8.0},
            JUNCTION_DEVIATION,
        ),  # M205 E alone says nothing of the rule
        ("jerk", {"junction_deviation_mm": 0.03}, JUNCTION_DEVIATION),
        ("jerk", {"corner_mm_s": 6.0}, RIGHT_ANGLE),
        ("jerk", {"corner_mm_s": 0.0}, RIGHT_ANGLE),
        ("jerk", {"corner_mm_s": 6.0, "jerk_x_mm_s": 8.0}, JERK),  # the card's own among several
        ("junction-deviation", {"corner_mm_s": 6.0, "jerk_x_mm_s": 8.0}, RIGHT_ANGLE),
        ("right-angle", {"junction_deviation_mm": 0.03, "jerk_y_mm_s": 8.0}, JUNCTION_DEVIATION),
    ],
)
def test_the_rule_that_the_program_states_applies(rule: str, row: dict[str, float], expected: int) -> None:
    assert limit("rule", [row], rule=rule) == [expected]
    own = {"jerk": JERK, "junction-deviation": JUNCTION_DEVIATION, "right-angle": RIGHT_ANGLE}[rule]
    assert limit("rule", [row], rule=rule, obeys_program_limits=False) == [own]


def test_an_axis_whose_jump_is_stated_nowhere_takes_that_of_x() -> None:
    corner = Corner(rule="junction-deviation", junction_deviation_mm=0.02)
    table = limits_for(settings_of(0, {"jerk_x_mm_s": 9.0, "jerk_z_mm_s": 0.4}), heron(corner=corner))
    first = LIMIT_FIELDS.index("jerk_x_mm_s")
    assert table[0, first : first + 4].tolist() == [9.0, 9.0, 0.4, 9.0]


def test_values_of_other_rules_do_not_limit() -> None:
    rows: list[dict[str, float]] = [{"junction_deviation_mm": 0.03}]
    assert limit("jerk_x_mm_s", rows) == [np.inf]
    assert limit("junction_deviation_mm", rows) == [0.03]


@pytest.mark.parametrize(
    ("rule", "key"),
    [
        ("jerk", "jerk_mm_s"),
        ("junction-deviation", "junction_deviation_mm"),
        ("right-angle", "right_angle_mm_s"),
    ],
)
def test_a_card_without_the_value_of_its_rule_is_refused(rule: str, key: str) -> None:
    values = {
        "jerk_mm_s": Axes(x=8.0, y=8.0, z=0.4, e=5.0),
        "junction_deviation_mm": 0.02,
        "right_angle_mm_s": 5.0,
    }
    del values[key]
    card = heron(corner=Corner(rule=rule, **values))  # type: ignore[arg-type]
    with pytest.raises(CardError, match=f"Heron has the corner rule '{rule}' .* give corner.{key}"):
        limits_for(settings_of(0), card)
