"""The filament: temperatures, abrasive filler, and what is left on the spool."""

from __future__ import annotations

import math
from pathlib import Path

import pytest

from tests.checks.on_paper import (
    END,
    START,
    findings,
    line_with,
    merged,
    not_checked,
    objections,
    opened,
    whole,
)
from tests.programs import box, loop, square
from viewer import with_cards
from viewer.checks.finding import Hazard, Severity


def at(nozzle: int, plate: int = 60, layers: int = 5) -> str:
    return whole(layers, START.replace("S210", f"S{nozzle}").replace("S60", f"S{plate}"))


@pytest.mark.parametrize("nozzle", [185, 210, 230])
def test_within_the_window(tmp_path: Path, nozzle: int) -> None:
    """The bundled card of PLA: 185 to 230 degC (common practice, no source)."""
    assert not objections(opened(tmp_path, at(nozzle)), "wrong-heat")


def test_too_hot_for_the_filament(tmp_path: Path) -> None:
    text = at(245)
    (found,) = findings(opened(tmp_path, text), "wrong-heat")
    assert found.severity is Severity.LOOK
    assert (found.value, found.limit, found.layer) == (245.0, 230.0, 1)
    assert found.lines == (line_with(text, "M109 S245"), line_with(text, " E0."))
    assert found.hazard is Hazard.HEAT


RATES = {"printer": {"heat": {"room_c": 20.0, "nozzle_warming_c_s": 2.0, "plate_warming_c_s": 0.5}}}


def test_a_first_bead_that_does_not_wait_for_the_nozzle(tmp_path: Path) -> None:
    """The nozzle warms by 2 degC/s from 20 degC, while the machine homes and goes to the first bead."""
    text = at(210).replace("M190 S60\nM109 S210\n", "")
    program = opened(tmp_path, text, RATES)
    (found,) = findings(program, "wrong-heat")
    assert found.severity is Severity.LOOK
    bead = int(found.move or 0)
    before = float(program.timing.progress.time_at_move(bead)[0])
    assert found.value == pytest.approx(20.0 + 2.0 * before)
    assert 20.0 + 2.0 * program.printer.homing.seconds <= found.value < 100.0
    assert found.limit == 210.0
    assert found.lines == (line_with(text, "M104 S210"), line_with(text, " E0."))
    assert "does not wait for the nozzle (M109)" in found.sentence


def test_waiting_for_the_plate_may_be_long_enough(tmp_path: Path) -> None:
    """The plate warms by 0.5 degC/s: 80 s to 60 degC, in which the nozzle gains 160 degC."""
    text = at(190).replace("M109 S190\n", "")
    assert not findings(opened(tmp_path, text, RATES), "wrong-heat")
    assert findings(opened(tmp_path, text.replace("S190", "S225"), RATES), "wrong-heat")


def test_a_procedure_of_the_machine_may_wait_for_the_nozzle(tmp_path: Path) -> None:
    text = at(210).replace("M190 S60\nM109 S210\n", "PRINT_START\n")
    assert not findings(opened(tmp_path, text), "wrong-heat")


def test_cold_extrusion_is_a_stop_and_merely_cool_is_not(tmp_path: Path) -> None:
    (found,) = findings(opened(tmp_path, at(150)), "wrong-heat")
    assert found.severity is Severity.STOP
    assert (found.value, found.limit) == (150.0, 185.0)
    (found,) = findings(opened(tmp_path, at(175)), "wrong-heat")
    assert found.severity is Severity.LOOK


def test_a_filament_that_melts_low_is_not_cold(tmp_path: Path) -> None:
    low = {"filament": {"nozzle_c": {"low": 70.0, "high": 160.0}}}
    assert not findings(opened(tmp_path, at(90), low), "wrong-heat")
    assert findings(opened(tmp_path, at(60), low), "wrong-heat")[0].severity is Severity.STOP


def test_wrong_only_in_later_layers(tmp_path: Path) -> None:
    lower, e = box(4)
    upper = box(8, e=e)[0].split("Z1.0000")[1]
    text = START + lower + "M104 S160\nG1 X50 Y50 Z1.0000" + upper + END
    (found,) = findings(opened(tmp_path, text), "wrong-heat")
    assert found.lines[0] == line_with(text, "M104 S160")
    assert found.layer == 5


def test_a_standby_temperature_before_the_beads_is_no_matter(tmp_path: Path) -> None:
    text = whole(3, START.replace("M104 S210", "M104 S120"))
    assert not findings(opened(tmp_path, text), "wrong-heat")


def test_the_nozzle_of_the_tool_in_use_counts(tmp_path: Path) -> None:
    start = START.replace("M109 S210", "M109 T0 S250\nM109 T1 S205\nT1")
    assert not findings(opened(tmp_path, whole(3, start), {"printer": {"tools": 2}}), "wrong-heat")
    used = START.replace("M109 S210", "M109 T1 S250\nM109 T0 S205\nT1")
    assert len(findings(opened(tmp_path, whole(3, used), {"printer": {"tools": 2}}), "wrong-heat")) == 1


def second_nozzle(change: str, second_c: int) -> str:
    """Two layers by tool 0 at 205 degC, then two by tool 1."""
    text, e = box(2)
    text = START.replace("M109 S210", f"M109 T0 S205\nM109 T1 S{second_c}") + text + change + "\n"
    for layer in (3, 4):
        piece, e = loop(square(20.0), layer * 0.2, e)
        text += piece
    return text + END


TWO_NOZZLES = {"printer": {"tools": 2}}


@pytest.mark.parametrize("change", ["T1", "M6 T1", "M06T1"])
def test_the_second_nozzle_at_a_wrong_heat(tmp_path: Path, change: str) -> None:
    text = second_nozzle(change, 250)
    (found,) = findings(opened(tmp_path, text, TWO_NOZZLES), "wrong-heat")
    assert found.severity is Severity.LOOK
    assert (found.value, found.limit, found.layer) == (250.0, 230.0, 3)
    lines = text.split("\n")
    first = next(k for k in range(lines.index(change), len(lines)) if " E" in lines[k]) + 1
    assert found.lines == (line_with(text, "M109 T1"), first)
    (cold,) = findings(opened(tmp_path, second_nozzle(change, 150), TWO_NOZZLES), "wrong-heat")
    assert cold.severity is Severity.STOP


@pytest.mark.parametrize(
    ("change", "second_c"),
    [
        ("M6 T1", 230),  # the window ends there
        ("M6 T0", 250),  # the tool in use: the hot nozzle lays nothing
        ("M6", 250),
        ("M6 T1\nM109 S215", 250),  # changed before the first bead
    ],
)
def test_the_second_nozzle_at_a_right_heat_or_not_in_use(tmp_path: Path, change: str, second_c: int) -> None:
    assert not findings(opened(tmp_path, second_nozzle(change, second_c), TWO_NOZZLES), "wrong-heat")


def test_a_tool_works_at_the_temperature_that_g10_gave_it(tmp_path: Path) -> None:
    """S is written before the change and holds from it on; R, at which the tool rests, lays nothing."""
    text = second_nozzle("T1", 205).replace("M109 T1 S205", "G10 P1 S{} R120")
    (found,) = findings(opened(tmp_path, text.format(245), TWO_NOZZLES), "wrong-heat")
    assert (found.value, found.layer, found.lines[0]) == (245.0, 3, line_with(text, "G10 P1"))
    assert not findings(opened(tmp_path, text.format(225), TWO_NOZZLES), "wrong-heat")


def test_other_nozzles_on_a_card_follow_a_change_of_the_card(tmp_path: Path) -> None:
    """With one nozzle M109 T1 heats the nozzle in use."""
    text = second_nozzle("M6 T0", 250)
    two = opened(tmp_path, text, TWO_NOZZLES)
    one = with_cards(two, printer=merged(two.printer, {"tools": 1}))
    assert not findings(two, "wrong-heat")
    assert [found.value for found in findings(one, "wrong-heat")] == [250.0]
    nozzle = [program.settings.column("nozzle_c").max() for program in (two, one)]
    assert nozzle == [210.0, 250.0]
    back = with_cards(one, printer=two.printer)
    assert not findings(back, "wrong-heat")


def test_the_plate_in_the_first_layer(tmp_path: Path) -> None:
    (found,) = findings(opened(tmp_path, at(210, 95)), "wrong-heat")
    assert "plate set to 95 degC" in found.sentence
    later = whole(5).replace("Z0.4000", "Z0.4000\nM140 S95")
    assert not findings(opened(tmp_path, later), "wrong-heat")


def test_a_start_procedure_sets_the_heat_last(tmp_path: Path) -> None:
    start = "M109 S0\nPRINT_START EXTRUDER_TEMP=245 BED_TEMP=60\nG90\nM82\nG92 E0\nG1 F3000\n"
    (found,) = findings(opened(tmp_path, whole(5, start)), "wrong-heat")
    assert found.value == 245.0
    assert found.lines[0] == 2


def test_never_heated(tmp_path: Path) -> None:
    start = "G90\nM82\nG28\nG92 E0\nG1 F3000\n"
    (found,) = findings(opened(tmp_path, whole(5, start)), "wrong-heat")
    assert found.severity is Severity.LOOK
    assert "without ever setting the nozzle's" in found.sentence
    needs_plate = {"filament": {"plate_c": {"low": 90.0, "high": 110.0}}}
    assert len(findings(opened(tmp_path, whole(5, start), needs_plate), "wrong-heat")) == 2


def test_cards_move_the_window_or_do_not_know_it(tmp_path: Path) -> None:
    rule = {"workshop": {"checks": {"wrong-heat": {"limit": 20.0}}}}
    assert not findings(opened(tmp_path, at(245), rule), "wrong-heat")
    unknown = {"filament": {"nozzle_c": None, "plate_c": None}}
    assert len(not_checked(opened(tmp_path, at(245), unknown), "wrong-heat")) == 2


def test_abrasive(tmp_path: Path) -> None:
    filled = {"filament": {"abrasive": True}}
    (found,) = findings(opened(tmp_path, whole(2), filled), "abrasive")
    assert found.severity is Severity.LOOK
    assert "dust" in found.remedy
    assert not findings(
        opened(tmp_path, whole(2), {**filled, "printer": {"nozzle_hardened": True}}), "abrasive"
    )
    off = {"workshop": {"checks": {"abrasive": {"off": True, "reason": "nozzles are cheap"}}}}
    assert not findings(opened(tmp_path, whole(2), {**filled, **off}), "abrasive")


def spool(left_g: float) -> dict[str, dict[str, float]]:
    return {"filament": {"spool_left_g": left_g}}


def test_spool_short(tmp_path: Path) -> None:
    # 100 layers of 80 mm, 0.03 mm of filament a mm: 240 mm, x pi 1.75^2/4 mm2 x 1.24 g/cm3 = 0.7158 g
    needed = 100 * 80 * 0.03 * math.pi * 1.75**2 / 4 * 1.24e-3
    text = whole(100)
    (found,) = findings(opened(tmp_path, text, spool(0.7)), "spool-short")
    assert found.severity is Severity.LOOK
    assert found.value == pytest.approx(needed, rel=1e-4)
    (found,) = findings(opened(tmp_path, text, spool(0.74)), "spool-short")
    assert found.severity is Severity.NOTE
    assert not findings(opened(tmp_path, text, spool(0.76)), "spool-short")
    rule = {"workshop": {"checks": {"spool-short": {"limit": 20.0}}}}
    assert len(findings(opened(tmp_path, text, {**spool(0.76), **rule}), "spool-short")) == 1


def test_an_unknown_spool_is_not_checked(tmp_path: Path) -> None:
    assert len(not_checked(opened(tmp_path, whole(2)), "spool-short")) == 1
