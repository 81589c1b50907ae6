"""Opening in the whole window: where a program begins, what panes get, and what goes wrong on the way."""

import gc
import itertools
import threading
import time
import weakref
from pathlib import Path

import numpy as np
import pytest
from PySide6.QtCore import QEvent, QObject, Qt, QTimer

from tests.benchmarks.generate import generate
from tests.window.conftest import SAMPLES, WAIT_MS, wait_until_settled
from viewer.shape import shape_of
from viewer.shown.window.shell.recent.entry import Entry
from viewer.shown.window.threads.newest_task import NewestTask

TRAY = SAMPLES / "tap_washer_tray.gcode"
OVERHANG = SAMPLES / "faulty" / "steep-overhang.gcode"
MOMENTS = {
    "at once": lambda window: True,
    "when panes are made": lambda window: window._pane_docks.panes is not None,
    "with its beginning on show": lambda window: window.state.partial,
    "with all of it on show": lambda window: window.state.program is not None and not window.state.partial,
    "when it is checked": lambda window: window.state.report is not None,
}


@pytest.fixture(scope="module")
def large(tmp_path_factory) -> Path:
    """A program of 10 MB."""
    path = tmp_path_factory.mktemp("large") / "washers.gcode"
    generate(path, 10.0, seed=11)
    return path


# ---- where a program begins


def test_a_program_that_is_opened_again_begins_with_its_first_layer(opened, qtbot):
    opened.state.show_layer(17)
    opened.state.step_bead(1)
    opened.open_path(TRAY)
    wait_until_settled(opened, qtbot)
    assert (opened.state.layer, opened.state.selected) == (1, None)


def test_a_large_program_that_is_opened_again_begins_with_its_first_layer(window, large, qtbot):
    window.open_path(large)
    wait_until_settled(window, qtbot)
    window.state.show_layer(9)
    window.open_path(large)
    qtbot.waitUntil(lambda: window.state.partial, timeout=WAIT_MS)
    assert window.state.layer == 1
    window.state.show_layer(2)
    wait_until_settled(window, qtbot)
    assert window.state.layer == 2, "where the person went while the rest was read"


def test_all_parts_are_painted_again_when_a_program_has_come(opened, qtbot):
    held = []
    opened.state.listen(
        "program", lambda: held.append([dock.updatesEnabled() for dock in opened.docks.values()])
    )
    opened.open_path(SAMPLES / "coat_hook_pause.gcode")
    wait_until_settled(opened, qtbot)
    assert held
    assert not any(any(each) for each in held)
    parts = (opened, opened.centralWidget(), *opened.docks.values(), *opened.panes.in_order)
    qtbot.waitUntil(lambda: all(part.updatesEnabled() for part in parts), timeout=1_000)


def test_the_first_layer_is_painted_while_the_rest_is_read(window, large, qtbot):
    panes = window.panes
    painted = {pane: [] for pane in (panes.plot.view.viewport(), panes.strip.canvas)}

    class Watch(QObject):
        def eventFilter(self, widget, event):
            if event.type() == QEvent.Type.Paint and window.state.program is not None:
                painted[widget].append(window.state.partial)
            return False

    watch = Watch(window)
    for pane in painted:
        pane.installEventFilter(watch)
    window.open_path(large)
    wait_until_settled(window, qtbot)
    for pane in painted:
        pane.removeEventFilter(watch)
    assert all(partial[:1] == [True] for partial in painted.values()), painted


def test_a_program_ends_with_its_last_user(opened, qtbot):
    """Not only when Python searches for circles of objects, which the window puts off."""
    assert not gc.isenabled()
    before = weakref.ref(opened.state.program)
    opened.open_path(SAMPLES / "coat_hook_pause.gcode")
    wait_until_settled(opened, qtbot)
    qtbot.waitUntil(lambda: before() is None, timeout=5_000)


def test_a_line_chosen_in_one_program_is_not_chosen_in_the_next(opened, qtbot):
    opened.panes.program.go_to_line(230)
    opened.open_path(SAMPLES / "coat_hook_pause.gcode")
    wait_until_settled(opened, qtbot)
    assert opened.panes.program.lines.current == 0
    assert opened.state.layer == 1


def test_a_double_click_on_a_sample_opens_it_once(window, qtbot):
    entry = next(one for one in window.start.findChildren(Entry) if one.accessibleName() == TRAY.name)
    qtbot.mouseClick(entry, Qt.MouseButton.LeftButton)
    qtbot.mouseDClick(entry, Qt.MouseButton.LeftButton)
    wait_until_settled(window, qtbot)
    assert (window.state.program.path.name, window.state.layer) == (TRAY.name, 1)


# ---- what panes get


def test_figures_of_a_beginning_are_not_shown_as_those_of_the_program(window, large, qtbot):
    window.open_path(large)
    qtbot.waitUntil(lambda: window.state.partial, timeout=WAIT_MS)
    assert window.panes.stats.models["program"].rows() == []
    assert window.summary.text() == ""
    for name in ("export-figures", "save-sheet", "print-sheet", "slowest-layer"):
        assert not window.actions_by_id[name].isEnabled()
    wait_until_settled(window, qtbot)
    assert len(window.panes.stats.models["program"].rows()) > 30
    assert "of filament" in window.summary.text()
    assert window.actions_by_id["save-sheet"].isEnabled()


def test_the_strip_shows_what_the_checks_measured(window, qtbot):
    window.open_path(OVERHANG)
    wait_until_settled(window, qtbot)
    window.actions_by_id["strip-overhang"].trigger()
    shown, measured = (
        window.panes.strip.canvas._values,
        shape_of(window.state.program.shape_columns).overhang_mm2,
    )
    assert shown is not None
    assert np.array_equal(shown, measured)
    assert measured.max() > 1.0
    assert window.panes.strip.canvas.missing() is None


def test_a_finding_leads_to_its_line_even_where_nothing_moves(window, qtbot):
    window.open_path(SAMPLES / "faulty" / "wrong-heat.gcode")
    wait_until_settled(window, qtbot)
    found = next(one for one in window.state.report.findings if one.lines)
    window.panes.findings.go_to(found)
    assert window.panes.program.lines.current == found.lines[0]


# ---- nothing waits


def test_the_window_does_not_wait_for_work_that_was_put_aside(qtbot):
    go_on = threading.Event()
    work, heard = NewestTask("test"), []
    work.done.connect(heard.append)
    for k in range(3):
        begun = time.monotonic()
        work.start(lambda _run, k=k: (go_on.wait(30), k)[1])
        assert time.monotonic() - begun < 1.0
    go_on.set()
    work.wait(WAIT_MS / 1e3)
    qtbot.waitUntil(lambda: not work.busy, timeout=WAIT_MS)
    assert heard == [2]  # all three have posted by now
    work.end()


def test_nothing_looks_through_a_file_that_is_still_being_read(window, large, qtbot):
    window.open_path(large)
    qtbot.waitUntil(lambda: window.state.partial, timeout=WAIT_MS)
    window.panes.program.go_to_line(30)
    assert not window.panes.program._mode_work.busy
    assert "when all" in window.panes.program.explanation.toPlainText()
    wait_until_settled(window, qtbot)
    window.panes.program.go_to_line(31)
    qtbot.waitUntil(lambda: not window.panes.program._mode_work.busy, timeout=WAIT_MS)
    assert "millimetres" in window.panes.program.explanation.toPlainText()


def test_ticks_go_on_while_a_large_program_is_read(window, large, qtbot, record_property):
    """Gaps of 0.1 s are aimed at (`tests.benchmarks.window`); ten times that is a frozen window.

    They are counted in the time that all threads of this process take, so that it does not matter what else runs.
    """
    window.open_path(TRAY)  # kernels and panes are there then
    wait_until_settled(window, qtbot)
    ticks: list[float] = []
    timer = QTimer(interval=2, timerType=Qt.TimerType.PreciseTimer)
    timer.timeout.connect(lambda: ticks.append(time.process_time()))
    timer.start()
    window.open_path(large)
    wait_until_settled(window, qtbot)
    timer.stop()
    gaps = sorted(b - a for a, b in itertools.pairwise(ticks))
    record_property("longest_gap_ms", gaps[-1] * 1e3)
    assert len(gaps) > 50
    assert gaps[-1] < 1.0


# ---- what goes wrong


def test_a_recent_program_that_is_gone_is_a_sentence(make_window, tmp_path, qtbot):
    window = make_window()
    gone = tmp_path / "gone.gcode"
    window.memory.set_recent([gone])
    window.close()
    window = make_window()
    entry = next(one for one in window.start.findChildren(Entry) if one.accessibleName() == "gone.gcode")
    qtbot.mouseClick(entry, Qt.MouseButton.LeftButton)
    wait_until_settled(window, qtbot)
    assert "does not exist" in window.banner.sentence
    assert window.stack.currentWidget() is window.start


def test_a_broken_card_is_a_sentence_and_the_program_stays(opened, tmp_path, qtbot):
    card = tmp_path / "bent.toml"
    card.write_text('name = "Bent"\nnozzle_mm = "wide"\n')
    opened.choose_cards(str(card), None, None)
    opened.opening.use_cards()
    wait_until_settled(opened, qtbot)
    assert "bent.toml" in opened.banner.sentence
    assert opened.state.program.printer.name == "Heron"
    assert opened.tool_bar.printer.currentText() == "Heron"


def test_a_broken_own_card_does_not_keep_the_window_from_opening(make_window, tmp_path, qtbot, monkeypatch):
    (tmp_path / "printers").mkdir()
    (tmp_path / "printers" / "heron.toml").write_text("this is = = not a card\n")
    monkeypatch.setenv("BEADLINE_CARDS", str(tmp_path))
    window = make_window()
    window.open_path(TRAY)
    wait_until_settled(window, qtbot)
    assert "heron.toml" in window.banner.sentence
    assert window.state.program is None
    window.edit_card("printer")
    assert "heron.toml" in window.banner.sentence


@pytest.mark.parametrize("moment", MOMENTS)
def test_closing_at_any_moment(make_window, large, qtbot, moment):
    window = make_window()
    window.open_path(large)
    qtbot.waitUntil(lambda: MOMENTS[moment](window), timeout=WAIT_MS)
    window.actions_by_id["quit"].trigger()
    assert not window.isVisible()
    assert not window.opening.loader.busy
    wait_until_settled(window, qtbot)  # what still waited for its turn ends
    assert not any(thread.name == "layer plot" for thread in threading.enumerate())
