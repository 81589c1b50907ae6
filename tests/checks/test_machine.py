"""The machine: each check fires at the right place, is silent on a near miss, and follows the cards."""

from __future__ import annotations

import math
from pathlib import Path

import numpy as np
import pytest
import shapely

from tests.checks.on_paper import (
    END,
    START,
    findings,
    line_with,
    not_checked,
    objections,
    opened,
    whole,
)
from tests.programs import box, loop
from viewer.checks.finding import Hazard, NotChecked, Severity

SMALL = {"plate": {"width_mm": 60.0, "depth_mm": 80.0}}


def test_a_bead_over_the_right_edge_is_a_stop(tmp_path: Path) -> None:
    text = whole(3)  # 50 .. 70 mm in X and Y
    (found,) = findings(opened(tmp_path, text, {"printer": SMALL}), "off-plate")
    assert found.severity is Severity.STOP
    assert found.layer == 1
    assert found.lines[0] == line_with(text, "X70.0000 Y50.0000 E")
    assert found.place_mm == pytest.approx((65.0, 60.0, 0.2), abs=0.01)
    # the bead's edge: A = 0.03 pi 1.75^2/4, w = (A - pi t^2/4)/t + t
    width = (0.03 * math.pi * 1.75**2 / 4 - math.pi * 0.01) / 0.2 + 0.2
    assert found.value == pytest.approx(70.0 + width / 2, abs=0.002)
    assert found.limit == 60.0


def test_beads_up_to_the_edge_are_no_matter(tmp_path: Path) -> None:
    text = whole(3)
    on_edge = {"plate": {"width_mm": 70.0, "depth_mm": 70.0}}
    assert not findings(opened(tmp_path, text, {"printer": on_edge}), "off-plate")
    beyond = {"plate": {"width_mm": 69.9, "depth_mm": 70.0}}
    assert len(findings(opened(tmp_path, text, {"printer": beyond}), "off-plate")) == 1


def test_the_workshop_card_moves_the_edge_or_switches_off(tmp_path: Path) -> None:
    rule = {"checks": {"off-plate": {"limit": 12.0}}}
    assert not findings(opened(tmp_path, whole(3), {"printer": SMALL, "workshop": rule}), "off-plate")
    rule = {"checks": {"off-plate": {"off": True, "reason": "the card is old"}}}
    program = opened(tmp_path, whole(3), {"printer": SMALL, "workshop": rule})
    (off,) = objections(program, "off-plate")
    assert isinstance(off, NotChecked)
    assert "the card is old" in off.sentence


def test_travel_outside_is_no_matter(tmp_path: Path) -> None:
    text = whole(2).replace("G1 Z20\n", "G1 X-30 Y300 Z300\nG1 X10 Y10 Z20\n")
    assert not findings(opened(tmp_path, text), "off-plate")


def test_below_the_plate(tmp_path: Path) -> None:
    sunk = START + loop([(50, 50), (70, 50), (70, 70)], -0.2, 0.0)[0] + END
    (found,) = findings(opened(tmp_path, sunk), "off-plate")
    assert found.severity is Severity.STOP
    assert found.value == pytest.approx(-0.2, abs=1e-6)
    assert "below the plate" in found.sentence


def test_above_the_height(tmp_path: Path) -> None:
    program = opened(tmp_path, whole(10), {"printer": {"height_mm": 1.5}})
    (found,) = findings(program, "off-plate")
    assert found.layer == 8
    assert found.value == pytest.approx(2.0, abs=1e-6)


def test_a_round_plate(tmp_path: Path) -> None:
    # the far corner (70, 70) lies sqrt(70^2 + 70^2) = 98.995 mm from the centre (0, 0)
    plate = {"shape": "circle", "diameter_mm": 196.0, "width_mm": None, "depth_mm": None}
    (found,) = findings(opened(tmp_path, whole(2), {"printer": {"plate": plate}}), "off-plate")
    assert found.place_mm is not None
    assert found.place_mm[:2] == pytest.approx((70.0, 70.0), abs=0.001)
    wide = {**plate, "diameter_mm": 198.0}
    assert not findings(opened(tmp_path, whole(2), {"printer": {"plate": wide}}), "off-plate")


def test_an_unknown_plate_is_said_not_to_be_checked(tmp_path: Path) -> None:
    unknown = {"plate": {"width_mm": None, "depth_mm": None}, "height_mm": None}
    program = opened(tmp_path, whole(2), {"printer": unknown})
    assert not findings(program, "off-plate")
    sentences = not_checked(program, "off-plate")
    assert len(sentences) == 2
    assert all("not checked" in sentence for sentence in sentences)


def test_purge_on_the_rim_is_a_note(tmp_path: Path) -> None:
    text = START + "G1 X20 Y-3 Z0.3\nG1 X80 Y-3 E4\nG92 E0\nG1 Z5\n" + box(5)[0] + END
    (found,) = findings(opened(tmp_path, text), "off-plate")
    assert found.severity is Severity.NOTE
    assert "Purge" in found.sentence


@pytest.mark.parametrize("seed", range(4))
def test_what_lies_outside_is_bounded_as_shapely_says(tmp_path: Path, seed: int) -> None:
    dice = np.random.default_rng(seed)
    points = [(float(x), float(y)) for x, y in np.round(dice.uniform(20, 200, (40, 2)), 3)]
    text = START + loop(points, 0.2, 0.0)[0] + END
    changes = {
        "printer": {"plate": {"left_mm": -100.0, "front_mm": -100.0, "width_mm": 220.0, "depth_mm": 900.0}}
    }
    (found,) = findings(opened(tmp_path, text, changes), "off-plate")
    outside = shapely.LineString(points).difference(shapely.box(-1000, -1000, 120, 1000))
    x_lo, y_lo, x_hi, y_hi = outside.bounds
    assert found.place_mm is not None
    assert found.place_mm[:2] == pytest.approx(((x_lo + x_hi) / 2, (y_lo + y_hi) / 2), abs=0.002)


def test_not_homed(tmp_path: Path) -> None:
    text = whole(2, START.replace("G28\n", ""))
    (found,) = findings(opened(tmp_path, text), "not-homed")
    assert found.lines == (line_with(text, " E0."),)
    assert found.value == 0.0
    assert "any axis" in found.sentence


@pytest.mark.parametrize("homing", ["G28", "G28 X Y\nG28 Z", "G28 W", "G28 X0 Y0\nG28 Z0", "g28"])
def test_homed_in_any_spelling(tmp_path: Path, homing: str) -> None:
    assert not objections(opened(tmp_path, whole(2, START.replace("G28", homing))), "not-homed")


def test_an_axis_left_out(tmp_path: Path) -> None:
    (found,) = findings(opened(tmp_path, whole(2, START.replace("G28", "G28 X Y"))), "not-homed")
    assert "before Z was homed" in found.sentence
    assert found.value == 2.0


def test_homing_after_the_beads_does_not_count(tmp_path: Path) -> None:
    text = whole(2, START.replace("G28\n", ""), "G28\n" + END)
    assert len(findings(opened(tmp_path, text), "not-homed")) == 1


def test_a_start_procedure_may_home(tmp_path: Path) -> None:
    text = whole(2, START.replace("G28", "START_PRINT BED=60"))
    program = opened(tmp_path, text)
    assert not findings(program, "not-homed")
    assert "START_PRINT" in not_checked(program, "not-homed")[0]


def test_too_hot_for_the_machine(tmp_path: Path) -> None:
    text = whole(2, START.replace("M109 S210", "M109 S290"))
    (found,) = findings(opened(tmp_path, text), "too-hot-for-machine")
    assert found.severity is Severity.STOP
    assert (found.value, found.limit) == (290.0, 275.0)
    assert found.lines == (line_with(text, "M109 S290"),)
    assert found.hazard is Hazard.HEAT
    assert not objections(opened(tmp_path, text.replace("S290", "S275")), "too-hot-for-machine")


def test_a_plate_too_hot(tmp_path: Path) -> None:
    text = whole(2, START.replace("M190 S60", "M190 R125"))
    (found,) = findings(opened(tmp_path, text), "too-hot-for-machine")
    assert "plate" in found.sentence
    assert (found.value, found.limit) == (125.0, 110.0)


def test_the_card_moves_the_heat_limit_or_does_not_know_it(tmp_path: Path) -> None:
    rule = {"checks": {"too-hot-for-machine": {"limit": 200.0, "severity": "look"}}}
    (found,) = findings(opened(tmp_path, whole(2), {"workshop": rule}), "too-hot-for-machine")
    assert found.severity is Severity.LOOK
    assert found.limit == 200.0
    unknown = {"heat": {"nozzle_max_c": None, "plate_max_c": None}}
    program = opened(tmp_path, whole(2), {"printer": unknown})
    assert len(not_checked(program, "too-hot-for-machine")) == 2


def test_heaters_left_on(tmp_path: Path) -> None:
    text = whole(2, end="M140 S0\nM84\n")
    (found,) = findings(opened(tmp_path, text), "heaters-left-on")
    assert found.value == 210.0
    assert found.lines == (line_with(text, "M109 S210"),)
    assert "unattended" not in found.sentence
    assert found.hazard is Hazard.HEAT


@pytest.mark.parametrize("off", ["M104 S0", "M104 T0 S0", "M109 R0", "G10 P0 S0 R0"])
def test_switched_off_in_any_spelling(tmp_path: Path, off: str) -> None:
    assert not objections(opened(tmp_path, whole(2, end=f"{off}\nM140 S0\nM84\n")), "heaters-left-on")


def test_each_of_two_nozzles_is_switched_off(tmp_path: Path) -> None:
    start = START.replace("M104 S210", "M104 T0 S210\nM104 T1 S205")
    two = {"printer": {"tools": 2}}
    (found,) = findings(opened(tmp_path, whole(2, start), two), "heaters-left-on")
    assert found.value == 205.0
    assert not findings(opened(tmp_path, whole(2, start, "M104 T1 S0\n" + END), two), "heaters-left-on")
    assert not findings(opened(tmp_path, whole(2, start)), "heaters-left-on")  # Heron has one nozzle


def test_hand_warm_is_no_matter_and_the_card_moves_that(tmp_path: Path) -> None:
    text = whole(2, end="M104 S0\nM140 S35\nM84\n")
    assert not findings(opened(tmp_path, text), "heaters-left-on")
    rule = {"checks": {"heaters-left-on": {"limit": 30.0}}}
    assert len(findings(opened(tmp_path, text, {"workshop": rule}), "heaters-left-on")) == 1


def test_an_end_procedure_may_switch_off(tmp_path: Path) -> None:
    program = opened(tmp_path, whole(2, end="END_PRINT\n"))
    assert not findings(program, "heaters-left-on")
    assert "END_PRINT" in not_checked(program, "heaters-left-on")[0]


def test_beyond_flow(tmp_path: Path) -> None:
    # 0.03 mm of filament a mm at 50 mm/s: 0.03 x 2.4053 mm2 x 50 = 3.608 mm3/s; the second half feeds 4 times that
    first, e = loop([(10, 20), (200, 20), (200, 60)], 0.2, 0.0)
    second, _ = loop([(200, 60), (10, 60), (10, 80)], 0.2, e, 0.12)
    text = START + first + second + END
    (found,) = findings(opened(tmp_path, text), "beyond-flow")
    assert found.value == pytest.approx(0.12 * math.pi * 1.75**2 / 4 * 50.0, rel=1e-3)
    assert found.limit == 11.0
    assert found.lines[0] == line_with(text, "X10.0000 Y60.0000 E")
    assert found.place_mm == pytest.approx((105.0, 60.0, 0.2), abs=0.01)
    fast = {"printer": {"melt_mm3_s": 15.0}}
    assert not findings(opened(tmp_path, text, fast), "beyond-flow")
    assert (
        len(findings(opened(tmp_path, text, {**fast, "filament": {"melt_mm3_s": 9.0}}), "beyond-flow")) == 1
    )
    rule = {"checks": {"beyond-flow": {"limit": 20.0}}}
    assert not findings(opened(tmp_path, text, {"workshop": rule}), "beyond-flow")


def test_flow_is_that_of_the_speed_reached(tmp_path: Path) -> None:
    # 2 mm zigzags from and to rest at 1000 mm/s2 reach at most sqrt(1000 x 2) = 44.7 mm/s, never the 300 asked for
    points = [(50.0 + 2.0 * (k % 2), 50.0) for k in range(200)]
    text = START.replace("F3000", "F18000") + loop(points, 0.2, 0.0)[0] + END
    limit = 0.03 * math.pi * 1.75**2 / 4 * 60.0
    rule = {"checks": {"beyond-flow": {"limit": limit}}}
    assert not findings(opened(tmp_path, text, {"workshop": rule}), "beyond-flow")


def test_without_a_melt_rate_flow_is_not_checked(tmp_path: Path) -> None:
    unknown = {"printer": {"melt_mm3_s": None}, "filament": {"melt_mm3_s": None}}
    assert len(not_checked(opened(tmp_path, whole(2), unknown), "beyond-flow")) == 1


def test_speed_cut_knows_the_direction(tmp_path: Path) -> None:
    # at 45 degrees each axis has 1/sqrt 2 of the speed: 30 mm/s an axis make 42.4 mm/s along the path
    straight = START.replace("F3000", "F2400") + loop([(50, 50), (150, 50)], 0.2, 0.0)[0] + END
    slanted = START.replace("F3000", "F2400") + loop([(50, 50), (150, 150)], 0.2, 0.0)[0] + END
    slow = {"printer": {"max_speed_mm_s": {"x": 30.0, "y": 30.0, "z": 12.0, "e": 60.0}}}
    (found,) = findings(opened(tmp_path, straight, slow), "speed-cut")
    assert found.value == pytest.approx(100.0)
    assert found.lines == (line_with(straight, "X150.0000"),)
    assert "40 mm/s where 30 mm/s are possible" in found.sentence
    assert not findings(opened(tmp_path, slanted, slow), "speed-cut")
    rule = {"checks": {"speed-cut": {"off": True, "reason": "an old machine"}}}
    assert not findings(opened(tmp_path, straight, {**slow, "workshop": rule}), "speed-cut")


def test_speed_cut_by_the_programs_own_limits_where_the_machine_obeys(tmp_path: Path) -> None:
    text = whole(2, "M203 X20 Y20\n" + START)
    assert len(findings(opened(tmp_path, text), "speed-cut")) == 1
    assert not findings(opened(tmp_path, text, {"printer": {"obeys_program_limits": False}}), "speed-cut")


@pytest.mark.parametrize(("per_mm", "word"), [(0.03, ""), (0.012, "narrow"), (0.10, "wide")])
def test_nozzle_mismatch(tmp_path: Path, per_mm: float, word: str) -> None:
    text = START
    e = 0.0
    for k in range(1, 5):
        piece, e = loop([(50, 50), (90, 50), (90, 90), (50, 90), (50, 50)], 0.2 * k, e, per_mm)
        text += piece
    found = findings(opened(tmp_path, text + END), "nozzle-mismatch")
    assert [word in finding.sentence for finding in found] == ([True] if word else [])
    if word:
        area = per_mm * math.pi * 1.75**2 / 4
        width = (
            (area - math.pi * 0.01) / 0.2 + 0.2 if area > math.pi * 0.01 else math.sqrt(4 * area / math.pi)
        )
        assert found[0].value == pytest.approx(width, abs=0.003)
    rule = {"checks": {"nozzle-mismatch": {"limit": 4.0}}}
    moved = findings(opened(tmp_path, text + END, {"workshop": rule}), "nozzle-mismatch")
    assert len(moved) == (1 if word == "narrow" else 0)
