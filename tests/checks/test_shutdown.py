"""No shut-down: what stays on, what proves the end all the same, and what is left to other checks."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.checks.on_paper import END, findings, opened, whole
from viewer.checks.endings.stated_lines import stated_lines
from viewer.checks.finding import Hazard, Severity
from viewer.checks.run import run_checks

COLD = "G90\nM82\nG28\nG92 E0\nG1 F3000\n"


def slugs(folder: Path, text: str) -> list[str]:
    return [finding.slug for finding in run_checks(opened(folder, text)).findings]


def test_one_finding_tells_what_stays_on(tmp_path: Path) -> None:
    report = run_checks(opened(tmp_path, whole(3, end="")))
    (found,) = [one for one in report.findings if one.slug in ("no-shutdown", "heaters-left-on", "cut-short")]
    assert found.slug == "no-shutdown"
    assert found.severity is Severity.LOOK
    assert found.hazard is Hazard.HEAT
    assert "the plate at 60 degC and the nozzle at 210 degC stay on; or its end is missing" in found.sentence


@pytest.mark.parametrize("end", [";end\n", "; END", ";done\n", "; end of print\n", "G1 Z40\n"])
def test_what_proves_the_end_leaves_no_doubt(tmp_path: Path, end: str) -> None:
    (found,) = findings(opened(tmp_path, whole(3, end=end)), "no-shutdown")
    assert "missing" not in found.sentence
    assert not findings(opened(tmp_path, whole(3, end=end)), "cut-short")


@pytest.mark.parametrize("end", [END, "M104 S0\nM140 S0\n", "M84\n", "G28\n", "PRINT_END\n"])
def test_a_shut_down_is_silent(tmp_path: Path, end: str) -> None:
    assert not findings(opened(tmp_path, whole(3, end=end)), "no-shutdown")


def test_what_heats_nothing_and_says_that_it_ends_has_nothing_to_switch_off(tmp_path: Path) -> None:
    assert not findings(opened(tmp_path, whole(3, COLD, ";end\n")), "no-shutdown")
    (found,) = findings(opened(tmp_path, whole(3, COLD, "")), "no-shutdown")
    assert "heated by hand" in found.sentence


def test_a_torn_end_is_left_to_cut_short(tmp_path: Path) -> None:
    program = opened(tmp_path, whole(3, end="G1 X1"))
    assert not findings(program, "no-shutdown")
    (found,) = findings(program, "cut-short")
    assert found.severity is Severity.STOP


def with_count(text: str, lines: int) -> str:
    return f"; total lines: {lines}\n{text}"


def test_a_number_of_lines_that_agrees_proves_the_file_whole(tmp_path: Path) -> None:
    text = whole(3, end="G1 X15.25")
    lines = text.count("\n") + 2
    for count in (lines, lines - 1):
        program = opened(tmp_path, with_count(text, count))
        assert not findings(program, "cut-short")
        (found,) = findings(program, "no-shutdown")
        assert "missing" not in found.sentence
    assert findings(opened(tmp_path, with_count(text, lines - 2)), "cut-short")


def test_fewer_lines_than_stated_are_cut_short(tmp_path: Path) -> None:
    text = whole(3)
    (found,) = findings(opened(tmp_path, with_count(text, text.count("\n") + 20)), "cut-short")
    assert "states" in found.sentence
    assert found.severity is Severity.LOOK
    (found,) = findings(opened(tmp_path, with_count(whole(3, end=""), 4711)), "cut-short")
    assert found.severity is Severity.STOP


@pytest.mark.parametrize(
    "text", ["Connect support lines: 4711", "4711", "infill lines: 4711", "line 4711", "lines 3 of 4711"]
)
def test_other_lines_are_not_those_of_the_file(tmp_path: Path, text: str) -> None:
    assert stated_lines(opened(tmp_path, f"; {text}\n" + whole(3))) is None


@pytest.mark.parametrize(
    "text", ["lines in file: 4711", "4711 lines total", "line_count = 4711", "Number of G-code lines: 4711"]
)
def test_spellings_of_a_number_of_lines(tmp_path: Path, text: str) -> None:
    counted = stated_lines(opened(tmp_path, f"; {text}\n" + whole(3)))
    assert counted is not None
    assert counted.is_short


def test_a_part_that_tapers_is_no_hint_of_a_missing_end(tmp_path: Path) -> None:
    def layers(*sides: float) -> str:
        text = COLD
        for k, side in enumerate(sides, 1):
            text += f"G1 X50 Y50 Z{0.2 * k:.1f}\n"
            text += "".join(
                f"G1 X{50 + x * side} Y{50 + y * side} E{4 * k + i}\n"
                for i, (x, y) in enumerate(((1, 0), (1, 1), (0, 1), (0, 0)))
            )
        return text

    assert findings(opened(tmp_path, layers(20, 20, 20, 10)), "cut-short")
    assert not findings(opened(tmp_path, layers(20, 18, 15, 10)), "cut-short")


def test_without_beads_only_that_is_told(tmp_path: Path) -> None:
    macro = "G90\nM104 S200\nG28\nM7777\nG1 X35 Y40 F3000\nM25\n"
    assert slugs(tmp_path, macro) == ["no-beads"]
    assert not run_checks(opened(tmp_path, macro)).not_checked
    report = run_checks(opened(tmp_path, macro + "G1 X3"))
    (found,) = report.findings
    assert "breaks off: the last line has no end: 'G1 X3'" in found.sentence
    assert slugs(tmp_path, macro.replace("S200", "S900")) == ["too-hot-for-machine", "no-beads"]
