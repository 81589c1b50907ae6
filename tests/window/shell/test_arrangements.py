"""Check, Why and Teach: the room of the picture, what a person changed, and windows of other sizes."""

from __future__ import annotations

import pytest
from PySide6.QtCore import QPoint, Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QToolButton

from tests.window.conftest import SAMPLES, move_to, press, wait_until_settled
from viewer.shown.window.actions.table import ARRANGEMENTS
from viewer.shown.window.shell.arrangement import dock_tab_bars
from viewer.shown.window.shell.panes import DOCK_PLACES

LEAST_SHARE = {"check": 0.45, "teach": 0.60}
"""Of the window's area that the picture has at 1280 x 800."""


def shown(window) -> set[str]:
    return {name for name, dock in window.docks.items() if not dock.isHidden()}


def names_in_tabs(window) -> set[str]:
    """Return the titles on all visible tab bars of docks; an empty bar has the title ""."""
    bars = [bar for bar in dock_tab_bars(window) if bar.isVisible()]
    return {bar.tabText(k) for bar in bars for k in range(bar.count())} | {
        "" for bar in bars if not bar.count()
    }


def share_of_picture(window) -> float:
    picture = window.panes.plot
    return picture.width() * picture.height() / (window.width() * window.height())


def drag_separator(window, dock, by: int, qtbot) -> None:
    """Drag what separates a dock on the left from the picture, as a hand does."""
    edge = dock.mapTo(window, QPoint(dock.width() + 2, dock.height() // 2))
    assert window.isSeparator(edge)
    QTest.mousePress(window, Qt.MouseButton.LeftButton, Qt.KeyboardModifier.NoModifier, edge)
    move_to(window, edge + QPoint(by, 0), Qt.MouseButton.LeftButton)
    QTest.qWait(50)  # the window moves what stands there by a timer of its own
    QTest.mouseRelease(
        window, Qt.MouseButton.LeftButton, Qt.KeyboardModifier.NoModifier, edge + QPoint(by, 0)
    )
    wait_until_settled(window, qtbot)


@pytest.mark.parametrize("arrangement", ARRANGEMENTS)
def test_one_key_each_shows_what_the_job_needs(opened, qtbot, arrangement):
    word, key, _ = ARRANGEMENTS[arrangement]
    press(opened, key, qtbot)
    wait_until_settled(opened, qtbot)
    assert shown(opened) == set(DOCK_PLACES[arrangement])
    pressed = [button for button in opened.switch.findChildren(QToolButton) if button.isChecked()]
    assert [button.text() for button in pressed] == [word]
    assert share_of_picture(opened) >= LEAST_SHARE.get(arrangement, 0.25)
    assert QApplication.focusWidget() is opened.panes.plot.view, "arrow keys go on with the layers"


def test_no_tab_bar_outlasts_its_docks(opened, qtbot):
    opened.resize(760, 520)
    wait_until_settled(opened, qtbot)
    for arrangement in ("why", "teach", "check", "why", "check"):
        opened.actions_by_id[f"arrange-{arrangement}"].trigger()
        wait_until_settled(opened, qtbot)
        assert names_in_tabs(opened) <= {opened.docks[name].windowTitle() for name in shown(opened)}


def test_what_a_person_changed_is_kept_with_its_arrangement(opened, make_window, qtbot):
    opened.toggle_dock("stats")
    press(opened, "A", qtbot)
    press(opened, "G", qtbot)
    assert shown(opened) == {*DOCK_PLACES["check"], "stats"}
    press(opened, "Y", qtbot)
    assert shown(opened) == set(DOCK_PLACES["why"])
    opened.close()
    again = make_window()
    again.open_path(SAMPLES / "tap_washer_tray.gcode")
    wait_until_settled(again, qtbot)
    assert again._pane_docks.arrangement == "why"
    assert shown(again) == set(DOCK_PLACES["why"])
    press(again, "G", qtbot)
    assert shown(again) == {*DOCK_PLACES["check"], "stats"}
    press(again, "Ctrl+0", qtbot)
    assert shown(again) == set(DOCK_PLACES["check"])


def test_panes_grow_and_shrink_with_the_window(opened, qtbot):
    findings = opened.docks["findings"]
    narrow = findings.width()
    opened.resize(1920, 1080)
    wait_until_settled(opened, qtbot)
    assert findings.width() == pytest.approx(1.5 * narrow, rel=0.05)
    opened.resize(1280, 800)
    wait_until_settled(opened, qtbot)
    assert findings.width() == pytest.approx(narrow, abs=3)


def test_a_dragged_pane_keeps_its_share_and_the_arrangement_its_size(opened, qtbot):
    findings = opened.docks["findings"]
    before = findings.width()
    drag_separator(opened, findings, 100, qtbot)
    assert findings.width() == pytest.approx(before + 100, abs=3)
    press(opened, "Y", qtbot)
    opened.resize(1600, 1000)
    wait_until_settled(opened, qtbot)
    press(opened, "G", qtbot)
    wait_until_settled(opened, qtbot)
    assert findings.width() == pytest.approx(1.25 * (before + 100), rel=0.05)


def test_a_long_name_makes_nothing_wider(window, tmp_path, qtbot):
    long = tmp_path / ("a_tap_washer_tray_for_the_sink_by_the_window_" * 3)[:114]
    program = long.with_name(long.name + ".gcode")
    assert len(program.name) == 120
    program.write_bytes((SAMPLES / "tap_washers_bare.gcode").read_bytes())
    widths = []
    for path in (SAMPLES / "tap_washers_bare.gcode", program):
        window.open_path(path)
        wait_until_settled(window, qtbot)
        window.banner.say(
            "file", "warn", f"{path.name} was changed after it was read; what is shown is the old one."
        )
        window.work.begin(path.name)
        QApplication.processEvents()
        wait_until_settled(window, qtbot)
        widths.append((window.minimumSizeHint().width(), window.width(), window.docks["findings"].width()))
        window.work.end()
    assert widths[0][1:] == widths[1][1:]
    assert widths[1][0] <= 760


@pytest.mark.parametrize("size", [(1920, 1080), (760, 520)])
@pytest.mark.parametrize("steps", [-2, 0, 5])
def test_the_picture_has_room_in_windows_of_every_size_and_text(opened, qtbot, size, steps):
    for _ in range(abs(steps)):
        opened.theme.resize_text(1 if steps > 0 else -1)
    opened.resize(*size)
    for arrangement in ARRANGEMENTS:
        opened.arrange_for(arrangement)
        wait_until_settled(opened, qtbot)
        assert (opened.width(), opened.height()) == size, "the window is not made larger by what stands in it"
        assert share_of_picture(opened) > 0.12, arrangement
        for name in shown(opened):
            dock = opened.docks[name]
            if dock.visibleRegion().isEmpty():
                continue  # behind another
            place = dock.geometry()
            assert opened.rect().contains(place), (arrangement, name, place)
