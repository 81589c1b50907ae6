"""The layer below: drawn at once where that is quick, else when the view rests; never that of another layer."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import numpy as np
import pytest
from pytestqt.qtbot import QtBot

from viewer.beads.draw import View
from viewer.program import Program, open_program
from viewer.shown.window.model.view_state import Shown
from viewer.shown.window.plot.drawing import Drawing, DrawnLayer, PictureRequest
from viewer.shown.window.plot.plot_view import PlotView
from viewer.shown.window.plot.shadow import Shadow

SAMPLES = Path(__file__).parents[3] / "sample_programs"
VIEW = View(100.0, 120.0, 8.0)
ON: frozenset[Shown] = frozenset({"below"})


@pytest.fixture(scope="module")
def tray() -> Program:
    return open_program(SAMPLES / "tap_washer_tray.gcode")


@pytest.fixture
def made(qtbot: QtBot) -> Iterator[tuple[Shadow, PlotView]]:
    view = PlotView()
    qtbot.addWidget(view)
    shadow = Shadow(view.below, view)
    yield shadow, view
    shadow.stop()


def drawn(program: Program, number: int, view: View = VIEW, shown: frozenset[Shown] = ON) -> DrawnLayer:
    return Drawing().draw(PictureRequest(program, number, None, "role", shown, False, view, 160, 200, 1.0))


def test_one_that_takes_long_follows_when_the_view_rests(
    qtbot: QtBot, made: tuple[Shadow, PlotView], tray: Program
) -> None:
    shadow, view = made
    shadow._redrawer._ms_a_weight = 1e3
    picture = drawn(tray, 3)
    shadow.follow(picture)
    assert view.below.view_of_picture is None
    assert shadow.busy
    qtbot.waitUntil(lambda: not shadow.busy)
    assert view.below.view_of_picture == VIEW
    moved = View(VIEW.left_mm + 1.0, VIEW.top_mm, VIEW.px_per_mm)
    shadow._redrawer._ms_a_weight = 1e3
    other = DrawnLayer(drawn(tray, 3, moved).request, picture.scene, picture.cut, picture.image)
    shadow.follow(other)
    assert view.below.view_of_picture == VIEW  # moved with the view meanwhile
    qtbot.waitUntil(lambda: not shadow.busy)
    assert view.below.view_of_picture == moved


def test_that_of_another_layer_is_taken_away(
    qtbot: QtBot, made: tuple[Shadow, PlotView], tray: Program
) -> None:
    shadow, view = made
    shadow.follow(drawn(tray, 3))
    shadow.settle()
    assert view.below.view_of_picture == VIEW
    shadow._redrawer._ms_a_weight = 1e3
    shadow.follow(drawn(tray, 4))
    assert view.below.view_of_picture is None
    qtbot.waitUntil(lambda: not shadow.busy)
    assert view.below.view_of_picture == VIEW


def test_a_quick_one_is_there_at_once(made: tuple[Shadow, PlotView], tray: Program) -> None:
    shadow, view = made
    shadow._redrawer._ms_a_weight = 1e-9
    shadow.follow(drawn(tray, 3))
    assert view.below.view_of_picture == VIEW
    assert not shadow.busy
    below = drawn(tray, 2, shown=frozenset())
    pixels = view.below._pixels
    assert pixels is not None
    assert (pixels >> 24 > 0).mean() == pytest.approx((below.image >> 24 > 0).mean(), rel=0.05)
    assert len(np.unique(pixels[pixels >> 24 == 255])) == 1


@pytest.mark.parametrize(("number", "shown"), [(1, ON), (3, frozenset())])
def test_none_below_the_first_layer_or_when_it_is_not_wanted(
    made: tuple[Shadow, PlotView], tray: Program, number: int, shown: frozenset[Shown]
) -> None:
    shadow, view = made
    shadow.follow(drawn(tray, 3))
    shadow.settle()
    shadow.follow(drawn(tray, number, shown=shown))
    assert view.below.view_of_picture is None
    assert not shadow.busy
