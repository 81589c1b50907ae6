"""Levers against the world: closed forms, whole runs of changed cards and changed programs, and the nominal time."""

from __future__ import annotations

import math
import re
from collections.abc import Callable
from pathlib import Path

import msgspec
import numpy as np
import pytest

from viewer import load_printer, open_program, with_cards
from viewer.cards.printer import Axes, Corner, PrinterCard
from viewer.errors import BeadlineError, Stopped
from viewer.program import Program
from viewer.why.trials import LEVERS, inputs_of, lever_named, levers, replan, total_s_of, under_trial

INF = math.inf


def card_of(**changes: object) -> PrinterCard:
    """Return a card that limits nothing but by what is given, with the rule of junction deviation."""
    wide = Axes(x=1e9, y=1e9, z=1e9, e=1e9)
    values: dict[str, object] = {
        "max_speed_mm_s": wide, "max_acceleration_mm_s2": wide, "print_acceleration_mm_s2": 1000.0,
        "travel_acceleration_mm_s2": 1000.0, "retract_acceleration_mm_s2": 1000.0, "min_segment_time_s": 0.0,
        "planner_buffer_moves": 0, "corner": Corner(rule="junction-deviation", junction_deviation_mm=0.02),
    }  # fmt: skip
    return msgspec.structs.replace(load_printer("heron"), **(values | changes))


def program_of(tmp_path: Path, text: str, card: PrinterCard | str | None = None) -> Program:
    path = tmp_path / "way.gcode"
    path.write_text(text, encoding="ascii")
    return open_program(path, card)


@pytest.fixture(scope="module")
def knob() -> Program:
    return open_program("sample_programs/radiator_knob_arcs.gcode")


def saved(program: Program, **trial: float) -> float:
    return program.timing.total_s - total_s_of(program, {k.replace("_", "-"): v for k, v in trial.items()})


# ---- closed forms


def test_one_straight_move(tmp_path: Path) -> None:
    # Lynch and Park, Modern Robotics (2017), 9.2.2.2: T = d/v + v/a where v <= sqrt(a d), else T = 2 sqrt(d/a)
    program = program_of(tmp_path, "M83\nG1 X100 E4 F6000\n", card_of())
    assert program.timing.total_s == pytest.approx(100 / 100 + 100 / 1000, rel=1e-6)
    assert saved(program, print_acceleration=2.0) == pytest.approx(100 / 1000 - 100 / 2000, rel=1e-5)
    assert saved(program, print_acceleration=INF) == pytest.approx(100 / 1000, rel=1e-5)
    assert saved(program, travel_acceleration=INF) == 0.0
    short = program_of(tmp_path, "M83\nG1 X4 E0.2 F6000\n", card_of())
    halved = 2 * math.sqrt(4 / 1000) - 2 * math.sqrt(4 / 2000)
    assert saved(short, print_acceleration=2.0) == pytest.approx(halved, rel=1e-5)


def test_one_corner(tmp_path: Path) -> None:
    # a right angle by junction deviation: v^2 = a delta s / (1 - s), s = sin(45 deg); the ramps beside it cost
    # (v_cruise - v)^2 / (2 a v_cruise) each
    program = program_of(tmp_path, "M83\nG1 X50 E2 F3600\nG1 Y50 E2\n", card_of())
    s = math.sin(math.pi / 4)

    def ramps(delta: float) -> float:
        v = math.sqrt(1000 * delta * s / (1 - s))
        return float(2 * (60 - v) ** 2 / (2 * 1000 * 60))

    assert program.timing.total_s == pytest.approx(100 / 60 + 60 / 1000 + ramps(0.02), rel=1e-6)
    assert saved(program, corner=2.0) == pytest.approx(ramps(0.02) - ramps(0.04), rel=1e-4)
    assert saved(program, corner=INF) == pytest.approx(ramps(0.02), rel=1e-4)


def test_a_raster_of_equal_lines(tmp_path: Path) -> None:
    # lines of 50 mm joined by steps of 5 mm, all at 50 mm/s; each corner is taken at the jerk (an axis goes from v to 0)
    lines = "".join(f"G1 X{60 if k % 2 == 0 else 10} E2\nG1 Y{10 + 5 * (k + 1)} E0.2\n" for k in range(10))
    jerk = Axes(x=10.0, y=10.0, z=10.0, e=1e6)
    card = card_of(corner=Corner(rule="jerk", jerk_mm_s=jerk))
    program = program_of(tmp_path, f"M83\nG1 X10 Y10 F3000\nM400\n{lines}", card)
    before = replan(program, {}).time_s[1:].sum(dtype=np.float64)

    def closed(a: float, jerk_mm_s: float) -> float:
        ramp = (50 - jerk_mm_s) ** 2 / (2 * a * 50)  # every end of every move, from the jerk to 50 mm/s
        return 10 * (50 / 50 + 2 * ramp) + 10 * (5 / 50 + 2 * ramp)

    assert before == pytest.approx(closed(1000, 10), rel=1e-6)
    for trial, expected in (
        ({"print-acceleration": 2.0}, closed(2000, 10)),
        ({"corner": 2.0}, closed(1000, 20)),
        ({"corner": 2.0, "print-acceleration": 2.0}, closed(2000, 20)),
    ):
        assert replan(program, trial).time_s[1:].sum(dtype=np.float64) == pytest.approx(expected, rel=1e-6)


def test_speeds_retracts_hops_and_waits_in_closed_form(tmp_path: Path) -> None:
    fast = card_of(
        print_acceleration_mm_s2=1e9, travel_acceleration_mm_s2=1e9, retract_acceleration_mm_s2=1e9
    )
    text = (
        "M83\nM0\nG4 S7\n;LAYER:0\nG1 X10 Z0.2 F6000\nG1 X60 E2 F3000\n;LAYER:1\nG1 Z0.4 F600\nG1 X10 E2 F3000\n"
        "G1 E-1.5 F1800\nG0 Z1.4 F600\nG0 X70 F12000\nG0 Z0.4 F600\nG1 E1.5 F1800\nG1 X120 E2 F3000\n"
    )
    program = program_of(tmp_path, text, fast)
    assert saved(program, travel_speed=2.0) == pytest.approx((10.0 / 100 + 60.0 / 200) / 2, abs=1e-3)
    assert saved(program, retract_speed=2.0) == pytest.approx(3.0 / 30 / 2, rel=1e-3)
    assert saved(program, retract_length=0.5) == pytest.approx(3.0 / 30 / 2, rel=1e-3)
    assert saved(program, hop_height=0.5) == pytest.approx(2 * 0.5 / 10, rel=1e-3)
    assert saved(program, hop_height=0.0) == pytest.approx(2 * 1.0 / 10, rel=1e-3)
    assert saved(program, dwells=0.0) == pytest.approx(7.0, rel=1e-6)
    assert saved(program, pauses=0.0) == pytest.approx(fast.pause_s, rel=1e-6)
    assert saved(program, speed_first_layer=2.0) == pytest.approx(0.5, rel=1e-3)


def names() -> set[str]:
    return {lever.name for lever in LEVERS}


# ---- a lever is the changed card, or the changed program


def _card(program: Program, **changes: object) -> PrinterCard:
    return msgspec.structs.replace(program.printer, obeys_program_limits=False, **changes)


@pytest.mark.parametrize("factor", [1.25, 2.0])
def test_gains_are_those_of_a_whole_run_with_the_changed_card(knob: Program, factor: float) -> None:
    program = with_cards(knob, _card(knob))
    card = program.printer
    speed, accel, jerk = card.max_speed_mm_s, card.max_acceleration_mm_s2, card.corner.jerk_mm_s
    assert jerk is not None
    replace = msgspec.structs.replace
    changed: dict[str, dict[str, object]] = {
        "print-acceleration": {"print_acceleration_mm_s2": card.print_acceleration_mm_s2 * factor},
        "travel-acceleration": {"travel_acceleration_mm_s2": card.travel_acceleration_mm_s2 * factor},
        "retract-acceleration": {"retract_acceleration_mm_s2": card.retract_acceleration_mm_s2 * factor},
        "acceleration-of-Z": {"max_acceleration_mm_s2": replace(accel, z=accel.z * factor)},
        "top-speed-of-Z": {"max_speed_mm_s": replace(speed, z=speed.z * factor)},
        "top-speed-of-X-and-Y": {"max_speed_mm_s": replace(speed, x=speed.x * factor, y=speed.y * factor)},
        "corner-z": {"corner": replace(card.corner, jerk_mm_s=replace(jerk, z=jerk.z * factor))},
        "shortest-move": {"min_segment_time_s": card.min_segment_time_s * factor},
        "plate-warming": {"heat": replace(card.heat, plate_warming_c_s=card.heat.plate_warming_c_s * factor)},
        "homing": {"homing": replace(card.homing, seconds=card.homing.seconds * factor)},
    }
    for name, changes in changed.items():
        whole = with_cards(program, replace(card, **changes)).timing.total_s
        assert total_s_of(program, {name: factor}) == pytest.approx(whole, abs=1e-9), name
        assert replan(program, {name: factor}).total_s == pytest.approx(whole, abs=1e-9), name
    both = {"print-acceleration": factor, "corner-z": factor}
    whole = with_cards(
        program, replace(card, **changed["print-acceleration"], **changed["corner-z"])
    ).timing.total_s
    assert total_s_of(program, both) == pytest.approx(whole, abs=1e-9)


@pytest.mark.parametrize(
    ("name", "factor", "rewritten"),
    [
        (
            "print-acceleration",
            2.0,
            lambda text: re.sub(r"(M204 P)(\d+)", lambda m: f"{m[1]}{2 * int(m[2])}", text),
        ),
        ("dwells", 0.0, lambda text: text.replace("G4 S9", "M117 9")),
        ("pauses", 0.0, lambda text: text.replace("M0", "M117 0")),
        (
            "heat-together",
            0.0,
            lambda text: text.replace("M140 S60\n", "M140 S60\nM104 S200\n"),
        ),
    ],
)
def test_gains_are_those_of_the_changed_program(
    tmp_path: Path, name: str, factor: float, rewritten: Callable[[str], str]
) -> None:
    text = (
        "M83\nM140 S60\nM190 S60\nM104 S200\nM109 S200\nM204 P800 T900\nG1 X20 Y20 Z0.2 F6000\n"
        "G1 X60 E2 F3000\nG1 Y60 E2\nM0\nG4 S9\nM204 P500\nG1 X20 E2\nG1 Y20 E2\n"
    )
    program = program_of(tmp_path, text)
    (tmp_path / "other").mkdir()
    other = program_of(tmp_path / "other", rewritten(text))
    assert rewritten(text) != text
    assert total_s_of(program, {name: factor}) == pytest.approx(other.timing.total_s, abs=1e-9)
    assert total_s_of(program, {name: factor}) < program.timing.total_s


@pytest.mark.parametrize("sample", ["tap_washer_tray", "radiator_knob_arcs", "lamp_shade_ring_spiral"])
@pytest.mark.parametrize("depth", [0, 16])
def test_without_limits_the_nominal_time_is_left(sample: str, depth: int) -> None:
    card = msgspec.structs.replace(load_printer("heron"), planner_buffer_moves=depth)
    program = open_program(f"sample_programs/{sample}.gcode", card)
    free = {
        lever.name: 0.0 if lever.name == "shortest-move" else INF
        for lever in LEVERS
        if lever.place == "machine" and (INF in lever.factors or lever.name == "shortest-move")
    }
    timing = replan(program, free)
    assert timing.moving_s == pytest.approx(program.timing.nominal_s, rel=1e-6)


# ---- ranking


def test_levers_are_ranked_and_those_that_give_nothing_are_said(knob: Program) -> None:
    told: list[float] = []
    outcomes = levers(knob, lambda _what, share: told.append(share))
    gains = [outcome.usual.saved_s for outcome in outcomes]
    assert gains == sorted(gains, reverse=True)
    assert any(outcome.helps for outcome in outcomes) and any(not outcome.helps for outcome in outcomes)
    assert told[-1] == 1.0 and told == sorted(told)
    for outcome in outcomes:
        for one in outcome.tries:
            assert one.total_s == total_s_of(knob, {outcome.lever.name: one.factor})
            assert one.saved_s == knob.timing.total_s - one.total_s


def test_every_lever_says_what_it_may_cost() -> None:
    assert len(names()) == len(LEVERS)
    for lever in LEVERS:
        assert lever.cost.endswith(".") and lever.title
        machine = lever.place == "machine" and lever.name not in ("levelling", "tool-changes", "answering")
        assert lever.asks_more or not machine, lever.name


def test_a_trial_leaves_the_program_as_it_is(knob: Program) -> None:
    before = knob.timing.total_s, knob.moves.speed_mm_s.copy(), knob.moves.z_mm.copy()
    tried = under_trial(knob, {lever.name: lever.factors[-1] for lever in LEVERS})
    assert tried.timing.total_s < before[0]
    assert knob.timing.total_s == before[0]
    assert np.array_equal(knob.moves.speed_mm_s, before[1]) and np.array_equal(knob.moves.z_mm, before[2])
    assert inputs_of(knob, {}).moves is knob.moves


def test_trials_can_be_stopped(knob: Program) -> None:
    with pytest.raises(Stopped):
        levers(knob, stop=lambda: True)


def test_an_unknown_lever_and_a_bad_factor_are_told(knob: Program) -> None:
    with pytest.raises(BeadlineError, match="nearest is print-acceleration"):
        lever_named("print-aceleration")
    with pytest.raises(BeadlineError, match="0 or more"):
        replan(knob, {"corner": -1.0})
