"""What hands do without thinking: the wheel over a choice, an arrow key after it, Return, keys in a text."""

import numpy as np
import pytest
from PySide6.QtCore import QPoint, QPointF, QSize, Qt
from PySide6.QtGui import QWheelEvent
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication

from tests.window.conftest import SAMPLES, wait_until_settled
from viewer.shown.pictures.bead_values import Span
from viewer.shown.window.shell import main_window
from viewer.shown.window.shell.recent.entry import Entry
from viewer.shown.window.strip.moment_texts import running_at
from viewer.shown.window.style.inks import is_dark
from viewer.shown.window.style.tones import tone


def turn_wheel(widget) -> None:
    at = QPointF(5.0, 5.0)
    event = QWheelEvent(
        at, widget.mapToGlobal(at), QPoint(0, 0), QPoint(0, -120), Qt.MouseButton.NoButton,
        Qt.KeyboardModifier.NoModifier, Qt.ScrollPhase.NoScrollPhase, False,
    )  # fmt: skip
    QApplication.sendEvent(widget, event)


def test_the_wheel_changes_no_choice(opened):
    bar, panes = opened.tool_bar, opened.panes
    choices = (bar.colouring, bar.printer, bar.filament, bar.start, panes.strip.quantity, panes.slider.pace)
    before = [choice.currentText() for choice in choices]
    for choice in choices:
        turn_wheel(choice)
    assert [choice.currentText() for choice in choices] == before
    assert opened.state.colouring == "role"


def test_after_a_choice_the_arrow_keys_go_to_the_layers(opened, qtbot):
    choice = opened.tool_bar.colouring
    choice.setFocus()
    choice.showPopup()
    QTest.keyClick(choice.view(), Qt.Key.Key_Down)
    QTest.keyClick(choice.view(), Qt.Key.Key_Return)
    qtbot.waitUntil(lambda: opened.focusWidget() is opened.panes.plot.view)
    assert opened.state.colouring == "speed"
    QTest.keyClick(opened.focusWidget(), Qt.Key.Key_Up)
    assert (opened.state.layer, opened.state.colouring) == (2, "speed")


def test_a_program_that_comes_on_show_takes_the_keys(opened):
    assert opened.focusWidget() is opened.panes.plot.view


def test_letters_in_a_text_that_is_only_read_are_shortcuts(opened):
    page = opened.panes.findings.page
    page.setFocus()
    QTest.keyClick(page, Qt.Key.Key_2)
    assert opened.state.colouring == "speed"


def test_space_plays_while_the_slider_has_the_focus(opened, qtbot):
    slider = opened.panes.slider.slider
    slider.setFocus()
    QTest.keyClick(slider, Qt.Key.Key_Space)
    assert opened.state.playing
    QTest.keyClick(slider, Qt.Key.Key_Space)
    assert not opened.state.playing


def test_return_opens_a_sample(window, qtbot):
    entry = window.start.findChildren(Entry)[0]
    entry.setFocus()
    QTest.keyClick(entry, Qt.Key.Key_Return)
    wait_until_settled(window, qtbot)
    assert window.state.program is not None


def test_a_pane_behind_another_comes_to_the_front(opened):
    opened.show_dock("stats")
    opened.tabifyDockWidget(opened.docks["stats"], opened.docks["findings"])
    opened.docks["findings"].raise_()
    QApplication.processEvents()
    opened.actions_by_id["dock-stats"].trigger()
    QApplication.processEvents()
    assert not opened.docks["stats"].isHidden()
    assert not opened.docks["stats"].visibleRegion().isEmpty()
    opened.actions_by_id["dock-stats"].trigger()
    assert opened.docks["stats"].isHidden()


def test_a_selection_out_of_view_comes_into_it(opened):
    plot, state = opened.panes.plot, opened.state
    plot.zoom(12.0)
    seen = plot.view.box.viewRect()
    moves = state.program.moves
    own = state.program.layers.moves_of(1)
    beads = np.flatnonzero(moves.kind[own] == 1) + own.start
    away = next(int(k) for k in beads if not seen.contains(float(moves.x_mm[k]), float(moves.y_mm[k])))
    state.select(away)
    (x0, y0), (x1, y1) = plot.view.marks.selected.start, plot.view.marks.selected.end
    assert plot.view.box.viewRect().contains(0.5 * (x0 + x1), 0.5 * (y0 + y1))


def test_stats_say_whose_figures_stand_there(opened):
    stats, state = opened.panes.stats, opened.state
    state.step_bead(1)
    assert stats.tabs.tabText(2) == "Bead"
    state.hover(state.selected + 1)
    assert stats.tabs.tabText(2) == "Under the pointer"
    state.hover(None)
    assert stats.tabs.tabText(2) == "Bead"


@pytest.mark.parametrize("room", [QSize(640, 400), QSize(4000, 3000)])
def test_the_first_window_is_no_larger_than_the_screen(make_window, monkeypatch, room):
    monkeypatch.setattr(main_window.MainWindow, "_room", property(lambda _self: room))
    sized = []
    resize = main_window.MainWindow.resize
    monkeypatch.setattr(
        main_window.MainWindow, "resize", lambda self, *to: (sized.append(to), resize(self, *to))
    )
    window = make_window()
    assert sized[0] == (QSize(*main_window.USUAL_SIZE).boundedTo(room),)
    assert window.minimumWidth() <= room.width() and window.minimumHeight() <= room.height()


def test_a_colour_bar_tells_of_drawn_beads_beyond_its_ends():
    span = Span(1.0, 2.0, (1.0, 2.0))
    assert span.told_of(np.array([1.0, 2.0, np.nan])) == span
    beyond = span.told_of(np.array([0.5, 5.0]))
    assert (beyond.below, beyond.above) == (True, True)
    assert span.told_of(np.array([np.nan])) == span


def test_menus_have_letters_of_their_own(window):
    letters = [action.text().partition("&")[2][:1].lower() for action in window.menuBar().actions()]
    assert all(letters) and len(set(letters)) == len(letters)


def test_a_strip_without_overhang_says_so(opened):
    canvas = opened.panes.strip.canvas
    opened.state.show_quantity("overhang")
    canvas._values = np.zeros(opened.state.layers)
    assert "No layer overhangs" in canvas.missing()


def test_in_a_low_window_panes_stand_behind_one_another(make_window, qtbot):
    window = make_window()
    window.setMinimumSize(1, 1)
    window.resize(640, 533)
    window.open_path(SAMPLES / "tap_washer_tray.gcode")
    window.arrange_for("why")
    wait_until_settled(window, qtbot)
    assert window.tabifiedDockWidgets(window.docks["levers"]) != []
    assert window.tabifiedDockWidgets(window.docks["along"]) != []
    view, line = window.panes.plot.view, window.panes.plot._line
    assert view.geometry().bottom() < line.geometry().top()  # nothing lies over the plot's numbers
    window.resize(1280, 800)
    wait_until_settled(window, qtbot)
    assert window.tabifiedDockWidgets(window.docks["levers"]) == []
    assert window.tabifiedDockWidgets(window.docks["along"]) == []


def test_where_there_is_no_room_choices_stand_without_their_names(window, qtbot):
    bar = window.tool_bar
    assert all(not label.isHidden() for label in bar._labels)
    window.setMinimumSize(1, 1)
    window.resize(853, 533)
    qtbot.waitUntil(lambda: all(label.isHidden() for label in bar._labels))
    qtbot.waitUntil(bar.filament.isVisible)
    assert bar.filament.toolTip()


def test_where_playing_halts_the_program_stands_at_the_line_that_runs(opened, qtbot):
    opened.state.show_layer(5)
    opened.actions_by_id["play"].trigger()
    qtbot.waitUntil(lambda: (opened.state.moment_s or 0.0) > 1.0)
    opened.actions_by_id["play"].trigger()
    line, _ = running_at(opened.state.program, opened.state.layer, opened.state.moment_s)
    assert opened.panes.program.lines.current == line


@pytest.mark.parametrize(("key", "shift"), [(Qt.Key.Key_F, True), (Qt.Key.Key_G, False)])
def test_the_fields_that_find_are_there_at_the_first_key(opened, qtbot, key, shift):
    """In a low pane the bar is folded, and showing it resizes the pane."""
    program = opened.panes.program
    assert not program._bar.isVisible()
    keys = Qt.KeyboardModifier.ControlModifier | (
        Qt.KeyboardModifier.ShiftModifier if shift else Qt.KeyboardModifier(0)
    )
    QTest.keyClick(opened, key, keys)
    wait_until_settled(opened, qtbot)
    field = opened.focusWidget()
    assert field in (program._wanted, program._number)
    assert field.isVisible()
    QTest.keyClicks(field, "12")
    assert field.text() == "12"


def test_a_long_sentence_of_the_search_makes_no_pane_wider(opened, qtbot):
    program = opened.panes.program
    before = {name: dock.width() for name, dock in opened.docks.items()}
    program._say(
        "The text of a program in a folder with a rather long name could not be read again; look at the drive. "
        * 3
    )
    wait_until_settled(opened, qtbot)
    assert {name: dock.width() for name, dock in opened.docks.items()} == before


def test_the_pane_with_the_keys_is_marked(opened, qtbot):
    panes, marks = opened.panes, opened._focus_mark
    for _ in panes.in_order:
        QTest.keyClick(opened.focusWidget(), Qt.Key.Key_F6)
        focus = opened.focusWidget()
        pane = [one for one in panes.in_order if one is focus or one.isAncestorOf(focus)][-1]
        qtbot.waitUntil(lambda pane=pane: marks._pane is pane)
        assert marks.isVisible()
        assert marks.parentWidget() is pane.parentWidget()
        assert (marks.pos(), marks.width()) == (pane.pos(), pane.width())
    opened.resize(1100, 700)
    wait_until_settled(opened, qtbot)
    assert marks.width() == marks._pane.width()
    opened.tool_bar.printer.setFocus()
    assert not marks.isVisible()
    opened.panes.plot.view.setFocus()
    image = opened.panes.plot.grab().toImage()
    assert marks.isVisible()
    accent = tone("accent", is_dark(opened.palette()))
    assert all(image.pixelColor(x, 0) != accent for x in range(0, image.width(), 7))
