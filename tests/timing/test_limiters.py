"""What each second of motion waits for: by hand, against a slow twin, and all seconds add up."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.timing.by_hand import Step, heron, moves_of, random_steps, settings_of, wide_open
from tests.timing.naive import AXES, Motion, cause_of, corner_speed, motions, rest_speed
from viewer.cards.printer import Axes, PrinterCard
from viewer.read.moves import PRIME, RETRACT, TRAVEL, Moves
from viewer.timing.limiters import ACCELERATIONS, CORNERS, GROUPS, LIMITERS, Limiters, limiters_of
from viewer.timing.limits import limits_for
from viewer.timing.plan import Plan, plan

RULES = ("jerk", "junction-deviation", "right-angle")
OF_AXES = ("X", "Y", "Z", "the filament drive")


def booked(
    steps: list[Step], card: PrinterCard, stops: tuple[int, ...] = (), **row: float
) -> tuple[Limiters, Plan, Moves]:
    moves = moves_of(steps)
    said = settings_of(len(moves), row)
    limits = limits_for(said, card)
    planned = plan(moves, said, limits, stops, card.planner_buffer_moves)
    return limiters_of(moves, said, limits, stops, planned), planned, moves


def ramps_at(limiters: Limiters) -> dict[str, float]:
    return {name: s for name, s in zip(CORNERS, limiters.ramps.sum(axis=(0, 1)).tolist(), strict=True) if s}


def test_one_bead_split_by_hand() -> None:
    # 100 mm at a commanded 100 mm/s: 1 s; X does 50: 1 s more; the two ramps at 1000 mm/s2 cost 50/1000 s
    card = heron(
        "junction-deviation",
        max_speed_mm_s=Axes(x=50.0, y=1e6, z=1e6, e=1e6),
        print_acceleration_mm_s2=1000.0,
    )
    found, _, _ = booked([{"x": 100.0, "e": 4.0, "f": 100.0}], card)
    assert found.commanded.tolist() == pytest.approx([1.0, 0.0, 0.0, 0.0], rel=1e-6)
    assert found.held[0, LIMITERS.index("top speed of X")] == pytest.approx(1.0, rel=1e-6)
    assert found.held.sum() == pytest.approx(1.0, rel=1e-6)
    ramps = found.ramps[0, ACCELERATIONS.index("print acceleration")]
    assert ramps[CORNERS.index("full stops")] == pytest.approx(0.05, rel=1e-5)
    assert found.limiter.tolist() == [1 + LIMITERS.index("top speed of X")]


def test_a_move_too_short_for_its_speed() -> None:
    # 1 mm at 1000 mm/s2 from stop to stop: a triangle of 2 sqrt(d/a), peak sqrt(a d) (Modern Robotics, 9.2.2.2);
    # its ramps cost d / peak against a steady peak, and that peak d / peak - d / v against the commanded speed
    card = wide_open("junction-deviation", 1000.0, junction_deviation_mm=0.02)
    found, _, _ = booked([{"x": 1.0, "e": 0.04, "f": 100.0}], card)
    peak = math.sqrt(1000.0)
    assert ramps_at(found) == pytest.approx(
        {"full stops": 1.0 / peak, "moves too short": 1.0 / peak - 0.01}, rel=1e-4
    )


@pytest.mark.parametrize(("axis", "name"), [("x", "jerk of X"), ("y", "jerk of Y")])
def test_a_corner_costs_the_jerk_of_the_axis_that_turns_most(axis: str, name: str) -> None:
    # straight back along one axis: the change of velocity is 2 v on it alone
    card = wide_open("jerk", 1000.0, jerk_mm_s=Axes(x=8.0, y=8.0, z=8.0, e=1e6))
    found, _, _ = booked([{axis: 50.0, "e": 2.0, "f": 60.0}, {axis: 0.0, "e": 2.0, "f": 60.0}], card)
    at = ramps_at(found)
    # rest at 8 mm/s, the turn at 4 mm/s; each ramp costs (60 - v)^2 / (2 a 60)
    assert at["full stops"] == pytest.approx(2 * (60 - 8) ** 2 / (2 * 1000 * 60), rel=1e-4)
    assert at[name] == pytest.approx(2 * (60 - 4) ** 2 / (2 * 1000 * 60), rel=1e-4)
    assert set(at) <= {"full stops", name, "moves too short"}


def test_a_slower_neighbour_and_a_stop_between_filament_and_path_are_named() -> None:
    card = wide_open("right-angle", 1000.0, right_angle_mm_s=5.0)
    steps: list[Step] = [{"x": 50.0, "e": 2.0, "f": 60.0}, {"x": 100.0, "e": 2.0, "f": 20.0}]
    found, _, _ = booked(steps, card)
    assert ramps_at(found)["slower move beside it"] == pytest.approx(
        (60 - 20) ** 2 / (2 * 1000 * 60), rel=1e-4
    )
    found, _, _ = booked([{"x": 50.0, "e": 2.0, "f": 60.0}, {"e": -1.0, "f": 30.0}], card)
    between = 60**2 / (2 * 1000 * 60) + 30**2 / (2 * 1000 * 30)
    assert ramps_at(found)["stops between filament and path"] == pytest.approx(between, rel=1e-4)


def test_a_full_stop_is_named_where_it_is_ordered() -> None:
    card = wide_open("junction-deviation", 1000.0, junction_deviation_mm=0.02)
    steps: list[Step] = [{"x": 50.0, "e": 2.0, "f": 60.0}, {"x": 100.0, "e": 2.0, "f": 60.0}]
    assert ramps_at(booked(steps, card)[0])["full stops"] == pytest.approx(0.06, rel=1e-4)
    assert ramps_at(booked(steps, card, stops=(1,))[0])["full stops"] == pytest.approx(0.12, rel=1e-4)


@pytest.mark.parametrize("rule", RULES)
@pytest.mark.parametrize("depth", [0, 4])
@pytest.mark.parametrize("seed", range(6))
def test_bookings_are_those_of_the_slow_twin(rule: str, depth: int, seed: int) -> None:
    steps = random_steps(seed, 60)
    steps += [
        {"x": 20 + 6 * math.cos(t / 6), "y": 20 + 6 * math.sin(t / 6), "e": 0.03, "f": 120.0}
        for t in range(20)
    ]
    card = heron(rule, planner_buffer_moves=depth, min_segment_time_s=0.01 if seed % 2 else 0.0)
    stops = (7, 30)
    found, planned, moves = booked(steps, card, stops)
    expected = slow_bookings(moves, card, planned, set(stops))
    assert found.commanded == pytest.approx(expected.commanded, abs=1e-5)
    assert found.held == pytest.approx(expected.held, abs=1e-5)
    assert found.ramps == pytest.approx(expected.ramps, abs=2e-4)
    assert found.limiter.tolist() == expected.limiter.tolist()
    assert found.leaving_mm_s == pytest.approx(expected.leaving_mm_s, rel=1e-4, abs=1e-4)


@given(seed=st.integers(0, 10_000), rule=st.sampled_from(RULES), depth=st.sampled_from([0, 2, 16]))
def test_all_seconds_add_up(seed: int, rule: str, depth: int) -> None:
    found, planned, _ = booked(random_steps(seed, 40), heron(rule, planner_buffer_moves=depth), stops=(11,))
    assert found.total_s == pytest.approx(planned.moving_s, abs=1e-6)
    assert min(found.commanded.min(), found.held.min(), found.ramps.min()) >= 0.0


# ---- the slow twin: reasons by trying each limit, losses by integrating over small steps of time


def slow_bookings(moves: Moves, card: PrinterCard, planned: Plan, stops: set[int]) -> Limiters:
    """Book every move by the definitions, with none of the kernel's code; entry and peak speeds are the plan's."""
    way = motions(moves, card)
    commanded = np.zeros(len(GROUPS))
    held = np.zeros((len(GROUPS), len(LIMITERS)))
    ramps = np.zeros((len(GROUPS), len(ACCELERATIONS), len(CORNERS)))
    limiter, leaving = np.zeros(len(moves), np.uint8), np.zeros(len(moves), np.float32)
    group_of = {"bead": 0, "travel": 1, "retract and prime": 2, "height changes": 3}
    moving = [i for i, motion in enumerate(way) if motion.distance > 0.0]
    for place, i in enumerate(moving):
        motion, group = way[i], group_of[cause_of(moves, i)]
        limiter[i] = _limiter(moves, i, motion, card)
        wanted = float(moves.speed_mm_s[i])
        at_limit = motion.distance / motion.limit
        at_wanted = motion.distance / wanted if limiter[i] else at_limit
        commanded[group] += at_wanted
        if limiter[i]:
            held[group, limiter[i] - 1] += at_limit - at_wanted
        before = moving[place - 1] if place and not _stop_between(moving[place - 1], i, stops) else None
        last = place + 1 == len(moving) or _stop_between(i, moving[place + 1], stops)
        after = None if last else moving[place + 1]
        v0, peak = float(planned.entry_mm_s[i]), float(planned.peak_mm_s[i])
        v1 = rest_speed(motion, card) if after is None else float(planned.entry_mm_s[after])
        v1 = min(v1, math.sqrt(v0**2 + 2 * motion.acceleration * motion.distance))
        accel = _acceleration(moves, i, motion, card)
        at_entry = "full stops" if before is None else _corner(way[before], motion, v0, card)
        at_exit = "full stops" if after is None else _corner(motion, way[after], v1, card)
        ramps[group, accel, CORNERS.index(at_entry)] += _lost(v0, peak, motion.acceleration)
        ramps[group, accel, CORNERS.index(at_exit)] += _lost(v1, peak, motion.acceleration)
        short = motion.distance / peak - motion.distance / motion.limit
        ramps[group, accel, CORNERS.index("moves too short")] += max(short, 0.0)
        leaving[i] = v1
    return Limiters(commanded, held, ramps, limiter, leaving)


def _stop_between(i: int, j: int, stops: set[int]) -> bool:
    return any(i < stop <= j for stop in stops)


def _lost(v: float, peak: float, acceleration: float, steps: int = 4000) -> float:
    """Integrate 1 - v(t) / peak over a ramp between a speed and the peak."""
    lasting = (peak - v) / acceleration
    middles = (np.arange(steps) + 0.5) * lasting / steps
    return float(np.sum(1.0 - (v + acceleration * middles) / peak) * lasting / steps)


def _limiter(moves: Moves, i: int, motion: Motion, card: PrinterCard) -> int:
    wanted = float(moves.speed_mm_s[i])
    ceilings = {0: wanted}
    for k, axis in enumerate(AXES):
        if abs(motion.direction[k]) > 0.0:
            ceilings[1 + k] = getattr(card.max_speed_mm_s, axis) / abs(float(motion.direction[k]))
    if card.min_segment_time_s:
        ceilings[1 + LIMITERS.index("shortest move")] = motion.distance / card.min_segment_time_s
    lowest = min(ceilings.values())
    return 0 if wanted <= lowest * (1 + 1e-9) else min(ceilings, key=lambda key: ceilings[key])


def _acceleration(moves: Moves, i: int, motion: Motion, card: PrinterCard) -> int:
    kind = int(moves.kind[i])
    own = 1 if kind == TRAVEL else 2 if kind in (RETRACT, PRIME) else 0
    of_kind = (
        card.print_acceleration_mm_s2, card.travel_acceleration_mm_s2, card.retract_acceleration_mm_s2
    )[own]  # fmt: skip
    own_cut = {
        3 + k: getattr(card.max_acceleration_mm_s2, axis) / abs(float(motion.direction[k]))
        for k, axis in enumerate(AXES)
        if abs(motion.direction[k]) > 0.0
    }
    lowest = min(own_cut, key=lambda key: own_cut[key])
    return lowest if own_cut[lowest] < of_kind * (1 - 1e-9) else own


def _corner(a: Motion, b: Motion, v: float, card: PrinterCard) -> str:
    slower, rule = min(a.limit, b.limit), corner_speed(a, b, card)
    allowed = min(slower, rule)
    if v < allowed * (1 - 1e-4):  # the twin takes ways from places stored as float32
        return "moves too short"
    if slower <= rule:
        return "slower move beside it"
    if card.corner.rule != "jerk":
        return "stops between filament and path" if a.alone or b.alone else "rounding of corners"
    jerk = card.corner.jerk_mm_s
    assert jerk is not None
    change = [
        abs(float(b.direction[k] - a.direction[k])) / getattr(jerk, axis) for k, axis in enumerate(AXES)
    ]
    return f"jerk of {OF_AXES[int(np.argmax(change))]}"
