"""The field of the start: what a person types there, and what follows everywhere."""

from datetime import datetime

import pytest
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest

from tests.window.conftest import SAMPLES, wait_until_read
from viewer.shown.rows import clock_text
from viewer.shown.window.main_window import MainWindow
from viewer.shown.window.sheet import document


def type_start(window: MainWindow, text: str) -> None:
    """Reach the field by its key, and type."""
    QTest.keyClick(window, Qt.Key.Key_T, Qt.KeyboardModifier.ControlModifier)
    edit = window.tool_bar.start.lineEdit()
    QTest.keyClicks(edit, text)
    QTest.keyClick(edit, Qt.Key.Key_Return)


def slugs(window: MainWindow) -> set[str]:
    return {finding.slug for finding in window.state.report.findings}


@pytest.fixture
def hook(window: MainWindow, qtbot) -> MainWindow:
    window.open_path(SAMPLES / "coat_hook_pause.gcode")
    wait_until_read(window, qtbot)
    return window


def test_times_of_day_follow_from_the_start(hook, qtbot):
    assert "at" not in hook.summary.text().split()
    type_start(hook, "17:40")
    wait_until_read(hook, qtbot)
    start, time = hook.state.start, hook.state.program.figures.time
    assert (start.hour, start.minute) == (17, 40)
    rows = {row.name: row.text for row in hook.panes.stats.models["program"].rows()}
    assert rows["ends at"] == clock_text(start, time.total_s) == "18:12"
    assert "first layer done at 17:46" in hook.summary.text() and "ends at 18:12" in hook.summary.text()
    assert "after-closing" in slugs(hook)
    sheet = document(hook.state.program, hook.state.report, start).toPlainText()
    assert "17:40" in sheet and "18:12" in sheet


def test_another_start_is_checked_anew_and_unknown_takes_it_back(hook, qtbot):
    type_start(hook, "17:40")
    wait_until_read(hook, qtbot)
    type_start(hook, "10:00")
    wait_until_read(hook, qtbot)
    assert "after-closing" not in slugs(hook)
    type_start(hook, "unknown")
    wait_until_read(hook, qtbot)
    assert hook.state.start is None
    assert "after-closing" in {one.slug for one in hook.state.report.not_checked}
    assert "ends at" not in hook.summary.text()


def test_letters_in_the_field_are_no_shortcuts(hook):
    shown = hook.state.shown
    type_start(hook, "now")  # N and W are keys of actions
    assert hook.state.shown == shown
    assert hook.state.start is not None
    assert abs((datetime.now() - hook.state.start).total_seconds()) < 120.0


def test_what_is_no_time_is_said_and_not_taken(hook, qtbot):
    type_start(hook, "11:15")
    wait_until_read(hook, qtbot)
    type_start(hook, "25:00")
    assert "'25:00' is no time of day" in hook.banner.sentence
    assert hook.tool_bar.start.currentText() == "11:15"
    assert hook.state.start.hour == 11
    type_start(hook, "12:00")
    assert not hook.banner.isVisible()
    wait_until_read(hook, qtbot)


def test_a_start_said_while_it_is_read_counts(window, qtbot):
    window.open_path(SAMPLES / "coat_hook_pause.gcode")
    type_start(window, "17:40")
    wait_until_read(window, qtbot)
    qtbot.waitUntil(lambda: window.state.report is not None and not window.opening.loader.busy)
    assert "after-closing" in slugs(window)
