"""What the machine does in the course of a print: part fan, waits, homing, slow lines, settings that stay, the plate."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.checks.on_paper import END, START, findings, line_with, not_checked, opened, passed, whole
from tests.checks.test_midprint import at_height, slow
from tests.programs import box
from viewer.checks.finding import Hazard, Severity


def with_fan(layers: int = 40) -> str:
    """A box of two minutes whose fan runs from layer 2 on."""
    return at_height(slow(layers), 0.4, "M106 S255")


class TestPartFan:
    def test_it_runs(self, tmp_path: Path) -> None:
        program = opened(tmp_path, with_fan())
        assert findings(program, "part-fan") == []
        (said,) = passed(program, "part-fan")
        assert "30 % of its power or more for 100 % of the time" in said
        assert "at most 100 %" in said
        assert "first runs in layer 2" in said

    def test_it_never_runs(self, tmp_path: Path) -> None:
        (found,) = findings(opened(tmp_path, slow(40)), "part-fan")
        assert found.severity is Severity.LOOK
        assert "never runs" in found.sentence
        assert found.layer == 5
        assert found.value == 100.0

    def test_it_never_runs_fast_enough(self, tmp_path: Path) -> None:
        text = at_height(slow(40), 0.4, "M106 S51")
        (found,) = findings(opened(tmp_path, text), "part-fan")
        assert "never runs at more than 20 %" in found.sentence
        assert findings(opened(tmp_path, text, {"filament": {"fan_percent": 20.0}}), "part-fan") == []

    def test_it_runs_for_the_last_layers_only(self, tmp_path: Path) -> None:
        (found,) = findings(opened(tmp_path, at_height(slow(40), 7.6, "M106")), "part-fan")
        assert found.value == pytest.approx(100.0 * 33 / 36, abs=1.0)
        assert "does not run at 30 % or more" in found.sentence

    def test_it_is_turned_off_for_good(self, tmp_path: Path) -> None:
        text = at_height(with_fan(), 4.0, "M107")
        (found,) = findings(opened(tmp_path, text), "part-fan")
        assert found.lines[0] == line_with(text, "M107")
        assert found.layer == 20
        assert "turns the part fan off for good" in found.sentence

    def test_one_that_comes_and_goes_is_controlled_by_the_layers(self, tmp_path: Path) -> None:
        text = at_height(
            at_height(at_height(with_fan(), 2.0, "M107"), 5.0, "M106"), 5.4, "M107 ; slow layers"
        )
        assert findings(opened(tmp_path, text), "part-fan") == []

    def test_what_the_filament_wants_may_be_unknown(self, tmp_path: Path) -> None:
        program = opened(tmp_path, slow(40), {"filament": {"fan_percent": None}})
        assert findings(program, "part-fan") == []
        assert "is unknown" in not_checked(program, "part-fan")[0]

    @pytest.mark.parametrize(
        ("old", "new", "why"),
        [
            ("M109 S210", "M109 S250", "what PLA does not want"),
            ("M109 S210", "M109 S210\nM126", "M126"),
            ("M109 S210", "M109 S210\nM106 P2 S255", "fans with numbers"),
            ("M109 S210", "M109 S210\nPRINT_START", "PRINT_START"),
            ("M140 S60", "; filament_type = PETG\nM140 S60", "made for PETG"),
            ("M109 S210", "M105", "does not set the nozzle's temperature"),
        ],
    )
    def test_for_another_filament_or_fan_it_is_not_judged(
        self, tmp_path: Path, old: str, new: str, why: str
    ) -> None:
        text = slow(40).replace(old, new)
        if "M105" in new:
            text = text.replace("M104 S210\n", "")
        program = opened(tmp_path, text)
        assert findings(program, "part-fan") == []
        assert why in not_checked(program, "part-fan")[0]

    def test_full_power_in_layer_1(self, tmp_path: Path) -> None:
        (found,) = findings(opened(tmp_path, with_fan().replace("G28\n", "G28\nM106\n")), "part-fan")
        assert found.layer == 1
        assert found.value == 100.0

    @pytest.mark.parametrize(("power", "severity"), [("1", Severity.LOOK), ("0.6", Severity.NOTE)])
    def test_power_up_to_one(self, tmp_path: Path, power: str, severity: Severity) -> None:
        text = with_fan().replace("M106 S255", f"M106 S{power}")
        (found,) = findings(opened(tmp_path, text), "part-fan")
        assert found.severity is severity
        assert found.lines[0] == line_with(text, f"M106 S{power}")

    def test_few_beads_tell_nothing(self, tmp_path: Path) -> None:
        program = opened(tmp_path, whole(8))
        assert findings(program, "part-fan") == []
        assert "less than 60 s of beads" in passed(program, "part-fan")[0]


class TestPlate:
    def test_nothing_waits(self, tmp_path: Path) -> None:
        text = slow().replace("M190 S60\n", "").replace("S60", "S70")
        (found,) = findings(opened(tmp_path, text), "plate-still-cold")
        assert found.hazard is Hazard.HEAT
        assert found.limit == 10.0
        assert found.value is not None
        assert found.value > 10.0

    @pytest.mark.parametrize("wait", ["M190 S60", "M190", "M116", "M140 S60\nG4 S120"])
    def test_it_is_waited_for(self, tmp_path: Path, wait: str) -> None:
        program = opened(tmp_path, slow().replace("M190 S60", wait))
        assert findings(program, "plate-still-cold") == []
        assert "60 of 60 degC" in passed(program, "plate-still-cold")[0]

    def test_none_is_heated(self, tmp_path: Path) -> None:
        program = opened(tmp_path, slow().replace("M190 S60\n", "").replace("M140 S60\n", ""))
        assert passed(program, "plate-still-cold") == [
            "The plate is not heated: there is nothing to wait for."
        ]

    def test_the_machines_own_beginning_may_wait(self, tmp_path: Path) -> None:
        program = opened(tmp_path, slow().replace("M190 S60", "PRINT_START"))
        assert findings(program, "plate-still-cold") == []
        assert "PRINT_START" in not_checked(program, "plate-still-cold")[0]


class TestStandstill:
    @pytest.mark.parametrize(
        "wait", ["G4 S8", "G4 P8000", "M0", "M1", "M25", "M226", "M109 R190", "G4 S3\nG4 S3"]
    )
    def test_on_the_part(self, tmp_path: Path, wait: str) -> None:
        text = at_height(slow(), 2.0, wait)
        (found,) = findings(opened(tmp_path, text), "stands-still")
        assert found.severity is Severity.LOOK
        assert found.hazard is Hazard.HEAT
        assert found.lines[0] == text.split("\n").index(wait.split("\n")[0]) + 1
        assert found.layer == 9

    @pytest.mark.parametrize(
        "wait", ["G4 S4", "G1 Z20\nG4 S60", "G1 X10 Y10 F6000\nM0", "M600", "M601", "M400", "M0 S2"]
    )
    def test_short_or_off_the_part(self, tmp_path: Path, wait: str) -> None:
        assert findings(opened(tmp_path, at_height(slow(), 2.0, wait)), "stands-still") == []

    def test_many_places_are_one_finding(self, tmp_path: Path) -> None:
        text = at_height(at_height(slow(), 2.0, "G4 S8"), 3.0, "G4 S9")
        first, second = findings(opened(tmp_path, text), "stands-still")
        assert first.alike == second.alike == "standstill"

    def test_many_short_waits_are_a_note(self, tmp_path: Path) -> None:
        text = at_height(slow(), 2.0, "\n".join(["G4 P2000\nG1 Z1.9\nG1 Z2.0"] * 200))
        (found,) = findings(opened(tmp_path, text), "stands-still")
        assert found.severity is Severity.NOTE
        assert found.value == pytest.approx(400.0)
        few = at_height(slow(), 2.0, "\n".join(["G4 P200\nG1 Z1.9\nG1 Z2.0"] * 200))
        assert "200 waits" in passed(opened(tmp_path, few), "stands-still")[0]

    def test_waits_before_and_behind_the_print_are_silent(self, tmp_path: Path) -> None:
        text = slow().replace("G28\n", "G28\nG4 S60\nM0\n").replace("M84\n", "G4 S60\nM84\n")
        assert passed(opened(tmp_path, text), "stands-still") == [
            "Between the first bead of the part and its last nothing makes the nozzle wait."
        ]


class TestHoming:
    @pytest.mark.parametrize("command", ["G28 Z", "G28 Z0", "G30", "G29", "G161 Z F200"])
    def test_onto_the_part_is_a_stop(self, tmp_path: Path, command: str) -> None:
        text = at_height(slow(), 2.0, command)
        (found,) = findings(opened(tmp_path, text), "homed-in-print")
        assert found.severity is Severity.STOP
        assert found.hazard is Hazard.MOVING_PARTS
        assert found.lines[0] == line_with(text, command)
        assert found.value == pytest.approx(1.8)

    def test_all_axes_are_a_stop_only_where_the_part_lies_below(self, tmp_path: Path) -> None:
        text = at_height(slow(), 2.0, "G28")
        (beside,) = findings(opened(tmp_path, text), "homed-in-print")
        assert beside.severity is Severity.LOOK
        (onto,) = findings(
            opened(tmp_path, text, {"printer": {"homing": {"x_mm": 50.0, "y_mm": 70.0}}}), "homed-in-print"
        )
        assert onto.severity is Severity.STOP

    @pytest.mark.parametrize("command", ["G28 X Y", "G28 X", "G162 Z"])
    def test_sideways_and_up_is_to_be_looked_at(self, tmp_path: Path, command: str) -> None:
        (found,) = findings(opened(tmp_path, at_height(slow(), 2.0, command)), "homed-in-print")
        assert found.severity is Severity.LOOK

    def test_a_machine_that_homes_at_the_top(self, tmp_path: Path) -> None:
        top = {"printer": {"homing": {"z_mm": 240.0}}}
        (found,) = findings(opened(tmp_path, at_height(slow(), 2.0, "G28 Z"), top), "homed-in-print")
        assert found.severity is Severity.LOOK

    def test_onto_the_first_layer_is_to_be_looked_at(self, tmp_path: Path) -> None:
        (found,) = findings(opened(tmp_path, at_height(slow(), 0.4, "G28 Z")), "homed-in-print")
        assert found.severity is Severity.LOOK

    def test_before_and_behind_is_silent(self, tmp_path: Path) -> None:
        text = slow().replace("G28\n", "G28\nG29\n").replace("M84\n", "G28 X\nM84\n")
        assert len(passed(opened(tmp_path, text), "homed-in-print")) == 1

    def test_motors_off_and_homed_again_is_homing(self, tmp_path: Path) -> None:
        program = opened(tmp_path, at_height(slow(), 2.0, "M84\nG28"))
        assert findings(program, "off-in-print") == []
        assert len(findings(program, "homed-in-print")) == 1
        assert len(findings(opened(tmp_path, at_height(slow(), 2.0, "M84\nG28 X")), "off-in-print")) == 1


class TestSlowLines:
    def test_a_speed_meant_in_mm_s(self, tmp_path: Path) -> None:
        text = at_height(slow(), 2.0, "G1 F30")
        (found,) = findings(opened(tmp_path, text), "slow-lines")
        assert found.severity is Severity.LOOK
        assert "0.5 mm/s (F30)" in found.sentence
        assert found.value == pytest.approx(80.0, rel=0.02)  # 40 mm

    def test_a_speed_factor_counts(self, tmp_path: Path) -> None:
        assert len(findings(opened(tmp_path, at_height(slow(), 2.0, "M220 S1")), "slow-lines")) == 1

    def test_many_that_are_short(self, tmp_path: Path) -> None:
        text = at_height(slow(), 2.0, "G1 F60")
        (found,) = findings(opened(tmp_path, text), "slow-lines")
        assert "lines slower than 3 mm/s" in found.sentence

    def test_before_the_print_it_is_a_note(self, tmp_path: Path) -> None:
        text = slow().replace("G92 E0\n", "G1 X40 Y60 F30\nG92 E0\n")
        (found,) = findings(opened(tmp_path, text), "slow-lines")
        assert found.severity is Severity.NOTE

    @pytest.mark.parametrize(
        "command", ["G1 Z1.5 F1\nG1 F3000", "G1 X60 F200\nG1 F3000", "G1 E10 F5\nG92 E0\nG1 F3000"]
    )
    def test_what_is_usual_is_silent(self, tmp_path: Path, command: str) -> None:
        program = opened(tmp_path, slow().replace("G92 E0\n", f"G92 E0\n{command}\nG92 E0\n"))
        assert findings(program, "slow-lines") == []
        assert len(passed(program, "slow-lines")) == 1


class TestLastingSettings:
    @pytest.mark.parametrize(
        "command",
        [
            "M92 E415", "M206 Z-0.3", "M851 Z-1.2", "M218 T1 X20", "M290 Z0.1", "M302 P1", "M302 S0", "M211 S0",
            "M211 X0 Y0 Z0", "M500", "M502", "G10 L2 P1 Z-0.2", "G10 L20 P1 X0",
        ],
    )  # fmt: skip
    def test_it_stays(self, tmp_path: Path, command: str) -> None:
        text = START + command + "\n" + slow().removeprefix(START)
        (found,) = findings(opened(tmp_path, text), "lasting-settings")
        assert found.severity is Severity.LOOK
        assert found.lines == (line_with(text, command),)
        assert f"line {found.lines[0]}" in found.sentence

    @pytest.mark.parametrize(
        "command", ["M301 P20 I1 D90", "M304 P60 I5 D200", "M501", "M220 S90", "M221 S95", "G92 X5"]
    )
    def test_of_some_there_is_a_note(self, tmp_path: Path, command: str) -> None:
        text = slow().replace("M84\n", f"{command}\nM84\n")
        (found,) = findings(opened(tmp_path, text), "lasting-settings")
        assert found.severity is Severity.NOTE

    @pytest.mark.parametrize(
        "command",
        [
            "M92", "M206", "M851", "M290 Z0.1\nM290 Z-0.1", "M302 P1\nM302 P0", "M302 S170", "M211 S0\nM211 S1",
            "M211 S\nM211 X0 Y0 Z0\nM211 R", "M220 S90\nM220 S100", "M220 B\nM220 S90\nM220 R",
            "M221 T1 S90\nM221 T1 S100",
            "M302", "G10 P0 S200 R160", "G10", "M201 X500", "M503", "G92 E0", "M211",
        ],
    )  # fmt: skip
    def test_what_is_set_back_or_only_reported_is_silent(self, tmp_path: Path, command: str) -> None:
        program = opened(tmp_path, START + command + "\n" + slow().removeprefix(START))
        assert findings(program, "lasting-settings") == []
        assert len(passed(program, "lasting-settings")) == 1

    def test_what_is_kept_for_good_is_named(self, tmp_path: Path) -> None:
        (found,) = findings(
            opened(tmp_path, slow().replace("G28\n", "G28\nM203 X300\nM500\n")), "lasting-settings"
        )
        assert "M500, after M203" in found.sentence

    def test_a_shifted_origin_is_forgotten_by_homing(self, tmp_path: Path) -> None:
        text = slow().replace("M84\n", "G92 X5\nG28\nM84\n")
        assert findings(opened(tmp_path, text), "lasting-settings") == []


def test_off_periods_that_adjoin_are_one(tmp_path: Path) -> None:
    text = at_height(at_height(slow(), 3.0, "M104 S0"), 3.2, "M104 S10")
    (found,) = findings(opened(tmp_path, text), "off-in-print")
    assert found.lines[0] == line_with(text, "M104 S0")


def test_a_tool_whose_nozzle_is_off(tmp_path: Path) -> None:
    text = at_height(slow(), 2.0, "T1").replace("G92 E0\n", "M104 T1 S200\nM104 T1 S0\nG92 E0\n", 1)
    (found,) = findings(opened(tmp_path, text, {"printer": {"tools": 2}}), "off-in-print")
    assert found.lines[0] == text.split("\n").index("T1") + 1
    assert "takes tool 1, whose nozzle line" in found.sentence


def test_the_first_bead_is_said_to_be_of_the_purge_or_of_the_part(tmp_path: Path) -> None:
    """With a purge line the sentences speak of two beads, and name each; without one both are the same."""
    purge = "G1 X20 Y3 Z0.3\nG1 X80 Y3 E4\nG92 E0\nG1 Z5\n"
    for folder, text, named in (("with", purge, "purge"), ("without", "", "part")):
        (tmp_path / folder).mkdir()
        text = START + text + box(5)[0] + END
        program = opened(tmp_path / folder, text)
        (homed,), (off,) = passed(program, "not-homed"), passed(program, "off-in-print")
        at = line_with(text, "X80 Y3 E4") if text.count("X80") else line_with(text, " E0.")
        assert f"before the first bead of the {named}: first in line 5, that bead in line {at}." in homed
        assert f"From the first bead of the part (line {line_with(text, ' E0.')}) to its last" in off
