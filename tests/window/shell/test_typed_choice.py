"""The fields of the tool bar: what a person types there, and what follows everywhere."""

from datetime import datetime

import pytest
from PySide6.QtCore import Qt
from PySide6.QtGui import QKeySequence
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication

from tests.window.conftest import SAMPLES, press, wait_until_settled
from viewer.shown.rows import clock_text
from viewer.shown.window.shell.main_window import MainWindow
from viewer.shown.window.shell.printed.job_sheet import document


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
    wait_until_settled(window, qtbot)
    return window


def test_times_of_day_follow_from_the_start(hook, qtbot):
    assert "at" not in hook.summary.text().split()
    type_start(hook, "17:40")
    wait_until_settled(hook, qtbot)
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
    wait_until_settled(hook, qtbot)
    type_start(hook, "10:00")
    wait_until_settled(hook, qtbot)
    assert "after-closing" not in slugs(hook)
    type_start(hook, "unknown")
    wait_until_settled(hook, qtbot)
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
    wait_until_settled(hook, qtbot)
    type_start(hook, "25:00")
    assert "'25:00' is no time of day" in hook.banner.sentence
    assert hook.tool_bar.start.currentText() == "11:15"
    assert hook.state.start.hour == 11
    type_start(hook, "12:00")
    assert not hook.banner.isVisible()
    wait_until_settled(hook, qtbot)


def test_a_start_said_while_it_is_read_counts(window, qtbot):
    window.open_path(SAMPLES / "coat_hook_pause.gcode")
    type_start(window, "17:40")
    wait_until_settled(window, qtbot)
    qtbot.waitUntil(lambda: window.state.report is not None and not window.opening.loader.busy)
    assert "after-closing" in slugs(window)


# ---- what is left on the spool


def type_spool(window: MainWindow, text: str) -> None:
    keys = Qt.KeyboardModifier.ControlModifier | Qt.KeyboardModifier.ShiftModifier
    QTest.keyClick(window, Qt.Key.Key_T, keys)
    edit = window.tool_bar.spool.lineEdit()
    QTest.keyClicks(edit, text)
    QTest.keyClick(edit, Qt.Key.Key_Return)


def unchecked(window: MainWindow) -> set[str]:
    return {one.slug for one in window.state.report.not_checked}


def test_what_is_left_on_the_spool_is_checked_and_unknown_takes_it_back(hook, qtbot):
    assert "spool-short" in unchecked(hook)
    needed = hook.state.program.figures.filament.mass_g
    for text, short in ((f"{needed + 2.0:.1f}", False), (f"{needed - 2.0:.1f} g", True), ("0.3 kg", False)):
        type_spool(hook, text)
        wait_until_settled(hook, qtbot)
        assert ("spool-short" in slugs(hook)) == short
        assert "spool-short" not in unchecked(hook)
    assert hook.tool_bar.spool.currentText() == "300 g"
    assert hook.state.program.filament.spool_left_g == 300.0
    type_spool(hook, "unknown")
    wait_until_settled(hook, qtbot)
    assert hook.tool_bar.spool.currentText() == "unknown"
    assert "spool-short" in unchecked(hook)


def test_another_filament_is_another_spool(hook, qtbot):
    type_spool(hook, "3")
    wait_until_settled(hook, qtbot)
    assert "spool-short" in slugs(hook)
    hook.tool_bar.filament.fill("petg")
    hook.tool_bar.card_chosen.emit("filament", "petg")
    wait_until_settled(hook, qtbot)
    assert hook.state.program.filament.name == "PETG"
    assert hook.state.spool_left_g is None
    assert hook.tool_bar.spool.currentText() == "unknown"
    assert "spool-short" in unchecked(hook)


def test_what_is_no_amount_is_said_and_not_taken(hook, qtbot):
    type_spool(hook, "250 m")
    assert "'250 m', is no amount" in hook.banner.sentence
    assert hook.tool_bar.spool.currentText() == "unknown"
    assert hook.state.spool_left_g is None
    type_spool(hook, "250")
    assert not hook.banner.isVisible()
    wait_until_settled(hook, qtbot)
    assert hook.tool_bar.spool.currentText() == "250 g"


def test_start_and_spool_belong_to_the_program(hook, qtbot, tmp_path):
    type_spool(hook, "250")
    type_start(hook, "14:30")
    wait_until_settled(hook, qtbot)
    hook.actions_by_id["open-again"].trigger()
    wait_until_settled(hook, qtbot)
    assert (hook.tool_bar.start.currentText(), hook.tool_bar.spool.currentText()) == ("14:30", "250 g")
    broken = tmp_path / "no_such.gcode"
    hook.open_path(broken)
    wait_until_settled(hook, qtbot)
    assert (hook.tool_bar.start.currentText(), hook.tool_bar.spool.currentText()) == ("14:30", "250 g")
    hook.open_path(SAMPLES / "tap_washers_bare.gcode")
    wait_until_settled(hook, qtbot)
    assert (hook.tool_bar.start.currentText(), hook.tool_bar.spool.currentText()) == ("unknown", "unknown")
    assert hook.state.program.filament.spool_left_g is None
    assert (hook.state.start, hook.state.report.start) == (None, None)


def test_return_gives_the_keys_back_and_arrows_change_nothing(hook, qtbot):
    hook.state.show_layer(3)
    for name, text in (("start", "14:30"), ("spool", "250")):
        field = getattr(hook.tool_bar, name)
        field.go_to()
        QTest.keyClicks(field.lineEdit(), text)
        press(hook, "Down", qtbot)
        assert field.currentText() == text, "an arrow key while writing changes neither text nor layer"
        assert hook.state.layer == 3
        press(hook, "Return", qtbot)
        wait_until_settled(hook, qtbot)
        assert QApplication.focusWidget() is hook.panes.plot.view
    held = hook.state.start, hook.state.spool_left_g
    press(hook, "Up", qtbot)
    assert hook.state.layer == 4
    assert (hook.state.start, hook.state.spool_left_g) == held != (None, None)


def test_arrows_on_a_closed_choice_go_to_the_layers(hook, qtbot):
    panes, bar = hook.panes, hook.tool_bar
    choices = (bar.colouring, bar.printer, bar.filament, panes.strip.quantity, panes.slider.pace)
    before = [choice.currentText() for choice in choices]
    for choice in choices:
        hook.state.show_layer(2)
        choice.setFocus()
        press(hook, "Up", qtbot)
        assert hook.state.layer == 3
        for key in ("Down", "Up", "PgDown", "PgUp", "End", "Home"):
            QTest.keyClick(choice, QKeySequence(key)[0].key())
    assert [choice.currentText() for choice in choices] == before
    bar.filament.setFocus()
    QTest.keyClick(bar.filament, Qt.Key.Key_P)  # PLA, PETG; it chooses a colouring instead
    assert [choice.currentText() for choice in choices[1:]] == before[1:]
