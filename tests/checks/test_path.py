"""The path against the print and the room: boxes whose walls are known, and moves at known depths."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import Any

import pytest

from tests.checks.on_paper import END, START, findings, line_with, not_checked, opened, outcomes, whole
from tests.programs import box, spiral
from viewer.cards import load_printer
from viewer.checks.finding import Finding, Hazard, Passed, Severity
from viewer.errors import CardError

INTO, HEAD, BELOW, REACH = "drives-into-print", "head-hits-print", "below-plate", "beyond-reach"
OFF = "M104 S0\nM140 S0\nM107\nM84\n"
# a box of one wall about (50, 50), 20 mm wide and 20 layers of 0.2 mm high
TALL = 20


def ended(way: str, layers: int = TALL) -> str:
    """The box, and a way to the end."""
    return whole(layers, end=way + OFF)


def told(folder: Path, text: str, slug: str, printer: Mapping[str, Any] | None = None) -> Finding:
    (found,) = findings(opened(folder, text, {"printer": printer or {}}), slug)
    return found


def passed(folder: Path, text: str, slug: str, printer: Mapping[str, Any] | None = None) -> str:
    (one,) = outcomes(opened(folder, text, {"printer": printer or {}}), slug)
    assert isinstance(one, Passed)
    return one.sentence


def test_travel_through_a_wall_is_told_with_depth_place_and_both_lines(tmp_path: Path) -> None:
    text = ended("G0 X20 Y52\nG0 Z1.5\nG0 X52 ; through\nG0 Z30\n")
    found = told(tmp_path, text, INTO)
    program = opened(tmp_path, text)
    left = float(program.moves.x_mm[program.moves.kind == 1].min())
    assert found.value == pytest.approx(4.0 - 1.5, abs=1e-4)
    assert found.place_mm == pytest.approx((left, 52.0, 1.5), abs=0.5)
    assert found.lines[0] == line_with(text, "; through")
    assert found.hazard is Hazard.MOVING_PARTS
    assert "in layer 20" in found.sentence
    assert "4.00 mm high" in found.sentence


def test_a_short_way_is_to_be_looked_at_and_a_long_one_is_a_stop(tmp_path: Path) -> None:
    across = told(tmp_path, ended("G0 X20 Y52\nG0 Z1.5\nG0 X52\nG0 Z30\n"), INTO)  # a wall of 0.4 mm
    assert across.severity is Severity.LOOK
    x = float(opened(tmp_path, whole()).moves.x_mm[-4])
    along = told(tmp_path, ended(f"G0 Z10\nG0 X{x} Y45\nG0 Z1.5\nG0 Y55\nG0 Z30\n"), INTO)
    assert along.severity is Severity.STOP


@pytest.mark.parametrize(
    "way",
    [
        "G0 Z14\nG0 X20 Y52\nG0 Z1\n",  # down beside the box
        "G0 X52 Y52\n",  # away at the height of the last layer
        "G0 Z3.7\nG0 X52 Y52\n",  # 0.3 mm below the top: less than the nozzle's bore
        "G0 Z14\nG0 X55 Y55\nG0 Z1\nG0 X56\nG0 Z14\n",  # down into the hollow of the box
        "G28 X Y\n",
        "G28\n",  # X and Y at home first, then down beside the box
    ],
)
def test_what_meets_nothing_is_silent_and_says_so(tmp_path: Path, way: str) -> None:
    assert "0.4 mm below the top" in passed(tmp_path, ended(way), INTO)


def test_beads_that_are_laid_later_do_not_count(tmp_path: Path) -> None:
    low = "G0 Z0.3\nG0 X20 Y52\nG0 X80\nG0 Z5\n"
    text = START + low + box(TALL)[0] + END
    assert passed(tmp_path, text, INTO)
    assert told(tmp_path, START + box(TALL)[0] + low + END, INTO)


def test_homing_z_over_the_box_is_to_be_looked_at_unless_the_card_homes_it_up(tmp_path: Path) -> None:
    text = ended("G28 Z\n")
    found = told(tmp_path, text, INTO)
    assert found.severity is Severity.LOOK
    assert found.value == pytest.approx(4.0)
    assert "Homing in line" in found.sentence
    assert passed(tmp_path, text, INTO, {"homing": {"z_mm": 250}})


def test_homing_in_mid_print_is_told_by_its_own_check(tmp_path: Path) -> None:
    text = whole(TALL)
    text = text.replace("Z3.0000", "Z3.0000\nG28 Z\nG0 Z3.0000", 1)
    assert "G28 Z" in text
    assert findings(opened(tmp_path, text), INTO) == []


def test_a_spiral_and_a_wipe_at_its_height_are_silent(tmp_path: Path) -> None:
    text = START + spiral(8) + "G1 X60 Y50 E-1\nG0 Z20\n" + OFF
    assert passed(tmp_path, text, INTO)


def test_purge_before_the_first_layer_does_not_count(tmp_path: Path) -> None:
    purge = "G1 X10 Y5 Z8 F3000\nG1 X60 E20\n"
    text = START + purge + "G92 E0\n" + box(TALL)[0] + END
    assert passed(tmp_path, text, INTO)


def test_the_workshop_card_moves_the_depth(tmp_path: Path) -> None:
    text = ended("G0 X20 Y52\nG0 Z1.5\nG0 X52\nG0 Z30\n")
    for limit, count in ((2.4, 1), (2.6, 0)):
        program = opened(tmp_path, text, {"workshop": {"checks": {INTO: {"limit": limit}}}})
        assert len(findings(program, INTO)) == count


def in_turn(gap: float, layers: int = TALL) -> str:
    """Two boxes one after another along X, with a gap between their middle lines."""
    first, e = box(layers, x=100.0)
    return START + first + "G0 Z30\n" + box(layers, x=100.0 - 20.0 - gap, e=e)[0] + END


def head(**keys: float) -> dict[str, dict[str, float]]:
    sides = {"left_mm": 10.0, "right_mm": 10.0, "front_mm": 10.0, "back_mm": 10.0}
    return {"head": {**sides, "gantry_mm": 40.0, **keys}}


def test_a_head_that_reaches_the_finished_object_is_a_stop(tmp_path: Path) -> None:
    found = told(tmp_path, in_turn(12.0), HEAD, head(right_mm=30.0))
    assert found.severity is Severity.STOP
    assert found.value == pytest.approx(4.0 - 0.2, abs=1e-3)
    assert found.layer == TALL + 1
    assert "4.00 mm high" in found.sentence


def test_a_head_that_reaches_a_little_too_far_is_to_be_looked_at(tmp_path: Path) -> None:
    assert told(tmp_path, in_turn(12.0), HEAD, head(right_mm=15.0)).severity is Severity.LOOK


@pytest.mark.parametrize(
    "keys",
    [
        {"right_mm": 10.0},  # ends before it
        {"right_mm": 10.0, "left_mm": 90.0},  # reaches to the other side
        {"right_mm": 30.0, "underside_mm": 5.0},  # passes over it
    ],
)
def test_a_head_that_misses_is_silent_and_says_so(tmp_path: Path, keys: dict[str, float]) -> None:
    assert "strikes nothing" in passed(tmp_path, in_turn(12.0), HEAD, head(**keys))


def test_what_follows_homing_at_the_end_is_left_out(tmp_path: Path) -> None:
    text = ended("G28\nG0 X20 Y50\n")
    assert passed(tmp_path, text, HEAD, head(right_mm=60.0))
    lowered = told(tmp_path, ended("G0 X20 Y50\nG0 Z1\n"), HEAD, head(right_mm=60.0))
    assert lowered.value == pytest.approx(3.0)


def test_the_gantry_strikes_what_stands_in_its_row_however_far(tmp_path: Path) -> None:
    found = told(tmp_path, in_turn(60.0), HEAD, head(gantry_mm=3.0))
    assert found.severity is Severity.LOOK
    assert found.value == pytest.approx(4.0 - 3.2, abs=1e-3)
    assert "gantry" in found.sentence
    assert passed(tmp_path, in_turn(60.0), HEAD, head(gantry_mm=3.7))


def test_an_unknown_head_is_told_only_where_it_matters(tmp_path: Path) -> None:
    (said,) = not_checked(opened(tmp_path, in_turn(12.0)), HEAD)
    assert "3.8 mm lower" in said
    assert "stands higher" in passed(tmp_path, whole(TALL), HEAD)


def test_travel_below_the_plate_is_a_stop_beside_it_and_before_the_first_bead_nothing(tmp_path: Path) -> None:
    dip = "G0 Z10\nG0 X{x} Y150\nG0 Z-{z}\nG0 Z10\n"
    found = told(tmp_path, ended(dip.format(x=150, z=0.8)), BELOW)
    assert (found.severity, found.value) == (Severity.STOP, pytest.approx(0.8))
    assert found.place_mm == pytest.approx((150.0, 150.0, -0.8))
    assert told(tmp_path, ended(dip.format(x=150, z=0.2)), BELOW).severity is Severity.LOOK
    assert passed(tmp_path, ended(dip.format(x=150, z=0.03)), BELOW)
    assert passed(tmp_path, ended(dip.format(x=-15, z=0.8)), BELOW)
    probe = START + dip.format(x=150, z=0.8) + box(TALL)[0] + END
    assert passed(tmp_path, probe, BELOW)


def test_travel_is_compared_with_the_reach_and_without_one_with_the_plate(tmp_path: Path) -> None:
    reach = {"reach": {"left_mm": -5, "right_mm": 230, "front_mm": -5, "back_mm": 230, "top_mm": 260}}
    text = ended("G0 Z20\nG0 X228 Y240 ; park\n")
    found = told(tmp_path, text, REACH, reach)
    assert (found.severity, found.value) == (Severity.LOOK, pytest.approx(10.0))
    assert "Y 240.0" in found.sentence
    assert found.lines[0] == line_with(text, "; park")
    (said,) = not_checked(opened(tmp_path, text), REACH)
    assert (
        "8.0 mm beyond the right edge of the plate, 20.0 mm beyond the back edge of the plate of Heron"
        in said
    )
    assert passed(tmp_path, ended("G0 Z20\nG0 X210 Y210\n"), REACH)
    (said,) = not_checked(opened(tmp_path, ended(""), {"printer": {"height_mm": None}}), REACH)
    assert "unknown" in said


def test_damaged_coordinates_make_neither_a_huge_map_nor_an_endless_search(tmp_path: Path) -> None:
    wild = "G1 X900000000 Y50.5 E400\nG1 X50 Y50 E401\nG0 Z-90000000\nG0 X-900000000 Z900000\nG0 Z30\n"
    program = opened(tmp_path, ended(wild), {"printer": head(right_mm=1e9, gantry_mm=1.0)})
    for slug in (INTO, HEAD, REACH):
        assert outcomes(program, slug)


@pytest.mark.parametrize(
    ("keys", "wrong"),
    [
        ("[head]\nleft_mm = 10\n", "head.right_mm"),
        ("[head]\nunderside_mm = 10\ngantry_mm = 5\n", "head.gantry_mm"),
        ("[reach]\nleft_mm = 10\nright_mm = 5\n", "reach.left_mm"),
    ],
)
def test_cards_whose_head_or_reach_makes_no_sense_are_refused(tmp_path: Path, keys: str, wrong: str) -> None:
    card = tmp_path / "odd.toml"
    bundled = Path(__file__).parents[2] / "viewer/cards/bundled/printers/heron.toml"
    card.write_text(bundled.read_text(encoding="utf-8") + "\n" + keys, encoding="utf-8")
    with pytest.raises(CardError, match=wrong.replace(".", r"\.")):
        load_printer(card)
