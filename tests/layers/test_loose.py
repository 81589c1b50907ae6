"""Lines outside of every loop: supports, a raft, or the fill of a part without walls."""

from __future__ import annotations

import numpy as np
import pytest

from tests.layers.plotter import WIDTH, Plotter
from viewer.layers.layers import HOLD, INFILL, INNER, OUTLINE, SOLID, SUPPORT
from viewer.layers.roles import infer_roles
from viewer.read.moves import BEAD


def box(plot: Plotter, at: float = 50.0) -> None:
    plot.square(10.0, OUTLINE, at)
    plot.square(9.6, INNER, at)
    plot.zigzag(9.2, 0.42, SOLID, at)


@pytest.mark.parametrize("raft", [2, 4, 5, 9])
@pytest.mark.parametrize("border", [False, True])
def test_lines_below_all_that_stands_on_them_are_a_raft(raft: int, border: bool) -> None:
    plot = Plotter()
    for height in range(raft):
        plot.layer()
        if border and height == 0:
            plot.square(14.4, HOLD)
        plot.zigzag(14.0, 2.0 if height < 2 else 0.5, HOLD)
    for _ in range(8):
        box(plot.layer())
    assert plot.wrong() == []


def test_each_object_has_its_own_raft() -> None:
    plot = Plotter()
    for number, at in ((0, 30.0), (1, 80.0)):
        for _ in range(5):
            plot.layer(number).zigzag(14.0, 0.6, HOLD, at)
        for _ in range(6):
            box(plot.layer(number), at)
    assert plot.wrong() == []


def test_a_layer_of_supports_alone_is_no_raft() -> None:
    """Supports may have heights of their own; the part lies beside them. Up to the third layer they hold it down."""
    plot = Plotter()
    for height in range(12):
        plot.layer()
        if height % 2 == 0:
            box(plot)
        plot.zigzag(6.0, 1.5, HOLD if height < 3 else SUPPORT, at=80.0)
    assert plot.wrong() == []


def test_what_is_no_layer_of_lines_alone_is_no_raft() -> None:
    """A foot with walls is as large as a raft, and below all that stands on it."""
    plot = Plotter()
    for height in range(8):
        plot.layer()
        if height < 3:
            plot.square(14.4, OUTLINE)
            plot.zigzag(14.0, 0.42, SOLID)
        else:
            box(plot)
    assert plot.wrong() == []


@pytest.mark.parametrize(("spacing", "meant"), [(0.45, SOLID), (1.5, INFILL)])
@pytest.mark.parametrize("skirt", [False, True])
def test_lines_alone_in_most_layers_are_fill(spacing: float, meant: int, skirt: bool) -> None:
    plot = Plotter()
    for height in range(8):
        plot.layer()
        if skirt and height == 0:
            plot.square(16.0, HOLD)
        plot.zigzag(10.0, spacing, meant)
    assert plot.wrong() == []


def test_a_part_on_a_large_raft_still_has_walls() -> None:
    """Most of the path is the raft's, but not most of the layers."""
    plot = Plotter()
    for _ in range(4):
        plot.layer().zigzag(40.0, 0.6, HOLD)
    for _ in range(5):
        plot.layer().square(3.0, OUTLINE)
    assert plot.wrong() == []


def test_a_bead_from_nowhere_meets_no_cell() -> None:
    plot = Plotter()
    for _ in range(4):
        plot.layer().zigzag(14.0, 0.6, HOLD)
    for _ in range(6):
        box(plot.layer())
    moves, layers = plot.done()
    moves.x_mm[3] = np.nan
    found = infer_roles(moves, layers, WIDTH)
    lowest = slice(0, int(layers.first_move[4]))
    assert (found[lowest][moves.kind[lowest] == BEAD] == HOLD).all()
