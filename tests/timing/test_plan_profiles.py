"""Whole plans: against a textbook, against an independent numerical solution, and by their symmetries."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.timing.by_hand import Step, heron, moves_of, random_steps, settings_of, wide_open
from tests.timing.naive import grid_times, motions, node_speeds, trapezoid
from viewer.cards.printer import Axes, PrinterCard
from viewer.read.moves import Moves
from viewer.timing.limits import limits_for
from viewer.timing.plan import Plan, plan

RULES = ("jerk", "junction-deviation", "right-angle")


def planned(moves: Moves, card: PrinterCard, stops: tuple[int, ...] = (), **row: float) -> Plan:
    said = settings_of(len(moves), row)
    return plan(moves, said, limits_for(said, card), stops, card.planner_buffer_moves)


@pytest.mark.parametrize(
    ("distance", "speed", "acceleration"),
    [
        (100.0, 50.0, 1000.0),
        (2.5, 50.0, 1000.0),
        (1.0, 80.0, 500.0),
        (0.05, 200.0, 3000.0),
        (300.0, 20.0, 100.0),
    ],
)
def test_one_move_takes_the_time_of_the_textbook(distance: float, speed: float, acceleration: float) -> None:
    # K. Lynch, F. Park, Modern Robotics (2017), section 9.2.2.2: with v <= sqrt(a d) a trapezoid of
    # T = d/v + v/a, else a triangle of T = 2 sqrt(d/a)
    card = wide_open("junction-deviation", acceleration, junction_deviation_mm=0.02)
    result = planned(moves_of([{"x": distance, "f": speed}]), card)
    reached = min(speed, math.sqrt(acceleration * distance))
    expected = distance / speed + speed / acceleration
    if speed > math.sqrt(acceleration * distance):
        expected = 2 * math.sqrt(distance / acceleration)
    assert result.moving_s == pytest.approx(expected, rel=1e-6)
    assert result.time_s[0] == pytest.approx(expected, rel=1e-6)
    assert result.peak_mm_s[0] == pytest.approx(reached, rel=1e-6)
    assert result.entry_mm_s[0] == 0.0


@pytest.mark.parametrize("rule", RULES)
@pytest.mark.parametrize("seed", range(4))
def test_a_whole_way_takes_the_time_of_the_numerical_solution(rule: str, seed: int) -> None:
    steps = random_steps(seed, 14)
    # a fine curve as well: the corner speeds bind over several moves there
    steps += [
        {"x": 20 + 6 * math.cos(t / 6), "y": 20 + 6 * math.sin(t / 6), "e": 0.03, "f": 120.0}
        for t in range(12)
    ]
    moves, card = moves_of(steps), heron(rule)
    result = planned(moves, card, (5, 9))
    expected = grid_times(moves, card, {5, 9}, cells=800)
    assert result.moving_s == pytest.approx(expected.sum(), rel=0.005)
    assert result.time_s == pytest.approx(expected, rel=0.01, abs=2e-4)


@pytest.mark.parametrize("rule", RULES)
def test_limits_and_corners_are_those_of_the_slow_twin(rule: str) -> None:
    steps = random_steps(11, 60)
    moves, card = moves_of(steps), heron(rule, min_segment_time_s=0.05)
    result = planned(moves, card, (20,), speed_factor=1.3)
    way = motions(moves, card, factor=1.3)
    assert result.limit_mm_s == pytest.approx([motion.limit for motion in way], rel=1e-5)
    speeds = node_speeds(way, card, {20})
    slack = 1e-4
    exits = np.append(result.entry_mm_s[1:], 0.0)
    for i, (motion, (start, end)) in enumerate(zip(way, speeds, strict=True)):
        assert result.entry_mm_s[i] <= start + slack
        last = i in (19, len(way) - 1)
        leaving = (
            exits[i]
            if not last
            else min(
                end, math.sqrt(float(result.entry_mm_s[i]) ** 2 + 2 * motion.acceleration * motion.distance)
            )
        )
        phases = trapezoid(
            motion.distance, float(result.entry_mm_s[i]), float(leaving), motion.limit, motion.acceleration
        )
        assert result.time_s[i] == pytest.approx(phases, rel=1e-3, abs=1e-5)


@pytest.mark.parametrize("rule", RULES)
def test_every_corner_speed_is_as_high_as_it_can_be(rule: str) -> None:
    """Each entry is at its corner's limit, or reached by full acceleration, or left by full braking."""
    moves, card = moves_of(random_steps(3, 40)), heron(rule)
    result = planned(moves, card)
    way = motions(moves, card)
    speeds = node_speeds(way, card, set())
    entry = result.entry_mm_s.astype(np.float64)
    for i in range(1, len(way) - 1):
        before, here = way[i - 1], way[i]
        pushed = math.sqrt(entry[i - 1] ** 2 + 2 * before.acceleration * before.distance)
        braked = math.sqrt(entry[i + 1] ** 2 + 2 * here.acceleration * here.distance)
        assert entry[i] == pytest.approx(min(speeds[i][0], pushed, braked), rel=1e-4, abs=1e-3)


way_points = st.lists(st.tuples(st.integers(0, 400), st.integers(0, 400)), min_size=2, max_size=20).map(
    lambda points: [a for a, b in zip(points, [(-1, -1), *points], strict=False) if a != b]
)


def _polyline(points: list[tuple[int, int]]) -> list[Step]:
    x0, y0 = points[0]
    return [{"x": (x - x0) / 10, "y": (y - y0) / 10, "f": 90.0} for x, y in points[1:]]


@pytest.mark.parametrize("rule", RULES)
@settings(max_examples=40, deadline=None, derandomize=True)
@given(points=way_points.filter(lambda points: len(points) > 1))
def test_the_way_back_takes_as_long(rule: str, points: list[tuple[int, int]]) -> None:
    card = heron(rule, max_speed_mm_s=Axes(x=60.0, y=60.0, z=12.0, e=40.0))
    there = planned(moves_of(_polyline(points)), card)
    back = planned(moves_of(_polyline(points[::-1])), card)
    assert there.moving_s == pytest.approx(back.moving_s, rel=1e-4)


@pytest.mark.parametrize("rule", RULES)
@settings(max_examples=25, deadline=None, derandomize=True)
@given(seed=st.integers(0, 10_000), depth=st.sampled_from([0, 1, 3, 16]))
def test_twice_the_acceleration_never_takes_longer(rule: str, seed: int, depth: int) -> None:
    moves = moves_of(random_steps(seed, 25))
    slow = heron(rule, planner_buffer_moves=depth)
    quick = heron(
        rule,
        planner_buffer_moves=depth,
        max_acceleration_mm_s2=Axes(x=5000.0, y=4000.0, z=300.0, e=6000.0),
        print_acceleration_mm_s2=2400.0,
        travel_acceleration_mm_s2=3600.0,
        retract_acceleration_mm_s2=4400.0,
    )
    assert planned(moves, quick).moving_s <= planned(moves, slow).moving_s * (1 + 1e-6)


def test_m220_scales_the_commanded_speed() -> None:
    moves = moves_of([{"x": 100.0, "f": 20.0}])
    card = wide_open("jerk", 1e9, jerk_mm_s=Axes(x=1e6, y=1e6, z=1e6, e=1e6))
    assert planned(moves, card).moving_s == pytest.approx(5.0, rel=1e-5)
    assert planned(moves, card, speed_factor=0.5).moving_s == pytest.approx(10.0, rel=1e-5)
    assert planned(moves, card, speed_factor=2.0).moving_s == pytest.approx(2.5, rel=1e-5)


def test_without_a_commanded_speed_the_machine_s_own_limits_hold() -> None:
    result = planned(moves_of([{"x": 30.0, "y": 40.0}, {"z": 10.0}, {"e": -2.0}]), heron())
    # 3-4-5: X at 250 / 0.6 = 416.7, Y at 200 / 0.8 = 250
    assert result.limit_mm_s == pytest.approx([250.0, 12.0, 40.0])


def test_the_filament_drive_limits_a_bead() -> None:
    # 10 mm of filament on 20 mm: the drive's 40 mm/s allow 80 mm/s along the path
    assert planned(moves_of([{"x": 20.0, "e": 10.0, "f": 120.0}]), heron()).limit_mm_s[0] == pytest.approx(
        80.0
    )


def test_a_short_move_is_slowed_to_the_least_segment_time() -> None:
    moves = moves_of([{"x": 0.1 * i, "f": 100.0} for i in range(1, 200)])
    result = planned(moves, heron(min_segment_time_s=0.02))
    assert result.limit_mm_s == pytest.approx(np.full(199, 5.0), rel=1e-3)
    assert result.moving_s >= 199 * 0.02 * 0.999


def test_a_path_cap_holds_for_paths_and_not_for_filament_alone() -> None:
    moves = moves_of([{"x": 50.0, "f": 100.0}, {"e": -5.0, "f": 35.0}])
    assert planned(moves, heron(), max_path_mm_s=30.0).limit_mm_s == pytest.approx([30.0, 35.0])


def test_homing_takes_no_time_and_stops_the_machine() -> None:
    steps: list[Step] = [{"x": 50.0, "f": 50.0}, {"x": 0.0, "place": 1.0}, {"x": 50.0, "f": 50.0}]
    card = wide_open("junction-deviation", 1000.0, junction_deviation_mm=0.02)
    result = planned(moves_of(steps), card)
    one = 50.0 / 50.0 + 50.0 / 1000.0
    assert result.time_s == pytest.approx([one, 0.0, one], rel=1e-6)
    assert result.peak_mm_s[1] == result.entry_mm_s[1] == 0.0


def test_a_stop_costs_one_braking_and_one_start() -> None:
    moves = moves_of([{"x": 50.0, "f": 50.0}, {"x": 100.0, "f": 50.0}])
    card = wide_open("junction-deviation", 1000.0, junction_deviation_mm=0.02)
    # straight on the corner costs nothing; each stop adds v/a = 50 ms
    assert planned(moves, card).moving_s == pytest.approx(2.05, rel=1e-6)
    assert planned(moves, card, (1,)).moving_s == pytest.approx(2.10, rel=1e-6)


def test_a_move_without_length_is_passed_at_full_speed() -> None:
    steps: list[Step] = [{"x": 50.0, "f": 50.0}, {"f": 50.0}, {"x": 100.0, "f": 50.0}]
    card = wide_open("junction-deviation", 1000.0, junction_deviation_mm=0.02)
    assert planned(moves_of(steps), card).moving_s == pytest.approx(2.05, rel=1e-6)


def test_no_moves_at_all() -> None:
    result = planned(moves_of([]), heron())
    assert result.moving_s == 0.0
    assert result.moving_before([0]) == pytest.approx([0.0])


def test_inputs_may_be_read_only_and_outputs_are() -> None:
    moves = moves_of(random_steps(1, 5))
    moves.x_mm.flags.writeable = False
    result = planned(moves, heron())
    with pytest.raises(ValueError, match="read-only"):
        result.time_s[0] = 1.0


def test_time_before_a_move_is_the_sum_of_the_moves_before() -> None:
    moves = moves_of([{"x": float(i % 7), "y": float(i % 3), "f": 50.0} for i in range(2500)])
    result = planned(moves, heron())
    marks = [0, 1, 1023, 1024, 1025, 2048, 2499, 2500]
    expected = [result.time_s[:mark].sum(dtype=np.float64) for mark in marks]
    assert result.moving_before(marks) == pytest.approx(expected, rel=1e-12)
    assert result.moving_before([2500])[0] == pytest.approx(result.moving_s, rel=1e-12)
