"""Homing by G161, G162 and M132, and what M101 means beside E words."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.checks.on_paper import END, findings, opened
from tests.programs import box
from viewer.program import Program
from viewer.read.homing import homed_axes, homes_one_way, homings
from viewer.read.moves import BEAD, TRAVEL

HOMING = """G162 X Y F3000
G161 Z F1200
G92 Z-5
G1 Z0
G161 Z F100
M132 X Y Z A B
G1 X-110 Y-70 Z30 F9000
G92 A0 B0
"""


def lowest(program: Program) -> float:
    return float(program.layers.height_mm[0])


def part(homing: str) -> str:
    return f"M104 S210 T0\nG90\nM82\n{homing}G92 E0\nG1 F3000\n{box(3, 20.0)[0]}{END}"


def test_the_zero_stays_where_the_homing_left_it(tmp_path: Path) -> None:
    """What A and B are called is no reason to call X, Y and Z zero."""
    program = opened(tmp_path, part(HOMING))
    assert lowest(program) == pytest.approx(lowest(opened(tmp_path, part("G28\n"))))
    assert not findings(program, "not-homed")
    assert homes_one_way(program.events)
    assert [sorted(homed_axes(program.events, row)) for row in homings(program.events)] == [
        ["X", "Y"],
        ["Z"],
        ["Z"],
    ]


def test_g92_states_where_an_end_stop_is(tmp_path: Path) -> None:
    program = opened(tmp_path, part("G162 X Y Z F2500\nG92 X110 Y70 Z150\n"))
    extent = program.figures.extent
    assert extent is not None
    assert extent.x[0] > 0.0
    assert lowest(program) < 1.0
    moved = opened(tmp_path, part("G162 X Y Z F2500\nG1 X10 Y10 Z10\nG92 X0 Y0 Z0\n"))
    assert lowest(moved) == pytest.approx(lowest(program) + 10.0)


def test_a_height_below_the_plate_is_only_a_way_off_the_end_stop(tmp_path: Path) -> None:
    program = opened(tmp_path, part("G162 X Y\nG161 Z F100\nG92 Z-5\nG1 Z0\nG161 Z\nG92 Z0\n"))
    assert float(program.moves.z_mm.min()) == 0.0


def test_axes_that_are_not_homed_are_missed(tmp_path: Path) -> None:
    (found,) = findings(opened(tmp_path, part("G162 X Y F2500\nM132 A B\n")), "not-homed")
    assert "before Z was homed" in found.sentence


def test_the_numbers_of_the_early_dialect_are_known(tmp_path: Path) -> None:
    text = part(HOMING + "M135 T0\nM126 T0\nM127 T0\nG130 X20\nM72 P1\nM101\nM103\n")
    assert not opened(tmp_path, text).unknown_commands


def test_the_switch_lays_nothing_where_there_are_e_words(tmp_path: Path) -> None:
    text = "G28\nM83\nM101\nG1 X10 F600\nG1 X20 E1\nM103\nG1 X30\n"
    assert opened(tmp_path, text).moves.kind.tolist()[1:] == [TRAVEL, BEAD, TRAVEL]
    switched = opened(tmp_path, text.replace(" E1", ""))
    assert switched.moves.kind.tolist()[1:] == [BEAD, BEAD, TRAVEL]
