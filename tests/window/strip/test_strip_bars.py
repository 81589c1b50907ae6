"""The layer strip in numbers, checked by hand and against slow plain loops."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from PySide6.QtGui import QColor

from viewer import open_program
from viewer.shown.layer_rows import layer_rows
from viewer.shown.window.strip.strip_bars import (
    MARK_KINDS,
    axis_of,
    bars_of,
    clusters_of,
    layer_ticks,
    marks_of,
    middle_of,
    stack_of,
    values_of,
)
from viewer.shown.window.strip.strip_picture import bars_image, stacked_image
from viewer.timing import CAUSES
from viewer.why.causes import Cause

SAMPLES = Path(__file__).parents[3] / "sample_programs"


@pytest.mark.parametrize("quantity", ["time", "filament", "peak flow"])
def test_values_are_those_of_the_layer_rows(hook, quantity):
    names = {"time": "time", "filament": "filament drawn", "peak flow": "peak flow"}
    values = values_of(hook, quantity, None)
    assert len(values) == len(hook.layers)
    for number in (1, 2, 26, len(hook.layers)):
        row = next(row for row in layer_rows(hook, number) if row.name == names[quantity])
        assert values[number - 1] == pytest.approx(row.value, rel=1e-9)


def test_few_layers_share_the_columns_and_leave_gaps():
    bars = bars_of(np.array([3.0, 1.0, 2.0]), 13)
    assert bars.layer.tolist() == [1] * 4 + [2] * 4 + [3] * 5
    assert bars.value.tolist() == [3, 3, 3, 0, 1, 1, 1, 0, 2, 2, 2, 2, 0]
    assert [bars.place(number) for number in (1, 2, 3)] == [(0, 4), (4, 8), (8, 13)]
    assert (bars.at(-5.0), bars.at(4.0), bars.at(99.0)) == (1, 2, 3)


def test_many_layers_show_the_highest_of_each_column():
    values = np.random.default_rng(5).random(5003)
    bars = bars_of(values, 700)
    of_layer = np.arange(5003) * 700 // 5003  # the column of each layer, slowly
    for column in range(700):
        members = np.flatnonzero(of_layer == column)
        assert bars.value[column] == values[members].max()
        assert bars.layer[column] - 1 == members[np.argmax(values[members])]
        assert bars.count_at(column) == len(members)
    assert all(bars.place(number)[0] == of_layer[number - 1] for number in range(1, 5004))


def test_equal_values_in_neighbouring_columns_stay_in_their_columns():
    bars = bars_of(np.array([1.0, 2.0, 2.0, 1.0, 2.0, 2.0]), 3)
    assert bars.layer.tolist() == [2, 3, 5]


@pytest.mark.parametrize("highest", [0.004, 0.9, 1.0, 3.3, 59.0, 63.0, 119.0, 120.0, 5000.0, 7300.0, 1e6])
def test_value_axis_has_two_or_three_round_ticks_above_zero(highest):
    axis = axis_of("time", highest)
    assert 2 <= len(axis.ticks) - 1 <= 3
    assert axis.ticks[0] == (0.0, "0")
    assert axis.ticks[-1][0] <= highest < axis.top
    unit = {"s": 1.0, "min": 60.0, "h": 3600.0}[axis.unit]
    for value, text in axis.ticks:
        assert float(text) * unit == pytest.approx(value)


def test_value_axis_of_nothing_has_only_zero():
    assert axis_of("overhang", 0.0).ticks == ((0.0, "0"),)


@pytest.mark.parametrize(
    ("layers", "width", "label"), [(1, 60, 8), (3, 900, 8), (45, 300, 16), (80, 900, 16), (50_000, 400, 44)]
)
def test_numbers_of_layers_do_not_touch(layers, width, label):
    ticks = layer_ticks(layers, width, label)
    assert ticks
    assert min(ticks) >= 1
    assert max(ticks) <= layers
    places = (np.array(ticks) - 0.5) * width / layers
    assert (np.diff(places) > label * 1.2).all()


def test_bars_are_drawn_from_below_and_weighted_at_their_top():
    colour = QColor(200, 100, 50)
    image = bars_image(np.array([0.0, 0.5, 0.625, 1.0, 1e-9]), 4, colour, 1.0)
    alpha = [[QColor.fromRgba(image.pixel(x, y)).alpha() for x in range(5)] for y in range(4)]
    assert alpha == [
        [0, 0, 0, 255, 0],
        [0, 0, 128, 255, 0],
        [0, 255, 255, 255, 0],
        [0, 255, 255, 255, 255],
    ]
    assert QColor.fromRgb(image.pixel(3, 0)) == colour


def test_pause_is_marked_at_its_layer(hook):
    marks = marks_of(hook, ())
    pauses = np.flatnonzero(marks.kind == MARK_KINDS.index("pause"))
    assert marks.layer[pauses].tolist() == [pause.layer for pause in hook.figures.time.pauses] == [26]


def test_tool_changes_are_marked_in_every_layer_that_has_one():
    program = open_program(SAMPLES / "radiator_dial_two_tools.gcode")
    marks = marks_of(program, ())
    assert len(marks) == program.figures.time.tool_changes
    assert set(marks.kind.tolist()) == {MARK_KINDS.index("tool change")}


def test_messages_that_return_every_layer_are_left_out(tmp_path):
    lines = ["G28", "M83"]
    for number in range(1, 21):
        lines += [
            f"M117 Now layer {number}",
            f"G1 Z{number * 0.2:.1f} F600",
            "G1 X50 Y10 E2 F1800",
            "G1 X10 Y10 E2",
        ]
        lines += ["M117 Put the nut in"] if number == 9 else []  # shown when layer 10 is about to begin
    (tmp_path / "nut.gcode").write_text("\n".join(lines) + "\n")
    program = open_program(tmp_path / "nut.gcode")
    marks = marks_of(program, ())
    assert [(MARK_KINDS[kind], layer) for kind, layer in zip(marks.kind, marks.layer, strict=True)] == [
        ("message", 10)
    ]
    assert program.texts.fetch(int(program.notes.line[marks.row[0]]), 1) == ["M117 Put the nut in"]


def test_marks_close_together_share_the_gravest_sign(hook):
    marks = marks_of(hook, ((3, "note"), (4, "stop"), (30, "look"), (None, "stop")))
    assert marks.layer.tolist() == [3, 4, 26, 26, 30]
    clusters = clusters_of(marks, marks.layer * 5.0, 12.0)
    assert [(c.first, c.end, MARK_KINDS[marks.kind[c.gravest]]) for c in clusters] == [
        (0, 2, "stop"),
        (2, 4, "pause"),  # and the message before it
        (4, 5, "look"),
    ]


def test_one_high_layer_does_not_rule_the_scale():
    values = np.array([600.0, *[20.0] * 40])
    axis = axis_of("time", float(values.max()), middle_of(values))
    assert axis.root
    assert float(axis.share(np.array(20.0))) > 0.15, "linear it would be 0.03 of the height"
    assert float(axis.share(np.array(axis.top))) == pytest.approx(1.0)
    even = np.array([30.0, 20.0, 25.0])
    assert not axis_of("time", 30.0, middle_of(even)).root
    assert middle_of(np.zeros(3)) == 0.0


def test_a_stack_adds_up_to_the_time_of_each_layer(hook):
    stack = stack_of(hook)
    np.testing.assert_allclose(stack.sum(axis=1), values_of(hook, "causes", None), rtol=1e-12)
    travel = values_of(hook, "causes", None, Cause("travel"))
    assert (travel == hook.timing.ledger.by_layer[1:-1, CAUSES.index("travel")]).all()


def test_stacked_bars_are_as_high_as_plain_ones_and_show_each_part_by_its_share():
    colours = [QColor(200, 0, 0), QColor(0, 200, 0), QColor(0, 0, 200)]
    parts = np.array([[1.0, 2.0, 1.0], [0.0, 5.0, 0.0], [0.0, 0.0, 0.0], [3.0, 0.0, 1.0]])
    share = np.array([1.0, 0.5, 0.0, 0.625])
    image = stacked_image(share, parts, 8, colours, 1.0)
    names = {200 << 16 | 255 << 24: "r", 200 << 8 | 255 << 24: "g", 200 | 255 << 24: "b", 0: "."}
    drawn = ["".join(names.get(image.pixel(x, y), "?") for y in range(8)) for x in range(4)]
    assert drawn[:3] == ["bbggggrr", "....gggg", "........"]
    assert drawn[3] == "...b?rrr"  # 5 of 8 rows: 3.75 red, 1.25 blue
    plain = bars_image(share, 8, QColor(9, 9, 9), 1.0)
    for x in range(4):
        for y in range(8):
            assert image.pixelColor(x, y).alpha() == plain.pixelColor(x, y).alpha()
