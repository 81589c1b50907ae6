"""Speed along the path: columns hold what runs in them, the pointer is told in words, a press chooses the moment."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from PySide6.QtCore import QPoint, Qt

from tests.window.conftest import show_active
from viewer import open_program
from viewer.program import Program
from viewer.shown.window.along.along_pane import AlongPane
from viewer.shown.window.along.speed_curve import AROUND_S, span_of, speed_curve, words_at
from viewer.shown.window.model.view_state import ViewState
from viewer.why.ledger import limiters_of_program

SAMPLES = Path(__file__).parents[3] / "sample_programs"


@pytest.fixture(scope="module")
def tray() -> Program:
    return open_program(SAMPLES / "tap_washer_tray.gcode")


@pytest.mark.parametrize("columns", [1, 7, 300, 5000])
def test_columns_hold_the_least_and_the_greatest_speed(tray: Program, columns: int) -> None:
    span = span_of(tray, 3, None)
    curve = speed_curve(tray, span, columns, limiters_of_program(tray))
    assert len(curve.low_mm_s) == len(curve.high_mm_s) == len(curve.limiter) == columns
    times, speeds = curve.along.time_s, curve.along.speed_mm_s
    edges = np.linspace(*span, columns + 1)
    rng = np.random.default_rng(1)
    for k in rng.integers(0, columns, 40).tolist():
        inside = speeds[(times >= edges[k]) & (times <= edges[k + 1])]
        ends = np.interp(edges[k : k + 2], times, speeds)
        every = np.concatenate([inside, ends])
        assert curve.low_mm_s[k] == pytest.approx(every.min(), abs=1e-9)
        assert curve.high_mm_s[k] == pytest.approx(every.max(), abs=1e-9)


def test_around_a_moment_only_its_seconds_are_shown(tray: Program) -> None:
    begin, end = span_of(tray, 3, 10.0)
    start = float(tray.timing.moments.layer_start_s[2])
    assert (begin, end) == pytest.approx((start + 10.0 - AROUND_S, start + 10.0 + AROUND_S))


def test_a_moment_in_words(tmp_path: Path) -> None:
    path = tmp_path / "way.gcode"
    path.write_text(
        "M83\n;LAYER:0\nG1 Z0.2 F600\nG1 X100 E4 F3000\nG4 S9\nG1 X0 E4 F60000\n", encoding="ascii"
    )
    program = open_program(path)
    curve = speed_curve(program, span_of(program, 1, None), 100, limiters_of_program(program))
    bead = int(np.flatnonzero(program.moves.length_mm == 100)[0])
    start = float(program.timing.progress.time_at_move(bead)[0])
    assert words_at(program, curve, start + 1.0) == "line 4: 50 of 50 mm/s"
    assert words_at(program, curve, start + 5.0) == "the machine waits"
    assert words_at(program, curve, start + 11.3).endswith("of 1000 mm/s, held back by top speed of X")


def test_the_pane_shows_the_layer_and_a_press_chooses_the_moment(tray: Program, qtbot) -> None:
    state = ViewState()
    pane = AlongPane(state)
    qtbot.addWidget(pane)
    pane.resize(700, 160)
    state.show_program(tray)
    show_active(pane, qtbot)
    qtbot.waitUntil(lambda: not pane.busy, timeout=60_000)
    curve = pane.canvas.curve
    assert curve is not None and (curve.begin_s, curve.end_s) == span_of(tray, 1, None)
    pane.grab()
    middle = QPoint(pane.canvas.width() // 2, pane.canvas.height() // 2)
    qtbot.mouseMove(pane.canvas, middle)
    qtbot.mouseClick(pane.canvas, Qt.MouseButton.LeftButton, pos=middle)
    assert state.moment_s is not None and 0.0 < state.moment_s < state.layer_seconds
    assert state.selected is not None
    start = float(tray.timing.progress.time_at_move(state.selected)[0])
    elapsed = float(tray.timing.moments.layer_start_s[0]) + state.moment_s
    assert start <= elapsed <= start + float(tray.timing.time_s[state.selected]) + 1e-6
    qtbot.waitUntil(lambda: not pane.busy, timeout=60_000)
    assert pane.canvas.curve is not None and pane.canvas.curve is not curve
    assert pane.canvas.moment_s == pytest.approx(elapsed)
    selected = state.selected
    qtbot.keyClick(pane.canvas, Qt.Key.Key_Right)
    assert state.selected is not None and state.selected > selected
    assert f"line {tray.moves.line[state.selected]}" in pane.caption.whole.replace("\u202f", "")
    qtbot.keyClick(pane.canvas, Qt.Key.Key_Left)
    assert state.selected == selected
    state.show_program(None)
    qtbot.waitUntil(lambda: not pane.busy, timeout=60_000)
    assert pane.canvas.curve is None and "No program" in pane.caption.whole
