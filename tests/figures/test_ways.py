"""Ways between beads: all of them in their order, against a plain loop."""

from __future__ import annotations

from pathlib import Path

import pytest

from viewer import Program, open_program
from viewer.figures.ways import ways_of_layer
from viewer.read.moves import BEAD, RETRACT, TRAVEL, WIPE

SAMPLES = Path(__file__).parents[2] / "sample_programs"


def looped(program: Program, number: int) -> list[tuple[int, int, float, float]]:
    """First row, row of the longest travel, travel in mm and filament pulled back of each way."""
    found: list[tuple[int, int, float, float]] = []
    own, moves = program.layers.moves_of(number), program.moves
    way: list[int] | None = None
    for row in range(own.start, own.stop):
        if moves.kind[row] != BEAD:
            if way is not None:
                way.append(row)
            continue
        travels = [one for one in way or [] if moves.kind[one] == TRAVEL and moves.length_mm[one] > 0.0]
        if way and travels:
            back = -sum(float(moves.fed_mm[one]) for one in way if moves.kind[one] in (RETRACT, WIPE))
            longest = max(travels, key=lambda one: float(moves.length_mm[one]))
            length = sum(float(moves.length_mm[one]) for one in travels)
            found.append((way[0], longest, length, max(back, 0.0)))
        way = []
    return found


@pytest.mark.parametrize("name", ["radiator_knob_arcs.gcode", "tap_washers_bare.gcode"])
def test_the_ways_of_layers(name: str) -> None:
    program, count = open_program(SAMPLES / name), 0
    for number in range(1, len(program.layers) + 1, 5):
        ways, expected = ways_of_layer(program.moves, program.layers, number), looped(program, number)
        assert [(way.first, way.travel) for way in ways] == [one[:2] for one in expected]
        for way, one in zip(ways, expected, strict=True):
            assert (way.length_mm, way.pulled_mm) == pytest.approx(one[2:], rel=1e-6, abs=1e-6)
        count += len(ways)
    assert count > 100


def test_a_layer_of_one_bead_has_no_way(tmp_path: Path) -> None:
    path = tmp_path / "one.gcode"
    path.write_text("G28\nG1 X10 Y10 Z0.2 F3000\nG1 X30 E1\nG0 X5\n")
    program = open_program(path)
    assert ways_of_layer(program.moves, program.layers, 1) == ()
