"""The job sheet on paper: one page; a second one only for findings."""

from __future__ import annotations

import re
from datetime import datetime
from pathlib import Path

import pytest

from tests.conftest import SAMPLES
from viewer import open_program
from viewer.checks.finding import Severity
from viewer.checks.run import run_checks
from viewer.jit import compiler_is_off
from viewer.shown.window.shell.printed.job_sheet import save_sheet

pytestmark = pytest.mark.skipif(compiler_is_off(), reason="layers of a million cells: needs the compiler")

NAMES = (
    "tap_washer_tray.gcode",
    "coat_hook_pause.gcode",
    "faulty/mid-air-start.gcode",
    "faulty/off-plate.gcode",
)


@pytest.mark.usefixtures("qapp")
@pytest.mark.parametrize("name", NAMES)
@pytest.mark.parametrize("start", [None, datetime(2026, 3, 2, 14, 30)])
def test_one_page_and_a_second_only_for_findings(tmp_path: Path, name: str, start: datetime | None) -> None:
    program = open_program(SAMPLES / name)
    report = run_checks(program, start=start)
    found = any(one.severity is not Severity.NOTE for one in report.findings)
    path = tmp_path / "sheet.pdf"
    save_sheet(program, report, path, start)
    (count,) = re.findall(rb"/Count (\d+)", path.read_bytes())
    assert int(count) == (2 if found else 1)
