"""The roles of moves: the beads' usual width, and what comments say of them."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from tests.layers.plotter import Plotter
from viewer import open_program
from viewer.layers.layers import HOLD, INFILL, INNER, OUTLINE, ROLE_NAMES, SOLID
from viewer.layers.naming import guess_roles, usual_width_mm
from viewer.layers.spacing import NO_SPACING, LateSpacing, Spacing
from viewer.read.moves import BEAD

READS = pytest.mark.filterwarnings("ignore:overflow encountered:RuntimeWarning")
"""Hashes of comments overflow on purpose, and plain Python (the compiler off) warns of it."""
SURE = Spacing(0.8, 0.6, 4000, 20, 0.4, 0.4)


@pytest.mark.parametrize(
    ("distance_mm", "width_mm"),
    [
        (0.35, 0.4),  # 15 % are what such a nozzle lays
        (0.45, 0.4),
        (0.33, 0.33),
        (0.47, 0.47),
        (0.8, 0.8),
        (0.99, 0.99),
        (1.01, 0.4),  # no nozzle of 0.4 mm lays so wide: such lines do not touch
        (float("nan"), 0.4),
    ],
)
def test_a_sure_distance_of_beads_is_their_width(distance_mm: float, width_mm: float) -> None:
    assert usual_width_mm(replace(SURE, distance_mm=distance_mm), 0.4) == width_mm


def test_an_unsure_distance_is_not() -> None:
    assert usual_width_mm(replace(SURE, share=0.2), 0.4) == 0.4
    assert usual_width_mm(replace(SURE, places=50), 0.4) == 0.4
    assert usual_width_mm(NO_SPACING, 0.4) == 0.4


def test_widths_count_in_distances_of_beads() -> None:
    """Lines 0.8 mm apart touch where a wide nozzle lays them; a card of 0.4 mm takes them for infill."""
    plot = Plotter()
    for _ in range(5):
        plot.layer().square(20.0, OUTLINE)
        plot.square(19.2, INNER)
        plot.zigzag(18.4, 0.8, SOLID)
    moves, layers = plot.done()
    spacing = LateSpacing(moves, layers)
    assert spacing.found is spacing.found
    assert spacing.found.distance_mm == pytest.approx(0.8, abs=0.01)
    beads = moves.kind == BEAD
    assert (guess_roles(moves, layers, spacing.found, 0.4)[beads] == np.array(plot.meant)[beads]).all()
    by_card = guess_roles(moves, layers, NO_SPACING, 0.4)[beads]
    assert set(by_card[np.array(plot.meant)[beads] == SOLID].tolist()) == {INFILL}


def _written(tmp_path: Path, text: str) -> list[str]:
    """Return the roles of a program's beads by name."""
    path = tmp_path / "program.gcode"
    path.write_text(text)
    program = open_program(path)
    beads = program.moves.kind == BEAD
    assert program.roles_from == "comments"
    return [ROLE_NAMES[role] for role in program.roles[beads].tolist()]


def _layer(number: int, z: float, said: str, behind: str = "") -> str:
    """Return a layer of four beads about (50, 50), its role before them or behind each."""
    begin = f";LAYER:{number}\n" if behind == "" else ""
    lines = f"{begin}G1 X40 Y40 Z{z} F6000\n{said}"
    return lines + "".join(
        f"G1 X{x} Y{y} E1 F1200{behind}\n" for x, y in ((60, 40), (60, 60), (40, 60), (40, 40))
    )


@READS
def test_layers_numbered_below_0_are_a_raft(tmp_path: Path) -> None:
    text = "G28\nM83\n" + _layer(-2, 0.3, "") + _layer(-1, 0.6, ";TYPE:SUPPORT\n")
    roles = _written(
        tmp_path, text + _layer(0, 0.9, ";TYPE:SUPPORT\n") + _layer(1, 1.2, ";TYPE:WALL-OUTER\n")
    )
    assert roles == [ROLE_NAMES[HOLD]] * 8 + ["support"] * 4 + ["outline"] * 4


@READS
def test_roles_behind_bead_lines_are_those_lines_own(tmp_path: Path) -> None:
    text = "G28\nM83\n"
    for z in (0.3, 0.6):
        text += _layer(0, z, "", " ; outer perimeter") + "G1 X45 Y45 F6000 ; go to infill\n"
        text += "G1 X55 Y45 E1 F1200 ; infill\nG1 X55 Y46 E0.1 ; infill\nG1 X45 Y46 E1 ; bridge\n"
    assert _written(tmp_path, text) == (["outline"] * 4 + ["infill"] * 2 + ["bridge"]) * 2


@READS
def test_shape_tells_what_words_behind_bead_lines_leave_open(tmp_path: Path) -> None:
    """Of two loops that are called alike the inner one is an inner loop; lines that touch are solid."""
    text, meant = "G28\nM83\n", []
    for number in range(5):
        text += f"G1 Z{0.2 * number + 0.2:.1f} F6000\n"
        for half in (10.0, 9.6):
            a, b = 50.0 - half, 50.0 + half
            text += f"G1 X{a} Y{a} F6000\n"
            text += "".join(
                f"G1 X{x} Y{y} E1 F1200 ; perimeter\n" for x, y in ((b, a), (b, b), (a, b), (a, a))
            )
            meant += ["outline" if half == 10.0 else "inner loop"] * 4
        step = 0.42 if number == 2 else 2.0
        for line in range(int(18.4 / step)):
            y = 40.8 + step * line
            text += f"G1 X40.8 Y{y:.2f} F6000\nG1 X59.2 Y{y:.2f} E1 F1200 ; infill\n"
            meant.append("solid" if number == 2 else "infill")
    assert _written(tmp_path, text) == meant
