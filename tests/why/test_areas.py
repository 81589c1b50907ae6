"""Where two programs lay filament at one height: areas by hand, and the picture of them."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from viewer import Program, open_program
from viewer.beads.draw import View
from viewer.shown.pictures.area_picture import draw_areas
from viewer.why.areas import IN_A, IN_B, Areas, areas_at


def program(folder: Path, name: str, *layers: str) -> Program:
    path = folder / f"{name}.gcode"
    heights = (f";LAYER:{k}\nG1 Z{0.2 * (k + 1):.1f} F600\n{moves}" for k, moves in enumerate(layers))
    path.write_text("M83\n;TYPE:FILL\n" + "".join(heights), encoding="ascii")
    return open_program(path)


def line(x0: float, x1: float, y: float) -> str:
    """Return a bead of 0.4 mm by 0.2 mm."""
    area = 0.4 * 0.2 - (1.0 - np.pi / 4.0) * 0.2**2
    fed = (x1 - x0) * area / (np.pi * 0.875**2)
    return f"G1 X{x0} Y{y} F6000\nG1 X{x1} E{fed:.6f} F1800\n"


def test_areas_by_hand(tmp_path: Path) -> None:
    a = program(tmp_path, "a", line(10, 40, 10), line(10, 40, 10))
    b = program(tmp_path, "b", line(20, 50, 10), line(10, 40, 12), line(10, 40, 12))
    found = areas_at(a, b, 1, 0.05)
    width = 0.4  # ends are round: each piece beyond the other begins where its end cap does
    assert found.layers_b == (1,)
    assert found.mm2(IN_A) == pytest.approx(10 * width, rel=0.02)
    assert found.mm2(IN_B) == pytest.approx(10 * width, rel=0.02)
    assert found.mm2(IN_A | IN_B) == pytest.approx(20 * width + np.pi * width**2 / 4, rel=0.02)
    upper = areas_at(a, b, 2, 0.05)
    assert upper.mm2(IN_A | IN_B) == 0.0 and upper.mm2(IN_A) == pytest.approx(upper.mm2(IN_B), rel=0.02)
    assert areas_at(b, a, 3).layers_b == ()
    assert areas_at(a, a, 1).alike and not found.alike


def test_a_program_beside_itself_differs_nowhere() -> None:
    plate = open_program("sample_programs/drawer_glides_one_by_one.gcode")  # several layers of each height
    for layer in (1, len(plate.layers)):
        found = areas_at(plate, plate, layer)
        assert found.alike and found.mm2(IN_A | IN_B) > 0.0 and len(found.layers_b) > 1


def test_what_one_has_alone_is_hatched_its_own_way() -> None:
    cells = np.zeros((40, 60), np.uint8)
    cells[10:30, 5:25], cells[10:30, 35:55] = IN_A, IN_B
    cells[10:30, 25:35] = IN_A | IN_B
    areas = Areas(1, (1,), cells, 0.0, 0.0, 1.0)
    image = np.full((40, 60), 7, np.uint32)
    draw_areas(image, areas, View(0.0, 40.0, 1.0), False, 1.0)
    inside = np.flipud(cells)
    assert (image[(inside == 0) | (inside == (IN_A | IN_B))] == 7).all()
    one, other = image[10:30, 5:25], image[10:30, 35:55]
    assert len(np.unique(one)) == len(np.unique(other)) == 2
    inked = [side == side[0, 0] for side in (one, other)]  # the frame is inked
    for k, side in enumerate(inked):
        assert side[0].all() and side[-1].all() and side[:, 0].all() and side[:, -1].all()
        core = side[1:-1, 1:-1]
        assert 0.2 < core.mean() < 0.5
        along = np.array_equal(core[1:, :-1], core[:-1, 1:]), np.array_equal(core[1:, 1:], core[:-1, :-1])
        assert along == ((True, False) if k == 0 else (False, True))  # "/" and "\"
