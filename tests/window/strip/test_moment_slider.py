"""The slider in seconds and playing, with keys and mouse; times checked against the layer's own."""

from __future__ import annotations

from pathlib import Path

import pytest
from PySide6.QtCore import QPoint, Qt

from tests.window.conftest import choose_next, move_to, show_active
from viewer import open_program
from viewer.program import Program
from viewer.shown.window.model.paces import PACES, next_pace
from viewer.shown.window.model.view_state import ViewState
from viewer.shown.window.strip.moment_slider import MomentSlider
from viewer.shown.window.strip.moment_texts import moment_texts, running_at

SAMPLES = Path(__file__).parents[3] / "sample_programs"


@pytest.fixture(scope="module")
def short(tmp_path_factory: pytest.TempPathFactory) -> Program:
    """Three layers of one bead each, some tenths of a second long."""
    path = tmp_path_factory.mktemp("short") / "short.gcode"
    lines = ["G28", "M83", "G1 X10 Y10 F6000"]
    for number in (1, 2, 3):
        lines += [f"G1 Z{number * 0.2:.1f} F600", f"G1 X{10 + 20 * (number % 2)} E1 F3000"]
    path.write_text("\n".join([*lines, "M84"]) + "\n")
    return open_program(path)


def shown(qtbot, program: Program | None) -> tuple[ViewState, MomentSlider]:
    state = ViewState()
    pane = MomentSlider(state)
    qtbot.addWidget(pane)
    pane.resize(800, 40)
    state.show_program(program)
    show_active(pane, qtbot)
    return state, pane


def test_the_whole_layer_stands_at_the_end(qtbot, hook):
    state, pane = shown(qtbot, hook)
    state.show_layer(12)
    assert pane.slider.value() == pane.slider.maximum() == round(state.layer_seconds * 1000)
    assert pane.reading.whole == "all of the layer, 25.4 s"


def test_keys_move_the_moment(qtbot, hook):
    state, pane = shown(qtbot, hook)
    state.show_layer(12)
    qtbot.keyClick(pane.slider, Qt.Key.Key_Left)
    step = pane.slider.singleStep() / 1000
    assert step == 0.1  # the round time next below a hundredth of 25.4 s
    assert state.moment_s == pytest.approx(state.layer_seconds - step, abs=1e-3)
    qtbot.keyClick(pane.slider, Qt.Key.Key_PageDown)
    assert state.moment_s == pytest.approx(state.layer_seconds * 0.9 - step, abs=2e-3)
    qtbot.keyClick(pane.slider, Qt.Key.Key_Home)
    assert state.moment_s == 0.0
    qtbot.keyClick(pane.slider, Qt.Key.Key_End)
    assert state.moment_s is None


def test_pressing_goes_to_the_place_pressed_and_drags_on(qtbot, hook):
    state, pane = shown(qtbot, hook)
    state.show_layer(12)
    slider = pane.slider
    qtbot.mousePress(slider, Qt.MouseButton.LeftButton, pos=QPoint(slider.width() // 4, slider.height() // 2))
    assert state.moment_s == pytest.approx(state.layer_seconds / 4, rel=0.05)
    move_to(slider, QPoint(slider.width() // 2, slider.height() // 2), Qt.MouseButton.LeftButton)
    qtbot.mouseRelease(
        slider, Qt.MouseButton.LeftButton, pos=QPoint(slider.width() // 2, slider.height() // 2)
    )
    assert state.moment_s == pytest.approx(state.layer_seconds / 2, rel=0.05)


def test_the_text_names_the_line_that_runs(qtbot, hook):
    state, pane = shown(qtbot, hook)
    state.show_layer(12)
    moves = hook.layers.moves_of(12)
    times = hook.timing.progress.time_at_move(range(moves.start, moves.stop))
    start = float(hook.timing.moments.layer_start_s[11])
    for k in (0, 17, 100, moves.stop - moves.start - 1):
        inside = float(times[k]) + 1e-4 - start
        line, cause = running_at(hook, 12, inside)
        assert line == hook.moves.line[moves.start + k]
        assert cause == ""
    state.show_moment(12.4)
    line, _ = running_at(hook, 12, 12.4)
    assert pane.reading.whole == f"12.4 s of 25.4 s, line {line}"
    assert moment_texts(state)[-1] == "12.4 s"


def test_a_wait_names_its_cause_and_its_command(hook):
    pause = hook.figures.time.pauses[0]
    moment = pause.at_s - float(hook.timing.moments.layer_start_s[pause.layer - 1])
    assert running_at(hook, pause.layer, moment + 10.0) == (pause.line, "pauses")
    after = moment + hook.printer.pause_s + 1e-3
    assert running_at(hook, pause.layer, after)[1] == ""


def test_playing_goes_on_by_the_time_that_passed(qtbot, hook):
    state, pane = shown(qtbot, hook)
    state.show_layer(12)
    state.show_moment(1.0)
    state.play(10.0)
    pane.advance(0.3)
    assert state.moment_s == pytest.approx(4.0)
    pane.advance(0.05)
    assert state.moment_s == pytest.approx(4.5)


def test_playing_goes_over_several_layers_and_stops_at_the_last(qtbot, short):
    state, pane = shown(qtbot, short)
    starts = short.timing.moments.layer_start_s
    state.show_moment(0.0)
    state.play(1.0)
    pane.advance(float(starts[2] - starts[0]) + 0.01)
    assert state.layer == 3
    assert state.moment_s == pytest.approx(0.01)
    seen = []
    state.listen("moment", lambda: seen.append(state.moment_s))
    pane.advance(100.0)
    assert (state.layer, state.moment_s, state.playing) == (3, None, 0.0)
    assert seen == [None]
    assert not pane._timer.isActive()
    assert pane.button.text() == "Play"


def test_the_clock_on_the_wall_drives_it(qtbot, hook):
    state, pane = shown(qtbot, hook)
    state.show_layer(12)
    state.choose_pace(1.0)
    qtbot.mouseClick(pane.button, Qt.MouseButton.LeftButton)
    assert state.playing == 1.0
    assert pane.button.text() == "Halt"
    qtbot.waitUntil(lambda: (state.moment_s or 0.0) > 0.1, timeout=3000)
    qtbot.keyClick(pane.button, Qt.Key.Key_Space)
    assert state.playing == 0.0
    assert not pane.busy  # the clock that would go on is stopped
    assert state.layer == 12


def test_a_jump_to_another_layer_goes_on_from_its_beginning(qtbot, hook):
    state, pane = shown(qtbot, hook)
    state.play(1.0)
    state.show_layer(20)
    pane.advance(0.5)
    assert (state.layer, state.moment_s) == (20, pytest.approx(0.5))
    state.play(0.0)


def test_pace_can_be_chosen_while_playing_and_elsewhere(qtbot, hook):
    state, pane = shown(qtbot, hook)
    pane.toggle_play()
    assert state.playing == 60.0
    choose_next(pane.pace, qtbot)
    assert state.playing == 600.0
    state.play(6000.0)
    assert pane.pace.currentText() == "6000 ×"
    assert pane.chosen_pace == 6000.0
    pane.toggle_play()
    assert state.playing == 0.0
    assert [pane.pace.itemData(k) for k in range(pane.pace.count())] == [*PACES, 6000.0]
    state.choose_pace(0.5)
    assert pane.pace.currentText() == "1/2 pace"
    assert (next_pace(0.5, -1), next_pace(0.1, -1), next_pace(0.5, 1)) == (0.1, 0.1, 1.0)


@pytest.mark.parametrize("text", [None, "G28\nM84\n"])
def test_without_layers_there_is_nothing_to_play(qtbot, tmp_path, text):
    program = None
    if text is not None:
        (tmp_path / "empty.gcode").write_text(text)
        program = open_program(tmp_path / "empty.gcode")
    state, pane = shown(qtbot, program)
    assert pane.reading.whole == "no layer"
    assert not pane.slider.isEnabled()
    pane.toggle_play()
    assert state.playing == 0.0
    assert not pane._timer.isActive()


def test_a_program_that_is_put_away_stops_the_clock(qtbot, hook):
    state, pane = shown(qtbot, hook)
    pane.toggle_play()
    assert pane._timer.isActive()
    state.show_program(None)
    assert not pane._timer.isActive()
