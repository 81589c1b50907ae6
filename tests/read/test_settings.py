"""What changes rarely: limits, factors, heat, fan, tools, objects; and marks and claims from comments."""

from __future__ import annotations

import math
from pathlib import Path

import numpy as np
import pytest

from viewer import open_program
from viewer.cards import load_printer
from viewer.read.blocks import open_source
from viewer.read.comments.remarks import Remarks, read_remarks
from viewer.read.machine_state import read_machine_state
from viewer.read.scan import scan_source
from viewer.read.settings import Settings, build_settings

MOVE = "G1 X{} E1 F600\n"


def read(tmp_path: Path, text: str, **further: str) -> tuple[Settings, Remarks]:
    path = tmp_path / "program.gcode"
    path.write_text(text)
    source = open_source(path)
    with np.errstate(over="ignore"):
        scan = scan_source(source, load_printer("heron")).finish()
    remarks = read_remarks(scan.notes, scan.events, source, further)
    moves = len(scan.moves)
    state = read_machine_state(scan.events, remarks.limits, moves, one_nozzle=False)
    return build_settings(scan.events, remarks, moves, state), remarks


def held(settings: Settings, field: str) -> list[float]:
    """The field's value at each move, NaN as -1."""
    return [-1.0 if math.isnan(v) else v for v in settings.column(field)[settings.of_move].tolist()]


@pytest.mark.parametrize(
    ("command", "field", "value"),
    [
        ("M204 S700", "accel_print_mm_s2", 700),
        ("M204 S700", "accel_travel_mm_s2", 700),
        ("M204 P500 T900 R300", "accel_print_mm_s2", 500),
        ("M204 P500 T900 R300", "accel_travel_mm_s2", 900),
        ("M204 P500 T900 R300", "accel_retract_mm_s2", 300),
        ("M201 X1000 Z50", "accel_z_mm_s2", 50),
        ("M203 X200 Y200 Z12 E120", "max_e_mm_s", 120),
        ("M203 X12000 Y12000 Z720 E3000", "max_z_mm_s", 12),
        ("M205 X8 Y8 Z0.4 E4.5", "jerk_z_mm_s", 0.4),
        ("M205 J0.02", "junction_deviation_mm", 0.02),
        ("M205 B20000", "min_segment_time_s", 0.02),
        ("M566 X600 Y600", "jerk_x_mm_s", 10),
        ("M220 S150", "speed_factor", 1.5),
        ("M106 S127.5", "fan", 0.5),
        ("M104 S210", "nozzle_c", 210),
        ("M109 R180", "nozzle_c", 180),
        ("M140 S60", "plate_c", 60),
        ("T3", "tool", 3),
        ("SET_VELOCITY_LIMIT ACCEL=3000 VELOCITY=250 SQUARE_CORNER_VELOCITY=6", "corner_mm_s", 6),
        ("SET_VELOCITY_LIMIT ACCEL=3000 VELOCITY=250", "max_path_mm_s", 250),
        ("M104 T1 S200\nT1", "nozzle_c", 200),
    ],
)
def test_a_command_holds_from_the_next_move(tmp_path: Path, command: str, field: str, value: float) -> None:
    settings, _ = read(tmp_path, MOVE.format(1) + command + "\n" + MOVE.format(2) + MOVE.format(3))
    before, *after = held(settings, field)
    assert after == pytest.approx([value, value])
    assert before != pytest.approx(value)


def test_the_later_line_wins_at_one_move(tmp_path: Path) -> None:
    settings, _ = read(tmp_path, "M109 S0\nprint_start EXT_TEMP=270\n" + MOVE.format(1))
    assert held(settings, "nozzle_c") == [270.0]
    settings, _ = read(tmp_path, "SET_VELOCITY_LIMIT ACCEL=3000\nM204 S500\n" + MOVE.format(1))
    assert held(settings, "accel_print_mm_s2") == [500.0]


def test_a_program_states_top_speeds_in_one_unit(tmp_path: Path) -> None:
    text = "M203 X12000 Y12000\n" + MOVE.format(1) + "M203 Z720 E1500\n" + MOVE.format(2)
    settings, _ = read(tmp_path, text)
    assert held(settings, "max_x_mm_s") == [200, 200]
    assert held(settings, "max_z_mm_s") == [-1, 12]
    assert held(settings, "max_e_mm_s") == [-1, 25]


def test_each_tool_has_a_target(tmp_path: Path) -> None:
    lines = (
        "M104 S200",
        "M104 T1 S190",
        "T1",
        "M104 S195",
        "M104 T0 S0",
        "T0",
        "G10 P1 S210",
        "M6 T1",
        "T300",
        "T0",
    )
    settings, _ = read(tmp_path, "".join(f"{line}\n{MOVE.format(k)}" for k, line in enumerate(lines)))
    assert held(settings, "nozzle_c") == [200, 200, 190, 195, 195, 0, 0, 210, 210, 0]
    assert held(settings, "tool") == [0, 0, 1, 1, 1, 0, 0, 1, 1, 0]


def test_equal_combinations_are_one_row(tmp_path: Path) -> None:
    text = "".join(f"M204 S{500 + 100 * (k % 2)}\n{MOVE.format(k)}" for k in range(50))
    settings, _ = read(tmp_path, text)
    assert len(settings.table) == 2
    assert held(settings, "accel_print_mm_s2")[:4] == [500, 600, 500, 600]


def test_zero_limits_are_not_stated(tmp_path: Path) -> None:
    settings, _ = read(tmp_path, "M205 S0 T0 J0\nM204 S0\n" + MOVE.format(1))
    assert held(settings, "junction_deviation_mm") == [-1.0]
    assert held(settings, "accel_print_mm_s2") == [-1.0]


def test_marks_and_claims(tmp_path: Path) -> None:
    text = (
        "; estimated printing time = 1h 2m 3s\n; filament used [mm] = 123.4\nG28\n"
        "; layer 1, Z = 0.2\n; role: outline\n"
        + MOVE.format(1)
        + "; object: knob\n; role: infill\n"
        + MOVE.format(2)
    )
    settings, remarks = read(tmp_path, text)
    claims = {stated.claim.quantity: (stated.line, stated.claim.amount) for stated in remarks.claims}
    assert claims == {"time_s": (1, 3723.0), "filament_mm": (2, 123.4)}
    assert remarks.layers.value.tolist() == [1.0]
    assert remarks.heights.value.tolist() == [0.2]
    assert remarks.roles.move.tolist() == [1, 2]
    assert held(settings, "object")[-1] == 0.0
    assert remarks.object_names == ("knob",)


def test_further_trade_words(tmp_path: Path) -> None:
    text = "; jigsaw edge\n" + MOVE.format(1) + "; zigzag heart\n" + MOVE.format(2)
    _, without = read(tmp_path, text)
    _, remarks = read(tmp_path, text, **{"jigsaw edge": "outline", "zigzag heart": "infill"})
    assert len(without.roles) == 0
    assert len(remarks.roles) == 2


def test_settings_of_a_header_are_no_marks(tmp_path: Path) -> None:
    header = "".join(f"; {name} = {k}\n" for k, name in enumerate(
        ("support_material", "bridge_speed", "infill_every_layers", "skirts", "brim_width", "perimeters", "raft_layers",
         "solid_infill_speed", "top_solid_layers", "layer_height")
    ))  # fmt: skip
    _, remarks = read(tmp_path, header + MOVE.format(1))
    assert len(remarks.roles) == len(remarks.layers) == len(remarks.claims) == 0


def test_the_commanded_speed_has_the_factor_in_it(tmp_path: Path) -> None:
    path = tmp_path / "factor.gcode"
    path.write_text("G1 X1\nG1 X2 F600\nM220 S150\nG1 X3\nG1 X4 F1200\nM220 S0\nG1 X5\n")
    program = open_program(path)
    found = program.settings.commanded_mm_s(program.moves)
    assert (found.dtype, found.tolist()) == (np.float64, [0.0, 10.0, 15.0, 30.0, 30.0])
    assert program.settings.commanded_mm_s(program.moves, np.array([3, 1])).tolist() == [30.0, 10.0]
    assert program.settings.commanded_mm_s(program.moves, slice(2, 4)).tolist() == [15.0, 30.0]
