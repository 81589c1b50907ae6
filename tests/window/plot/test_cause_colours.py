"""Colours of the time: seconds of a cause of beads and travel, seconds per mm2 of the plate."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from viewer import open_program
from viewer.beads.draw import UNKNOWN_INDEX, View
from viewer.part.solid import part_of
from viewer.program import Program
from viewer.shown.pictures.bead_values import Ranges
from viewer.shown.pictures.layer_picture import draw_scene
from viewer.shown.pictures.layer_svg import layer_svg
from viewer.shown.pictures.part_picture import look_of
from viewer.shown.pictures.scene import build_scene, recoloured, whole_layer
from viewer.shown.window.plot.layer_texts import cell_text
from viewer.why.causes import Cause, times_of_cause
from viewer.why.plate_map import plate_map
from viewer.why.trials import under_trial

SAMPLES = Path(__file__).parents[3] / "sample_programs"


@pytest.fixture(scope="module")
def tray() -> Program:
    return open_program(SAMPLES / "tap_washer_tray.gcode")


def test_the_plate_is_coloured_by_the_time_spent_over_it(tray: Program) -> None:
    """Each cell of the picture has the colour of its seconds per mm2; what has none stays clear."""
    ranges = Ranges(tray)
    for colouring, layer in (("layer map", 3), ("program map", None)):
        scene = build_scene(tray, 3, colouring, False, ranges)
        cells, found = scene.colours.cells, plate_map(tray, layer)
        assert cells is not None and cells.index.shape == found.seconds.shape
        assert ((cells.index == UNKNOWN_INDEX) == (found.seconds == 0.0)).all()
        row, column = np.unravel_index(int(np.argmax(found.seconds)), found.seconds.shape)
        middle = found.left_mm + (column + 0.5) * 2.0, found.front_mm + (row + 0.5) * 2.0
        assert cells.at(middle) == pytest.approx(found.seconds.max() / 4.0) and cells.at((-999.0, 0.0)) == 0.0
        assert cell_text(cells, middle).endswith(" s/mm²")
        assert cells.index[row, column] == cells.index[cells.index != UNKNOWN_INDEX].max()
        px = 4.0
        view = View(found.left_mm, found.front_mm + found.cell_mm * found.seconds.shape[0], px)
        rows, columns = (round(found.cell_mm * n * px) for n in found.seconds.shape)
        image = draw_scene(scene, whole_layer(tray, 3), frozenset(), view, (rows, columns), 1.0)
        side = round(found.cell_mm * px)
        block = image[rows - side * (row + 1) : rows - side * row, side * column : side * (column + 1)]
        assert (block == scene.colours.palette[cells.index[row, column]]).all()
        clear = np.argwhere(found.seconds == 0.0)
        if len(clear):
            i, j = clear[0]
            assert (image[rows - side * (i + 1) : rows - side * i, side * j : side * (j + 1)] == 0).all()


def test_beads_and_travel_have_the_seconds_of_a_cause(tray: Program) -> None:
    ranges = Ranges(tray)
    ramps = times_of_cause(tray, Cause("speeding up and braking"))
    scene = build_scene(tray, 3, "cause", False, ranges, ramps)
    seconds = ramps.seconds[scene.beads.move]
    assert ((scene.colours.index == UNKNOWN_INDEX) == (seconds == 0.0)).all()
    known = scene.colours.index != UNKNOWN_INDEX
    order = np.argsort(seconds[known], kind="stable")
    assert (np.diff(scene.colours.index[known][order].astype(int)) >= 0).all()
    assert scene.colours.travel is None and "speeding up" in scene.colours.key.title
    travel = times_of_cause(tray, Cause("travel"))
    beside = recoloured(scene, "cause", False, ranges, travel)
    assert (beside.colours.index == UNKNOWN_INDEX).all() and beside.colours.travel is not None
    assert (beside.colours.travel != UNKNOWN_INDEX).any()
    view, size = View(0.0, 200.0, 2.0), (400, 400)
    drawn = draw_scene(beside, whole_layer(tray, 3), frozenset(), view, size, 1.0)
    assert (drawn != draw_scene(scene, whole_layer(tray, 3), frozenset(), view, size, 1.0)).any()


def test_the_whole_part_has_the_same_colours(tray: Program) -> None:
    ranges, ramps = Ranges(tray), times_of_cause(tray, Cause("speeding up and braking"))
    part = part_of(tray.moves, tray.layers, tray.roles, tray.filament_diameter_mm)
    look = look_of(tray, part, "cause", False, ranges, ramps)
    scene = build_scene(tray, 3, "cause", False, ranges, ramps)
    rows = np.searchsorted(part.end, scene.beads.move)
    assert (look.index[rows] == scene.colours.index).all()


def test_under_a_trial_the_scale_stays_and_the_colours_change(tray: Program) -> None:
    ranges, cause = Ranges(tray), Cause("speeding up and braking")
    card = build_scene(tray, 3, "cause", False, ranges, times_of_cause(tray, cause))
    tried = under_trial(tray, {"print-acceleration": 4.0})
    under = build_scene(tried, 3, "cause", False, ranges, times_of_cause(tried, cause))
    one, other = card.colours.key.span, under.colours.key.span
    assert one is not None and other is not None and (one.low, one.high) == (other.low, other.high)
    known = (card.colours.index != UNKNOWN_INDEX) & (under.colours.index != UNKNOWN_INDEX)
    assert under.colours.index[known].mean() < card.colours.index[known].mean()


def test_a_map_is_squares_in_svg(tray: Program) -> None:
    svg = layer_svg(tray, 3, "layer map")
    assert svg.count("<rect") >= np.count_nonzero(plate_map(tray, 3).seconds) and "s/mm" in svg
