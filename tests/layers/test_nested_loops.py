"""Roles from shape where fill is nested loops, and near misses: tubes within each other, a foot, a brim."""

from __future__ import annotations

import pytest
from shapely.geometry import Point
from shapely.geometry import box as box_of
from shapely.geometry.base import BaseGeometry

from tests.layers.plotter import Plotter
from viewer.layers.layers import INFILL, INNER, OUTLINE, SOLID
from viewer.read.moves import BEAD


def nest(plot: Plotter, first: float, pitch: float, walls: int = 2) -> None:
    """Lay the walls of a square, half 12 mm, and loops inside from half `first` on, a pitch apart, to the middle."""
    for wall in range(walls):
        plot.square(12.0 - 0.42 * wall, INNER if wall else OUTLINE)
    while first > 0.31:
        plot.square(first, INFILL)
        first -= pitch


@pytest.mark.parametrize("pitch", [1.6, 2.1, 4.2])
@pytest.mark.parametrize("walls", [1, 2, 3])
@pytest.mark.parametrize("share", [0.5, 1.0])
def test_loops_that_go_on_inwards_at_a_pitch_are_fill(pitch: float, walls: int, share: float) -> None:
    plot = Plotter()
    for _ in range(6):
        nest(plot.layer(), 12.0 - 0.42 * (walls - 1) - share * pitch, pitch, walls)
    assert plot.wrong() == []


@pytest.mark.parametrize("backwards", [False, True])
def test_nested_fill_in_one_chain(backwards: bool) -> None:
    """A bead leads from each loop to the next: it is no fill that would make the room around it a filled one."""
    plot = Plotter()
    for _ in range(6):
        plot.layer()
        plot.square(12.0, OUTLINE)
        plot.square(11.6, INNER)
        halves = [9.0, 6.5, 4.0, 1.5][:: -1 if backwards else 1]
        plot.square(halves[0], INFILL)
        for half in halves[1:]:
            plot.move(50 - half, 50 - half, BEAD, INFILL)
            plot.square(half, INFILL, travel=False)
    assert plot.wrong() == []


SHAPES = {
    "ring": Point(50, 50).buffer(17).difference(Point(50, 50).buffer(5)),
    "hole beside": Point(50, 50).buffer(18).difference(Point(55, 50).buffer(5)),
    "L": box_of(30, 30, 66, 66).difference(box_of(46, 46, 66, 66)),
    "plate": box_of(20, 30, 80, 64).difference(Point(38, 46).buffer(4)).difference(Point(62, 49).buffer(4)),
}


@pytest.mark.parametrize("pitch", [1.3, 2.2])
@pytest.mark.parametrize("name", SHAPES)
def test_nested_fill_about_holes_and_corners(name: str, pitch: float) -> None:
    """Loops that shapely offsets from all edges."""
    plot = Plotter()
    rings: list[tuple[BaseGeometry, int]] = []
    shape: BaseGeometry = SHAPES[name].simplify(0.01)
    for meant in (OUTLINE, INNER):
        rings.append((shape, meant))
        shape = shape.buffer(-0.42, join_style="mitre")
    shape = shape.buffer(0.42 - pitch, join_style="mitre")
    while not shape.is_empty:
        rings.append((shape, INFILL))
        shape = shape.buffer(-pitch, join_style="mitre")
    for _ in range(6):
        plot.layer()
        for ring, meant in rings:
            for part in getattr(ring, "geoms", [ring]):
                for loop in (part.exterior, *part.interiors):
                    plot.line(list(loop.coords), meant)
    assert sum(role == INFILL for role in plot.meant) > 60
    assert plot.wrong() == []


@pytest.mark.parametrize(
    "halves",
    [
        (12.0, 8.0),  # a tube of one bead within another
        (12.0, 11.6, 7.0),  # ... within a cup
        (12.0, 8.5, 6.0),  # two, but the bore is wider than the gaps
        (12.0, 11.6, 10.0, 9.0),
    ],
)
def test_tubes_within_each_other_are_no_fill(halves: tuple[float, ...]) -> None:
    plot = Plotter()
    for _ in range(6):
        plot.layer()
        for half in halves:
            plot.square(half, OUTLINE)
    assert plot.wrong() == []


def test_loops_that_do_not_run_along_each_other_are_no_fill() -> None:
    """Round tubes in square ones: the mean gaps are alike, but not the gaps along a loop."""
    plot = Plotter()
    for _ in range(6):
        plot.layer()
        plot.square(14.0, OUTLINE)
        plot.circle(9.0, OUTLINE)
        plot.line([(50 + 5 * x, 50 + 5 * y) for x, y in ((-1, -1), (1, -1), (0, 1), (-1, -1))], OUTLINE)
    assert plot.wrong() == []


def test_a_single_loop_is_fill_at_the_pitch_of_the_layers_before() -> None:
    plot = Plotter()
    for height in range(8):
        plot.layer()
        for half in (12.0, 11.58, 9.4, 7.3, 5.2, 3.1, 1.0) if height < 5 else (4.5, 4.08, 1.9):
            plot.square(half, INNER if half in (11.58, 4.08) else OUTLINE if half in (12.0, 4.5) else INFILL)
    assert plot.wrong() == []


@pytest.mark.parametrize("sparse", ["lines", "loops"])
@pytest.mark.parametrize("walls", [1, 2, 4])
def test_loops_beyond_the_walls_of_other_layers_are_solid(walls: int, sparse: str) -> None:
    """Nested loops that touch are walls as far as walls go where lines or loops apart follow, and solid beyond."""
    plot = Plotter()
    for height in range(12):
        plot.layer()
        if 4 <= height < 8:
            nest(plot, 12.0 - 0.42 * (walls - 1) - 2.0 if sparse == "loops" else 0.0, 2.0, walls)
            if sparse == "lines":
                plot.zigzag(12.0 - 0.42 * walls, 2.1, INFILL)
            continue
        for wall in range(28):
            role = SOLID if wall >= walls else INNER if wall else OUTLINE
            plot.square(12.0 - 0.42 * wall, role)
    assert plot.wrong() == []


def test_nested_loops_alone_tell_of_no_walls() -> None:
    """Nothing shows where walls end: a part of nothing but loops that touch has inner loops."""
    plot = Plotter()
    for _ in range(6):
        plot.layer()
        for wall in range(28):
            plot.square(12.0 - 0.42 * wall, INNER if wall else OUTLINE)
    assert plot.wrong() == []


def test_a_wider_foot_of_nested_loops_is_no_brim() -> None:
    """A brim has one layer: where the second is as wide, it is a foot."""
    plot = Plotter()
    for height in range(6):
        plot.layer()
        for ring in range(28 if height < 2 else 14):
            half = (12.0 if height < 2 else 12.0 - 0.42 * 14) - 0.42 * ring
            plot.square(half, INNER if ring else OUTLINE)
    assert plot.wrong() == []
