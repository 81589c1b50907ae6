"""The first tool of a program is no tool change: time, checks, lesson and levers agree."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.checks.on_paper import findings
from viewer import lesson_of, open_program
from viewer.read.modes import modes_at
from viewer.why.trials import levers

START = "M83\nG28\nM109 S210\nT1\nG1 Z0.2 F600\nG1 X50 Y90 F3000\nG1 X90 Y90 E1\n"
BEAD = "G1 X50 Y90 E1\n"


@pytest.mark.parametrize(
    ("text", "taken", "changed"),
    [(START + BEAD, [4], []), (START + "T0\n" + BEAD, [4, 8], [8])],
    ids=["T1 behind the heating", "and T0 behind a bead"],
)
def test_a_tool_taken_before_filament_is_fed_is_no_change(
    tmp_path: Path, text: str, taken: list[int], changed: list[int]
) -> None:
    path = tmp_path / "program.gcode"
    path.write_text(text)
    program = open_program(path)
    assert program.state.tools.line.tolist() == taken
    assert modes_at(program, 7).tool == 1
    figures, changes = program.figures.time, len(changed)
    assert figures.tool_changes == changes
    assert figures.ledger_s["tool changes"] == changes * program.printer.tool_change_s
    assert [step.slug for step in lesson_of(program).steps].count("tools") == changes
    assert [outcome.lever.name for outcome in levers(program)].count("tool-changes") == changes
    assert [finding.lines for finding in findings(program, "more-tools")] == [(line,) for line in changed]
