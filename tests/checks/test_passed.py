"""Where a check finds nothing it says what holds, with values that follow from the program by another way."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path

import pytest

from tests.checks.on_paper import START, opened, whole
from tests.shown.conftest import SAMPLES
from viewer import open_program
from viewer.checks.run import CHECKS, run_checks

GOOD = SAMPLES / "tap_washer_tray.gcode"


@pytest.fixture(scope="module")
def sentences() -> dict[str, str]:
    program = open_program(GOOD, "heron", "pla", "quayside")
    report = run_checks(program, start=datetime(2026, 3, 2, 10, 0))
    assert not [one for one in report.findings if one.severity.rank < 2]
    return {one.slug: one.sentence for one in report.passed}


def test_every_check_says_something_of_a_good_program(sentences: dict[str, str]) -> None:
    program = open_program(GOOD, "heron", "pla", "quayside")
    report = run_checks(program, start=datetime(2026, 3, 2, 10, 0))
    told = {one.slug for one in report.findings} | {slug for one in report.not_checked for slug in one.slugs}
    assert {check.slug for check in CHECKS} - told - set(sentences) == set()


@pytest.mark.parametrize(
    ("slug", "words"),
    [
        ("garbled", "All 39,103 lines"),
        ("no-shutdown", "nozzle off"),
        ("too-hot-for-machine", "nozzle at most 210 of 275 degC, plate at most 60 of 110 degC"),
        (
            "wrong-heat",
            "nozzle at 205 to 210 degC, PLA wants 185 to 230; plate at 60 degC, PLA wants 20 to 70",
        ),
        ("more-tools", "1 tool; Heron has 1"),
        ("abrasive", "PLA is not abrasive"),
        ("long-bridge", "No bead bridges air (limit 10 mm)"),
        ("mid-air-start", "In 45 layers no piece of 0.5 mm2"),
        ("after-closing", "It ends at 11:10"),
    ],
)
def test_values_in_the_evidence(sentences: dict[str, str], slug: str, words: str) -> None:
    assert words.casefold() in sentences[slug].casefold()


def test_the_margin_to_the_plates_edge(tmp_path: Path) -> None:
    """A square of 20 mm at X 50 to 70, Y 50 to 70 on a plate of known size."""
    program = opened(tmp_path, whole(4, START, size=20.0))
    (one,) = (one for one in run_checks(program).passed if one.slug == "off-plate")
    (x0, x1), (y0, y1) = program.totals.extent.x, program.totals.extent.y  # type: ignore[union-attr]
    plate = program.printer.plate
    assert plate is not None and plate.width_mm is not None and plate.depth_mm is not None
    margin = min(x0 - plate.left_mm, y0 - plate.front_mm, plate.width_mm - x1, plate.depth_mm - y1)
    assert f"{margin:.0f} mm or more inside the plate" in one.sentence


def test_nothing_is_said_to_hold_where_something_was_found(tmp_path: Path) -> None:
    report = run_checks(opened(tmp_path, whole(4, START.replace("S210", "S300"))))
    assert "too-hot-for-machine" in {one.slug for one in report.findings}
    assert not {one.slug for one in report.findings} & {one.slug for one in report.passed}
