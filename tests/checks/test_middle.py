"""Pieces missing in the middle: rises, layer marks that skip, beads that draw the filament of many."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.checks.on_paper import END, START, findings, line_with, opened
from tests.programs import loop, square


def layers(heights: list[float], marks: bool = False) -> list[str]:
    """A box of one wall, absolute filament, a piece of text a layer."""
    pieces, e = [], 0.0
    for number, height in enumerate(heights):
        piece, e = loop(square(20.0), height, e)
        pieces.append((f";LAYER:{number}\n" if marks else "") + piece)
    return pieces


EVEN = [0.2 * k for k in range(1, 13)]


def without(pieces: list[str], *lost: int) -> str:
    return START + "".join(piece for k, piece in enumerate(pieces) if k not in lost) + END


def test_a_whole_program_has_no_leap(tmp_path: Path) -> None:
    assert not findings(opened(tmp_path, without(layers(EVEN, marks=True))), "cut-short")


def test_lost_layers_leave_a_rise(tmp_path: Path) -> None:
    text = without(layers(EVEN), 5, 6, 7)
    (found,) = findings(opened(tmp_path, text), "cut-short")
    assert "from layer 5 to layer 6 the nozzle rises 0.80 mm, where 0.20 mm is usual" in found.sentence
    assert found.layer == 6
    assert (
        found.lines[0] == line_with(text, "X70.0000 Y50.0000 E") + 5 * 5
    )  # the first bead of its sixth layer
    assert found.value == pytest.approx(0.8)


def test_layers_of_two_thicknesses_are_no_leap(tmp_path: Path) -> None:
    heights = [0.2, 0.4, 0.6, 0.8, 1.1, 1.4, 1.7, 2.0, 2.35]
    assert not findings(opened(tmp_path, without(layers(heights))), "cut-short")


def test_marks_that_skip(tmp_path: Path) -> None:
    pieces = layers([0.2 * k for k in range(1, 41)], marks=True)
    text = without(pieces).replace(";LAYER:21\n", "").replace(";LAYER:22\n", "")
    (found,) = findings(opened(tmp_path, text), "cut-short")
    assert "go from 20 to 23" in found.sentence
    raft = (
        START
        + "".join(pieces).replace(";LAYER:0\n", ";LAYER:-4\n").replace(";LAYER:1\n", ";LAYER:-3\n")
        + END
    )
    assert not findings(opened(tmp_path, raft), "cut-short")


def test_absolute_filament_after_a_lost_piece_is_drawn_by_one_bead(tmp_path: Path) -> None:
    lines = without(layers([0.2 * k for k in range(1, 6)])).split("\n")
    at = next(k for k, line in enumerate(lines) if "Z0.6" in line)
    jumped = [
        line
        if k <= at or " E" not in line
        else f"{line.split(' E')[0]} E{float(line.split(' E')[1]) + 30.0:.6f}"
        for k, line in enumerate(lines)
    ]
    (found,) = findings(opened(tmp_path, "\n".join(jumped)), "cut-short")
    assert "draws 30.6 mm of filament on 20.0 mm of way" in found.sentence
    assert found.lines == (at + 2,)


def test_filament_pulled_back_and_primed_with_a_bead_is_no_leap(tmp_path: Path) -> None:
    text = without(layers([0.2, 0.4, 0.6])).replace("M82", "M83")
    pulled = START.replace("M82", "M83") + "".join(
        f"G1 E-6\nG1 X50 Y50 Z{0.2 * k:.1f}\nG1 X51 Y50 E6.03\nG1 X70 Y50 E0.57\nG1 X70 Y70 E0.6\n" for k in range(1, 6)
    )  # fmt: skip
    assert text.count("M83") == 1
    assert not findings(opened(tmp_path, pulled + END), "cut-short")
