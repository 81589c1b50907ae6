"""How fast a corner is taken: the three rules, their values, and filament alone."""

from __future__ import annotations

import math

import numpy as np
import pytest

from tests.timing.by_hand import Step, moves_of, settings_of, wide_open
from viewer.cards.printer import Axes, PrinterCard
from viewer.timing.limits import limits_for
from viewer.timing.plan import plan

A = 1000.0


def entry_of_second(steps: list[Step], card: PrinterCard) -> float:
    moves = moves_of(steps)
    said = settings_of(len(moves))
    return float(plan(moves, said, limits_for(said, card), []).entry_mm_s[1])


def corner(turn_deg: float, speed: float = 150.0, leg: float = 200.0) -> list[Step]:
    """Two legs; 0 degrees is straight on."""
    turn = math.radians(turn_deg)
    return [
        {"x": leg, "f": speed},
        {"x": leg + leg * math.cos(turn), "y": leg * math.sin(turn), "f": speed},
    ]


def round_corner_speed(turn_deg: float, deviation: float, acceleration: float) -> float:
    """The speed v^2 = a r on the circle that touches both legs and passes the corner at ``deviation``.

    Found by geometry alone: the centre lies on the bisector at a distance h of the corner, and r is its
    distance from a leg; h is bisected until h - r is the deviation.
    The rule itself is common practice, no source.
    """
    half_inside = math.radians(180.0 - turn_deg) / 2
    low, high = 0.0, 1e9
    for _ in range(200):
        h = (low + high) / 2
        leg = np.array([math.cos(half_inside), math.sin(half_inside)])
        radius = abs(leg[0] * 0.0 - leg[1] * h)  # distance of (h, 0) from the leg's line
        low, high = (h, high) if h - radius < deviation else (low, h)
    return math.sqrt(acceleration * radius)


@pytest.mark.parametrize("value", [1.0, 5.0, 8.0, 12.5])
def test_right_angle_is_taken_at_exactly_the_value(value: float) -> None:
    card = wide_open("right-angle", A, right_angle_mm_s=value)
    assert entry_of_second(corner(90.0), card) == pytest.approx(value, rel=1e-6)


@pytest.mark.parametrize("turn", [10.0, 30.0, 45.0, 60.0, 120.0, 150.0])
def test_right_angle_converts_to_a_deviation_at_other_angles(turn: float) -> None:
    card = wide_open("right-angle", A, right_angle_mm_s=5.0)
    delta = 5.0**2 * (math.sqrt(2.0) - 1.0) / A
    expected = min(round_corner_speed(turn, delta, A), 150.0)
    assert entry_of_second(corner(turn), card) == pytest.approx(expected, rel=1e-4)


@pytest.mark.parametrize("turn", [5.0, 20.0, 45.0, 90.0, 135.0, 170.0])
@pytest.mark.parametrize("deviation", [0.005, 0.02, 0.05])
def test_deviation_is_the_centripetal_limit(turn: float, deviation: float) -> None:
    card = wide_open("junction-deviation", A, junction_deviation_mm=deviation)
    expected = min(round_corner_speed(turn, deviation, A), 150.0)
    assert entry_of_second(corner(turn), card) == pytest.approx(expected, rel=1e-4)


@pytest.mark.parametrize("rule", ["jerk", "junction-deviation", "right-angle"])
def test_straight_on_is_no_corner_and_back_is_the_sharpest(rule: str) -> None:
    card = wide_open(
        rule, A, jerk_mm_s=Axes(x=8.0, y=8.0, z=1.0, e=4.0), junction_deviation_mm=0.02, right_angle_mm_s=5.0
    )
    assert entry_of_second(corner(0.0), card) == pytest.approx(150.0, rel=1e-6)
    # back on itself: the X axis changes its speed by 2 v
    back = 4.0 if rule == "jerk" else 0.0
    assert entry_of_second([{"x": 200.0, "f": 150.0}, {"x": 0.0, "f": 150.0}], card) == pytest.approx(back)


def test_jump_lets_each_axis_change_by_its_own() -> None:
    card = wide_open("jerk", A, jerk_mm_s=Axes(x=9.0, y=6.0, z=1.0, e=4.0))
    # 90 degrees: X falls from v to 0 (v <= 9), Y rises from 0 to v (v <= 6)
    assert entry_of_second(corner(90.0), card) == pytest.approx(6.0, rel=1e-5)
    # 45 degrees: X changes by 0.293 v (v <= 30.7), Y by 0.707 v (v <= 8.49)
    assert entry_of_second(corner(45.0), card) == pytest.approx(6.0 / math.sin(math.pi / 4), rel=1e-5)


def test_jump_counts_the_filament_axis() -> None:
    card = wide_open("jerk", A, jerk_mm_s=Axes(x=9.0, y=9.0, z=1.0, e=4.0))
    # straight on, from a travel to a bead with 0.1 mm of filament a mm: E jumps by 0.1 v, so v <= 40
    steps: list[Step] = [{"x": 200.0, "f": 150.0}, {"x": 400.0, "e": 20.0, "f": 150.0}]
    assert entry_of_second(steps, card) == pytest.approx(40.0, rel=1e-5)


def test_jump_next_to_filament_alone_looks_at_all_four_axes() -> None:
    card = wide_open("jerk", A, jerk_mm_s=Axes(x=9.0, y=9.0, z=1.0, e=4.0))
    # X from v to 0 allows 9; E from 0 to -v allows 4
    assert entry_of_second([{"x": 200.0, "f": 50.0}, {"e": -5.0, "f": 50.0}], card) == pytest.approx(4.0)
    # E turns from back to forward: 2 v <= 4
    assert entry_of_second([{"e": -5.0, "f": 50.0}, {"e": 5.0, "f": 50.0}], card) == pytest.approx(2.0)


@pytest.mark.parametrize("rule", ["junction-deviation", "right-angle"])
def test_deviation_rules_stop_next_to_filament_alone(rule: str) -> None:
    card = wide_open(rule, A, junction_deviation_mm=0.02, right_angle_mm_s=5.0)
    assert entry_of_second([{"x": 200.0, "f": 50.0}, {"e": -5.0, "f": 50.0}], card) == 0.0
    assert entry_of_second([{"e": -5.0, "f": 50.0}, {"x": 200.0, "f": 50.0}], card) == 0.0
    assert entry_of_second([{"e": -5.0, "f": 50.0}, {"e": 5.0, "f": 50.0}], card) == 0.0
    assert entry_of_second([{"e": -50.0, "f": 50.0}, {"e": -50.0, "f": 50.0}], card) == pytest.approx(50.0)


def test_jump_starts_and_ends_at_the_jump() -> None:
    card = wide_open("jerk", A, jerk_mm_s=Axes(x=10.0, y=8.0, z=1.0, e=4.0))
    moves = moves_of([{"x": 100.0, "f": 50.0}, {"y": 100.0, "f": 50.0}])
    said = settings_of(2)
    result = plan(moves, said, limits_for(said, card), [1])
    assert result.entry_mm_s == pytest.approx([10.0, 8.0])
    # by phases: from 10 to 50 in 40/1000 s over 1.2 mm, at 50 for the rest, and back to 10
    assert result.time_s[0] == pytest.approx(2 * 0.04 + (100.0 - 2 * 1.2) / 50.0, rel=1e-6)


def test_the_rule_changes_where_the_program_says_so() -> None:
    card = wide_open("junction-deviation", A, junction_deviation_mm=0.02)
    moves = moves_of([{"x": 200.0, "f": 150.0}, {"y": 200.0, "f": 150.0}, {"x": 0.0, "f": 150.0}])
    said = settings_of(3, {}, {"jerk_x_mm_s": 7.0, "jerk_y_mm_s": 7.0}, of_move=[0, 0, 1])
    result = plan(moves, said, limits_for(said, card), [])
    assert result.entry_mm_s[1] == pytest.approx(round_corner_speed(90.0, 0.02, A), rel=1e-5)
    assert result.entry_mm_s[2] == pytest.approx(7.0, rel=1e-5)
