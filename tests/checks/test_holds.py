"""What holds, in words: a skirt is printed, too, but it is not the part."""

from __future__ import annotations

from pathlib import Path

from tests.checks.on_paper import END, opened, whole
from viewer.checks.holds import inside_plate, the_end
from viewer.figures.heat import last_target
from viewer.shape.outside import room_of


def test_the_distance_to_the_edge_is_that_of_all_that_is_printed(tmp_path: Path) -> None:
    skirt = ";TYPE:SKIRT\nG1 X5 Y50 Z0.2 F6000\nG1 X5 Y70 E1\n;TYPE:WALL-OUTER\n"
    program = opened(tmp_path, whole(3).replace("G28\n", "G28\n" + skirt, 1))
    said, _ = inside_plate(program, room_of(program.printer))
    assert said.startswith("What is printed lies 5 mm or more inside the plate")


def test_what_is_switched_off_twice_goes_off_the_first_time(tmp_path: Path) -> None:
    body = whole(3).removesuffix(END)
    text = body + "M140 S0\nM104 S0\nG1 X0 Y0 F6000\nM140 S0\nM84\nM104 S0\n"
    first = text.count("\n", 0, text.index("M140 S0\nM104")) + 1
    assert the_end(opened(tmp_path, text)).startswith(
        f"Nozzle, plate and motors go off in lines {first} to {first + 4}, "
    )
    again = text.replace("G1 X0 Y0 F6000\n", "M104 S50\n")  # warm for a while: off with the second one
    assert the_end(opened(tmp_path, again)).startswith(
        f"Nozzle, plate and motors go off in lines {first} to {first + 5}, "
    )
    for program, line in ((opened(tmp_path, text), first + 1), (opened(tmp_path, again), first + 5)):
        nozzle = last_target(program.state, program.moves, "nozzle")
        assert nozzle is not None and nozzle.is_off and nozzle.after_beads
        assert nozzle.line == line, "what the lesson asks for is what the verdict names"
