"""The table of actions: keys, menus, handlers, and what they do when the keys are pressed."""

import shutil
import threading
from collections import Counter
from html import escape

import pytest
from PySide6.QtCore import Qt
from PySide6.QtGui import QKeySequence
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QDialog, QLineEdit, QMenu

from tests.window.conftest import SAMPLES, WAIT_MS, press, wait_until_active, wait_until_settled
from viewer.checks.run import run_checks
from viewer.shown.window.actions.bindings import make_actions, shown_key
from viewer.shown.window.actions.keys_page import keys_page
from viewer.shown.window.actions.table import ACTIONS, DOCK_KEYS, PANE_KEYS, TOOLBAR
from viewer.shown.window.shell.pages import Page


def focus_on_plot(window, qtbot) -> None:
    wait_until_active(window, qtbot)
    window.panes.plot.setFocus()
    assert QApplication.focusWidget() is window.panes.plot.view


def test_every_action_has_a_key_and_no_key_has_two():
    keys = [QKeySequence(key).toString() for action in ACTIONS for key in action.keys]
    assert all(action.keys for action in ACTIONS)
    assert all(keys), "a key that Qt does not know"
    assert [key for key, times in Counter(keys).items() if times > 1] == []


def test_ids_are_unique_and_the_tool_bar_names_known_ones():
    ids = [action.id for action in ACTIONS]
    assert len(ids) == len(set(ids))
    assert {name for name in TOOLBAR if name} <= set(ids)


def test_an_action_without_a_handler_is_refused(qtbot):
    from PySide6.QtWidgets import QWidget

    widget = QWidget()
    qtbot.addWidget(widget)
    handlers = {action.id: (lambda: None) for action in ACTIONS}
    del handlers["open"]
    with pytest.raises(KeyError, match="open"):
        make_actions(widget, handlers)


def test_every_action_stands_in_a_menu(window):
    def within(menu: QMenu):
        for action in menu.actions():
            if action.menu() is not None:
                yield from within(action.menu())
            elif not action.isSeparator():
                yield action.objectName()

    found = [name for top in window.menuBar().actions() for name in within(top.menu())]
    assert sorted(found) == sorted(action.id for action in ACTIONS)


def test_tooltips_name_the_key(window):
    for action in ACTIONS:
        assert shown_key(action.keys[0]) in window.actions_by_id[action.id].toolTip()


def test_without_a_program_only_what_needs_none_is_there(window):
    for action in ACTIONS:
        assert window.actions_by_id[action.id].isEnabled() == (action.needs == "nothing"), action.id


def test_the_keys_page_lists_every_action(window, qtbot):
    page = keys_page()
    for action in ACTIONS:
        assert escape(action.text.removesuffix("…")) in page
    for pane, rows in PANE_KEYS.items():
        assert escape(pane) in page
        assert all(escape(keys) in page and escape(what) in page for keys, what in rows)
    press(window, "F1", qtbot)
    shown = next(widget for widget in window.findChildren(QDialog) if isinstance(widget, Page))
    assert "Go to layer" in shown.text.toPlainText()
    QTest.keyClick(shown, Qt.Key.Key_Escape)
    qtbot.waitUntil(lambda: not window.findChildren(Page))


@pytest.mark.parametrize(
    ("start", "keys", "expected"),
    [
        (5, "Up", 6), (5, "Down", 4), (5, "PgUp", 15), (15, "PgDown", 5), (7, "Home", 1), (7, "End", 45),
        (1, "Down", 1), (45, "Up", 45), (5, "Ctrl+Up", 6), (9, "Ctrl+PgDown", 1), (7, "S", 1),
    ],
)  # fmt: skip
def test_keys_move_through_the_layers(opened, qtbot, start, keys, expected):
    focus_on_plot(opened, qtbot)
    opened.state.show_layer(start)
    press(opened, keys, qtbot)
    assert opened.state.layer == expected


def test_arrows_step_through_the_beads(opened, qtbot):
    focus_on_plot(opened, qtbot)
    press(opened, "Right", qtbot)
    first = opened.state.selected
    press(opened, "Right", qtbot)
    second = opened.state.selected
    assert first is not None and second > first
    kinds = opened.state.program.moves.kind
    assert kinds[first] == kinds[second] == 1
    press(opened, "Left", qtbot)
    assert opened.state.selected == first
    press(opened, "Esc", qtbot)
    assert opened.state.selected is None


def test_digits_choose_what_colours_mean_and_letters_what_is_shown(opened, qtbot):
    focus_on_plot(opened, qtbot)
    press(opened, "2", qtbot)
    assert opened.state.colouring == "speed"
    assert opened.actions_by_id["colour-speed"].isChecked()
    assert not opened.actions_by_id["colour-role"].isChecked()
    assert opened.tool_bar.colouring.currentText() == "speed reached, mm/s"
    press(opened, "T", qtbot)
    assert "travel" not in opened.state.shown
    assert not opened.actions_by_id["show-travel"].isChecked()
    press(opened, "T", qtbot)
    assert "travel" in opened.state.shown
    press(opened, "Alt+2", qtbot)
    assert opened.state.strip == "filament"


def test_space_plays_and_stops(opened, qtbot):
    focus_on_plot(opened, qtbot)
    press(opened, "Space", qtbot)
    assert opened.state.playing > 0.0
    assert opened.actions_by_id["play"].isChecked()
    qtbot.waitUntil(lambda: (opened.state.moment_s or 0.0) > 0.0 or opened.state.layer > 1)
    press(opened, "Space", qtbot)
    assert opened.state.playing == 0.0
    assert not opened.actions_by_id["play"].isChecked()
    press(opened, "W", qtbot)
    assert opened.state.moment_s is None


def test_a_field_keeps_its_keys(opened, qtbot):
    """Writing a number into a field neither moves through the layers nor changes colours."""
    press(opened, "Ctrl+G", qtbot)
    field = QApplication.focusWidget()
    assert isinstance(field, QLineEdit)
    opened.state.show_layer(5)
    QTest.keyClicks(field, "230")
    assert field.text() == "230"
    press(opened, "Left", qtbot)
    press(opened, "Home", qtbot)
    assert (opened.state.layer, opened.state.colouring, opened.state.selected) == (5, "role", None)
    press(opened, "Ctrl+Up", qtbot)
    assert opened.state.layer == 6
    QTest.keyClick(field, Qt.Key.Key_Return)
    moves = opened.state.program.moves
    assert opened.state.selected is None or moves.line[opened.state.selected] == 230


def test_docks_go_and_come_back_by_key(opened, qtbot):
    first = {name for name, dock in opened.docks.items() if not dock.isHidden()}
    for key, (name, dock) in zip(DOCK_KEYS, opened.docks.items(), strict=True):
        if dock.isHidden():
            press(opened, key, qtbot)
            assert not dock.isHidden(), name
            assert opened.actions_by_id[f"dock-{name}"].isChecked()
        press(opened, key, qtbot)
        assert dock.isHidden(), name
        assert not opened.actions_by_id[f"dock-{name}"].isChecked()
    press(opened, "Ctrl+2", qtbot)
    assert not opened.docks["stats"].isHidden()
    assert opened.docks["stats"].isAncestorOf(QApplication.focusWidget())
    press(opened, "Ctrl+0", qtbot)
    assert {name for name, dock in opened.docks.items() if not dock.isHidden()} == first


def show_all(window, qtbot) -> None:
    for name in window.docks:
        window.show_dock(name)
    wait_until_settled(window, qtbot)


def reached_by_f6(window, qtbot) -> set[str]:
    """Return the kinds of the panes that the focus goes through on its way round."""
    panes, reached = window.panes.in_order, set()
    for _ in panes:
        press(window, "F6", qtbot)
        focus = QApplication.focusWidget()
        reached |= {type(pane).__name__ for pane in panes if pane is focus or pane.isAncestorOf(focus)}
    return reached


def test_the_focus_goes_round_all_panes(opened, qtbot):
    show_all(opened, qtbot)
    assert reached_by_f6(opened, qtbot) == {type(pane).__name__ for pane in opened.panes.in_order}


def test_the_focus_goes_through_findings_while_checks_run(window, qtbot, monkeypatch):
    go_on = threading.Event()

    def check_later(*arguments):
        assert go_on.wait(WAIT_MS / 1e3)
        return run_checks(*arguments)

    monkeypatch.setattr("viewer.checks.run.run_checks", check_later)
    window.open_path(SAMPLES / "tap_washer_tray.gcode")
    qtbot.waitUntil(lambda: window.state.program is not None and window._pane_docks.standing, timeout=WAIT_MS)
    findings = window.panes.findings
    for name in window.docks:
        window.show_dock(name)
    QApplication.processEvents()
    assert reached_by_f6(window, qtbot) == {type(pane).__name__ for pane in window.panes.in_order}
    while not findings.isAncestorOf(QApplication.focusWidget()):
        press(window, "F6", qtbot)
    press(window, "Up", qtbot)
    assert window.state.layer == 2, "the keys that nothing here has a use for still move through the layers"
    assert window.state.report is None
    go_on.set()
    wait_until_settled(window, qtbot)
    assert QApplication.focusWidget() is findings.list, "the keys stay in the pane when findings come"
    window.actions_by_id["open-again"].trigger()
    qtbot.waitUntil(lambda: window.state.report is None, timeout=WAIT_MS)
    assert findings.isAncestorOf(QApplication.focusWidget()), "and when they go"
    wait_until_settled(window, qtbot)
    assert QApplication.focusWidget() is findings.list


def test_text_grows_and_shrinks(window, qapp, qtbot):
    usual = qapp.font().pointSizeF()
    press(window, "Ctrl++", qtbot)
    assert qapp.font().pointSizeF() > usual
    press(window, "Ctrl+-", qtbot)
    press(window, "Ctrl+-", qtbot)
    assert qapp.font().pointSizeF() < usual
    press(window, "Alt+0", qtbot)
    assert qapp.font().pointSizeF() == usual


def test_light_and_dark_by_key(window, qapp, qtbot):
    press(window, "Ctrl+Shift+D", qtbot)
    assert window.palette().window().color().lightness() < 80
    assert window.actions_by_id["look-dark"].isChecked()
    press(window, "Ctrl+Shift+L", qtbot)
    assert window.palette().window().color().lightness() > 180


def test_zoom_and_fit(opened, qtbot):
    focus_on_plot(opened, qtbot)
    press(opened, "F", qtbot)
    wait_until_settled(opened, qtbot)
    before = opened.panes.plot.grab().toImage()
    press(opened, "+", qtbot)
    wait_until_settled(opened, qtbot)
    assert opened.panes.plot.grab().toImage() != before
    press(opened, "F", qtbot)
    wait_until_settled(opened, qtbot)
    assert opened.panes.plot.grab().toImage() == before


def test_the_picture_moves_by_key(opened, qtbot):
    focus_on_plot(opened, qtbot)
    box = opened.panes.plot.view.box
    for key, axis, sign in (("Left", 0, -1), ("Right", 0, 1), ("Up", 1, 1), ("Down", 1, -1)):
        before = [sum(ends) / 2 for ends in box.viewRange()]
        layer = opened.state.layer
        press(opened, f"Shift+{key}", qtbot)
        after = [sum(ends) / 2 for ends in box.viewRange()]
        assert (after[axis] - before[axis]) * sign > 1.0
        assert after[1 - axis] == pytest.approx(before[1 - axis])
        assert opened.state.layer == layer


def test_escape_leaves_the_fields_of_the_program_and_selects_nothing_elsewhere(opened, qtbot):
    opened.state.step_bead(1)
    press(opened, "Ctrl+Shift+F", qtbot)
    assert isinstance(QApplication.focusWidget(), QLineEdit)
    press(opened, "Esc", qtbot)
    assert QApplication.focusWidget() is opened.panes.program.lines
    assert opened.state.selected is not None
    press(opened, "Esc", qtbot)
    assert opened.state.selected is None


def test_tabs_of_the_stats_are_turned_by_arrows(opened, qtbot):
    stats = opened.panes.stats
    stats.tabs.setFocus()
    selected = opened.state.selected
    press(opened, "Right", qtbot)
    assert (stats.part, opened.state.selected) == ("layer", selected)
    press(opened, "Left", qtbot)
    assert stats.part == "program"
    press(opened, "Up", qtbot)
    assert opened.state.layer == 2, "what tabs have no use for still moves through the layers"


def test_a_notice_is_answered_by_keyboard(window, tmp_path, qtbot):
    window.open_path(tmp_path / "not_there.gcode")
    wait_until_settled(window, qtbot)
    shutil.copy(SAMPLES / "tap_washers_bare.gcode", tmp_path / "not_there.gcode")
    press(window, "F9", qtbot)
    assert QApplication.focusWidget().text() == "Try again"
    press(window, "Space", qtbot)
    wait_until_settled(window, qtbot)
    assert window.state.program is not None


def test_samples_are_there():
    assert (SAMPLES / "tap_washer_tray.gcode").is_file()
