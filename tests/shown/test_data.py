"""The Python interface and the console give the same objects."""

from __future__ import annotations

import json
import subprocess
import sys
from datetime import datetime
from pathlib import Path
from typing import Any

import pytest

import viewer
from viewer.__main__ import main
from viewer.checks.run import run_checks
from viewer.shown.json_text import json_text

SAMPLES = Path(__file__).parents[2] / "sample_programs"


@pytest.mark.parametrize("name", ["coat_hook_pause.gcode", "faulty/cut-short.gcode"])
@pytest.mark.parametrize("command", ["figures", "vet"])
def test_the_object_is_what_the_console_prints(
    name: str, command: str, capsys: pytest.CaptureFixture[str]
) -> None:
    main([command, "--json", str(SAMPLES / name)])
    printed = json.loads(capsys.readouterr().out)
    program = viewer.open_program(SAMPLES / name)
    made: dict[str, Any] = (viewer.figures_object if command == "figures" else viewer.findings_object)(
        program
    )
    assert json.loads(json_text(made, indented=False)) == printed
    assert list(made) == list(printed)


def test_a_report_is_not_made_again_and_a_start_gives_times_of_day() -> None:
    program = viewer.open_program(SAMPLES / "coat_hook_pause.gcode")
    start = datetime(2026, 3, 2, 14, 30)
    report = run_checks(program, start=start)
    plain = viewer.figures_object(program, report, start)
    assert plain["clock"]["start"] == "2026-03-02T14:30:00"
    assert [found["slug"] for found in plain["findings"]] == [found.slug for found in report.findings]
    assert plain["findings"] == viewer.findings_object(program, start=start)["findings"]


def test_it_needs_no_window_and_no_console() -> None:
    code = (
        "import sys, viewer.shown.data; "
        "print(*[name for name in sys.modules if name.startswith(('PySide6', 'viewer.shown.console', "
        "'viewer.shown.window'))])"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == ""
