"""Closing coasts: which travel counts as material, and what lies on it."""

from __future__ import annotations

import itertools
import math
from pathlib import Path

import pytest

from tests.checks.on_paper import END, START, opened
from tests.checks.sliced import THICK, section
from viewer.program import Program
from viewer.shape.coasts import closing_coasts
from viewer.shape.masks import MaskBuffers, draw_layer, grids_of_objects, role_bits

CORNERS = ((100.0, 100.0), (112.0, 100.0), (112.0, 112.0), (100.0, 112.0), (100.0, 100.0))


def square_with_coast(folder: Path, coast_mm: float, *moves: str) -> Program:
    """One layer of a square loop that ends ``coast_mm`` before its start, and what follows."""
    out, e = [START, f"G0 Z{THICK} F600\nG0 X100 Y100 F9000\n"], 0.0
    for (ax, ay), (bx, by) in itertools.pairwise(CORNERS):
        if (bx, by) == CORNERS[-1]:
            by += coast_mm
        e += math.dist((ax, ay), (bx, by)) * section() / (math.pi * 1.75**2 / 4)
        out.append(f"G1 X{bx:.3f} Y{by:.3f} E{e:.5f} F1500\n")
    out += [f"{move}\n" for move in moves]
    return opened(folder, "".join(out) + END)


@pytest.mark.parametrize(
    ("moves", "expected"),
    [
        (["G1 X100 Y100 F1500"], 1),
        (["G1 X100 Y101 F1500", "G1 X100 Y100"], 2),
        (["G1 X100 Y101 F1480", "G1 X100 Y100.01", "G1 X104 Y100"], 2),  # goes on along the loop
        (["G0 X100 Y100 F9000"], 0),  # as fast as travel
        (["G1 X103 Y103 F1500"], 0),  # goes elsewhere
        (["G1 X100 Y101 F1500", "G0 X100 Y100 F9000"], 0),
        (["G1 X100 Y100 Z0.6 F1500"], 0),  # lifted
    ],
)
def test_travel_that_closes_a_loop(tmp_path: Path, moves: list[str], expected: int) -> None:
    program = square_with_coast(tmp_path, 2.0, *moves)
    own = program.layers.moves_of(1)
    coasts, beads = closing_coasts(program.moves, own.start, own.stop)
    assert len(coasts) == len(beads) == expected
    if expected:
        assert coasts.tolist() == [int(beads[0]) + 1 + n for n in range(expected)]
        assert program.moves.line[beads[0]] == program.moves.line[coasts[0]] - 1
        length = float(program.moves.length_mm[coasts].sum())
        assert length == pytest.approx(2.0, abs=0.02)


def test_a_long_way_back_is_no_coast(tmp_path: Path) -> None:
    program = square_with_coast(tmp_path, 6.0, "G1 X100 Y100 F1500")
    own = program.layers.moves_of(1)
    assert len(closing_coasts(program.moves, own.start, own.stop)[0]) == 0


def test_a_closed_loop_needs_none(tmp_path: Path) -> None:
    program = square_with_coast(tmp_path, 0.0, "G1 X100 Y102 F1500", "G1 X100 Y100 F1500")
    own = program.layers.moves_of(1)
    assert len(closing_coasts(program.moves, own.start, own.stop)[0]) == 0


@pytest.mark.parametrize("speed", [1500, 9000])
def test_a_coast_is_drawn_as_a_bead(tmp_path: Path, speed: int) -> None:
    program = square_with_coast(tmp_path, 2.0, f"G1 X100 Y100 F{speed}")
    columns = program.shape_columns
    roles = role_bits(columns)
    buffers = MaskBuffers(grids_of_objects(columns)[0])
    layer = draw_layer(columns, buffers, 1, roles)
    beads = 5 if speed == 1500 else 4
    assert len(layer.beads) == len(layer.bits) == beads
    grid = buffers.grid
    row, column = int((101.0 - grid.front_mm) / grid.cell_mm), int((100.0 - grid.left_mm) / grid.cell_mm)
    assert (layer.mask[row, column] != 0) == (speed == 1500)
    assert layer.beads.width_mm[-1] == pytest.approx(layer.beads.width_mm[-2], abs=1e-4)
