"""What a move or a line does, in one sentence: every kind of move, arcs as a whole, figures by hand."""

from __future__ import annotations

from pathlib import Path

import pytest

from viewer import Program, open_program
from viewer.__main__ import main
from viewer.figures.ways import Way, ways_of_layer
from viewer.jit import compiler_is_off
from viewer.lesson.sentence import as_sentence, line_said, move_said

pytestmark = pytest.mark.skipif(compiler_is_off(), reason="hashes of comments: needs the compiler")

TEXT = """\
G28
G21
G90
M83
M204 P500000 T500000 R500000
;LAYER:0
;TYPE:WALL-OUTER
G0 X10 Y10 Z0.2 F6000
G1 X50 Y10 E2 F1200
G1 X50 Y50 E2
G1 E-0.8 F2400
G0 Z0.4 F600
G0 X20 Y50 F6000
G0 Z0.2 F600
G1 E0.8 F2400
G2 X40 Y50 I10 J0 E1.2 F1200
G1 X45 Y50 E-0.5 F1200
M104 S0
"""


@pytest.fixture(scope="module")
def program(tmp_path_factory: pytest.TempPathFactory) -> Program:
    path = tmp_path_factory.mktemp("sentence") / "one.gcode"
    path.write_text(TEXT)
    return open_program(path)


def _line_of(start: str) -> int:
    return next(number for number, line in enumerate(TEXT.splitlines(), 1) if line.startswith(start))


@pytest.mark.parametrize(
    "line, said",
    [
        ("G28", "sets the position: the machine has found its zero"),
        ("G1 X50 Y10", "lays 40 mm of outline, "),
        ("G1 E-0.8", "pulls 0.8 mm of filament back, in "),
        ("G0 Z0.4", "goes up 0.2 mm, in "),
        ("G0 X20", "travels 30 mm without laying a bead, in "),
        ("G0 Z0.2", "goes down 0.2 mm, in "),
        ("G1 E0.8", "pushes 0.8 mm of filament forward, in "),
        ("G2 ", "lays 31 mm of outline, "),  # half a circle of radius 10: 10 pi
        ("G1 X45", "wipes along 5 mm and pulls 0.5 mm of filament back, in "),
        ("M104", ""),
    ],
)
def test_what_a_line_does(program: Program, line: str, said: str) -> None:
    found = line_said(program, _line_of(line))
    assert found.startswith(said) if said else found == ""


def test_a_bead_tells_width_time_and_speeds(program: Program) -> None:
    """2 mm of 1.75 mm filament on 40 mm at 0.2 mm: A = 0.1203 mm2, w = (A - pi t^2/4)/t + t = 0.644 mm."""
    said = line_said(program, _line_of("G1 X50 Y10"))
    assert ", 0.64 mm wide, in " in said
    assert said.endswith("; it reaches the 20 mm/s that it asks for")
    seconds = float(said.partition(", in ")[2].partition(" s")[0])
    assert seconds == pytest.approx(2.0, abs=0.2)  # 40 mm at 20 mm/s, and a little to speed up


def test_a_move_is_told_as_its_line_where_it_has_but_one(program: Program) -> None:
    line = _line_of("G1 X50 Y10")
    (row,) = (k for k in range(len(program.moves)) if program.moves.line[k] == line)
    assert move_said(program, row) == line_said(program, line)
    with pytest.raises(IndexError):
        move_said(program, len(program.moves))
    assert as_sentence("line 9", "goes up 0.2 mm, in 0.02 s") == "Line 9 goes up 0.2 mm, in 0.02 s."


def test_the_way_between_two_beads(program: Program) -> None:
    (way,) = ways_of_layer(program.moves, program.layers, 1)
    assert isinstance(way, Way)
    assert way.length_mm == pytest.approx(0.2 + 30.0 + 0.2, abs=1e-4)
    assert way.pulled_mm == pytest.approx(0.8, abs=1e-6)
    assert program.moves.line[way.travel] == _line_of("G0 X20")
    assert program.moves.line[way.first] == _line_of("G1 E-0.8")


def test_explain_knows_words_and_numbered_lines(
    program: Program, capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    assert main(["explain", "Inner", "loops"]) == 0
    assert capsys.readouterr().out.startswith("inner loop\n\nWhat it is\n  A loop of bead")
    path, line = tmp_path / "one.gcode", _line_of("G1 X50 Y10")
    path.write_text(TEXT)
    assert main(["explain", str(line), "--program", str(path)]) == 0
    out = capsys.readouterr().out
    assert out.startswith("G1 X50 Y10 E2 F1200\n")
    assert f"Line {line} lays 40 mm of outline" in out and "2 mm of filament forward" in out
    assert main(["explain", "outlines", "--program", str(path)]) == 0
    assert "Here 111 mm are laid so" in capsys.readouterr().out  # two of 40 mm and half a circle
    for argv, told in (
        (["explain", "12"], "of which program"),
        (["explain", "999", "--program", str(path)], "There is no line 999"),
        (["explain", "off-plate", "--program", str(path)], "goes with a word of the trade"),
        (["explain", "inflil"], "the nearest is infill"),
    ):
        assert main(argv) == 2
        assert told in capsys.readouterr().err
