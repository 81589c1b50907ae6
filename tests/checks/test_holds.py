"""What holds, in words: a skirt is printed, too, but it is not the part."""

from __future__ import annotations

from pathlib import Path

from tests.checks.on_paper import opened, whole
from viewer.checks.holds import inside_plate
from viewer.shape.outside import room_of


def test_the_distance_to_the_edge_is_that_of_all_that_is_printed(tmp_path: Path) -> None:
    skirt = ";TYPE:SKIRT\nG1 X5 Y50 Z0.2 F6000\nG1 X5 Y70 E1\n;TYPE:WALL-OUTER\n"
    program = opened(tmp_path, whole(3).replace("G28\n", "G28\n" + skirt, 1))
    said, _ = inside_plate(program, room_of(program.printer))
    assert said.startswith("What is printed lies 5 mm or more inside the plate")
