"""Scraps of programs go through everything without a traceback: nothing, one point, one bead, support or purge alone."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path

import pytest

from tests.checks.on_paper import END, START, opened, whole
from tests.everything import go_through
from viewer.jit import compiler_is_off

pytestmark = pytest.mark.skipif(compiler_is_off(), reason="draws many pictures: needs the compiler")

BEAD = "G1 X60 Y50 E0.5\n"
SCRAPS = {
    "one command": "G21\n",
    "no beads": START + END,
    "travel alone": START + "G0 X10 Y10 Z0.2\nG0 X40 Y40\n" + END,
    "one point": START + "G1 X50 Y50 Z0.2\nG1 E0.5\n" + END,
    "one bead": START + "G0 X50 Y50 Z0.2\n" + BEAD + END,
    "one bead without length": START + "G0 X50 Y50 Z0.2\nG1 X50 Y50 E0.5\n" + END,
    "one bead in each layer": START
    + "".join(f"G0 X50 Y50 Z{0.2 * n:.1f}\nG92 E0\n" + BEAD for n in (1, 2, 3))
    + END,
    "layer without beads": START
    + "G0 X50 Y50 Z0.2\n"
    + BEAD
    + ";LAYER:1\nG0 Z0.4\n;LAYER:2\nG0 X50 Y50 Z0.6\nG92 E0\n"
    + BEAD
    + END,
    "support alone": START + ";TYPE:SUPPORT\nG0 X50 Y50 Z0.2\n" + BEAD + END,
    "purge alone": START + ";TYPE:SKIRT\nG0 X50 Y50 Z0.2\n" + BEAD + END,
    "beads on one line, no amount": START + "M101\nG1 X50 Y50 Z0.2\nG1 X60\nG1 X70\nM103\n" + END,
    "hardly any filament": START + "G0 X50 Y50 Z0.2\nG1 X60 Y50 E0.000001\nG1 X60 Y60 E0.000002\n" + END,
}


@pytest.mark.parametrize("name", SCRAPS)
def test_scraps(tmp_path: Path, name: str) -> None:
    report = go_through(opened(tmp_path, SCRAPS[name]), datetime(2026, 3, 2, 14, 30))
    assert report.findings or report.not_checked


def test_a_sound_program(tmp_path: Path) -> None:
    assert go_through(opened(tmp_path, whole(4)), None).failed == ()


def test_a_foot_without_area_is_told_as_not_checked(tmp_path: Path) -> None:
    """Beads of an early dialect that states no amounts have no width: the figure of their foot has no area."""
    moves = "M101\nG1 X50 Y50 Z0.2\nG1 X90 Y50\nM103\n"
    program = opened(tmp_path, START + moves + END)
    report = go_through(program, None)
    flat = any(foot.is_flat for foot in (*program.first_layer.feet, *program.first_layer.pieces))
    assert flat == ("topples" in {slug for entry in report.not_checked for slug in entry.slugs})
