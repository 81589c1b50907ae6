"""Loops told by the way they run around, and by their speed."""

from __future__ import annotations

import pytest

from tests.layers.plotter import Plotter
from viewer.layers.layers import INFILL, INNER, OUTLINE, SOLID


def plate_with_hole(plot: Plotter, at: float, backwards: bool) -> None:
    """Lay a round plate with fill and a hole of two walls."""
    for radius, meant in ((12.0, OUTLINE), (11.6, INNER)):
        plot.circle(radius, meant, at)
    for radius, meant in ((5.0, OUTLINE), (5.4, INNER)):
        plot.circle(radius, meant, at, backwards=backwards)
    for x in (-9.5, -8.0, -6.5, 6.5, 8.0, 9.5):
        reach = (11.2**2 - x**2) ** 0.5
        plot.line([(at + x, at - reach), (at + x, at + reach)], INFILL)


def tube(plot: Plotter, walls: tuple[int, ...], at: float, hole: bool) -> None:
    """Lay loops that touch around air, the last of them backwards if it is the outline of a hole."""
    for number, meant in enumerate(walls):
        last = number == len(walls) - 1
        plot.circle(8.0 - 0.4 * number, meant, at, backwards=hole and last)


@pytest.mark.parametrize("walls", [2, 3])
def test_where_holes_run_around_backwards_an_inner_loop_may_have_air_inside(walls: int) -> None:
    plot = Plotter()
    for _ in range(6):
        plate_with_hole(plot.layer(), 30.0, backwards=True)
        tube(plot, (OUTLINE, *[INNER] * (walls - 1)), 70.0, hole=False)  # a part without fill
        tube(plot, (OUTLINE, *[INNER] * (walls - 2), OUTLINE), 100.0, hole=True)
    assert plot.wrong() == []


@pytest.mark.parametrize("with_plate", [True, False])
def test_where_holes_run_around_as_outlines_do_the_sense_tells_nothing(with_plate: bool) -> None:
    plot = Plotter()
    for _ in range(6):
        plot.layer()
        if with_plate:
            plate_with_hole(plot, 30.0, backwards=False)
        tube(plot, (OUTLINE, INNER, OUTLINE), 70.0, hole=False)
    assert plot.wrong() == []


def box(plot: Plotter, speeds: tuple[float, ...], spacing: float, third: int) -> None:
    """Lay three loops and lines within them at four speeds, mm/s; ``third``: what the third loop is."""
    for number, meant in enumerate((OUTLINE, INNER, third)):
        plot.bead_mm_s = speeds[number]
        plot.square(10.0 - 0.4 * number, meant)
    plot.bead_mm_s = speeds[3]
    plot.zigzag(8.8, spacing, SOLID if spacing < 0.7 else INFILL)


@pytest.mark.parametrize(
    ("speeds", "third"),
    [
        ((60.0, 90.0, 50.0, 50.0), SOLID),
        ((60.0, 90.0, 50.2, 50.0), SOLID),
        ((60.0, 90.0, 90.0, 50.0), INNER),  # a wall as the second is
        ((60.0, 50.0, 50.0, 50.0), INNER),  # all alike: a third wall
        ((60.0, 90.0, 70.0, 50.0), INNER),
    ],
)
def test_a_loop_at_the_speed_of_touching_lines_is_solid(speeds: tuple[float, ...], third: int) -> None:
    """All layers are solid, so that nothing but the speed tells how many walls there are."""
    plot = Plotter()
    for _ in range(6):
        box(plot.layer(), speeds, 0.42, third)
    assert plot.wrong() == []


def test_a_loop_at_the_speed_of_sparse_lines_is_a_wall() -> None:
    plot = Plotter()
    for _ in range(6):
        box(plot.layer(), (60.0, 90.0, 50.0, 50.0), 2.0, INNER)
    assert plot.wrong() == []
