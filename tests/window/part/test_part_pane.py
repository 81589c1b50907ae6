"""The whole part, used as a person does: turned, zoomed, cut, clicked."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import pytest
from PySide6.QtCore import QPoint, QPointF, Qt
from PySide6.QtGui import QWheelEvent
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication
from pytestqt.qtbot import QtBot

from viewer import open_program
from viewer.layers.layers import OUTLINE
from viewer.program import Program
from viewer.shown.window.model.view_state import ViewState
from viewer.shown.window.part import part_drawing
from viewer.shown.window.part.part_pane import PartPane
from viewer.shown.window.widgets.role_menu import RoleMenu

SAMPLE = Path(__file__).parents[3] / "sample_programs" / "coat_hook_pause.gcode"


@pytest.fixture(scope="module")
def hook() -> Program:
    return open_program(SAMPLE)


@pytest.fixture
def state(hook: Program) -> ViewState:
    state = ViewState()
    state.show_program(hook)
    return state


@pytest.fixture
def pane(state: ViewState, qtbot: QtBot) -> Iterator[PartPane]:
    pane = PartPane(state)
    qtbot.addWidget(pane)
    pane.resize(420, 340)
    pane.show()
    settle(pane, qtbot)
    yield pane
    pane.stop()


def settle(pane: PartPane, qtbot: QtBot) -> None:
    qtbot.waitUntil(lambda: not pane.busy, timeout=120_000)


def test_the_full_picture_comes_when_the_hand_rests(pane: PartPane, qtbot: QtBot) -> None:
    assert pane.drawn is not None and pane.drawn.request.fine and pane.drawn.every == 1
    before = pane.drawn.image.copy()
    canvas = pane.canvas
    QTest.mousePress(canvas, Qt.MouseButton.LeftButton, pos=QPoint(100, 100))
    QTest.mouseMove(canvas, QPoint(130, 100))
    QTest.mouseMove(canvas, QPoint(160, 110))
    QTest.mouseRelease(canvas, Qt.MouseButton.LeftButton, pos=QPoint(160, 110))
    settle(pane, qtbot)
    assert canvas.view.turn_deg != pytest.approx(32.0)
    assert pane.drawn.request.fine and (pane.drawn.image != before).any()


def test_a_clicked_bead_is_selected_and_its_layer_comes_on_show(
    pane: PartPane, state: ViewState, qtbot: QtBot
) -> None:
    part = pane.drawn.part if pane.drawn is not None else None
    assert part is not None
    middle = pane.canvas.rect().center()
    QTest.mouseClick(pane.canvas, Qt.MouseButton.LeftButton, pos=middle)
    assert state.selected in part.end and state.program is not None
    assert state.layer == int(state.program.layers.of_moves([state.selected])[0])
    settle(pane, qtbot)
    assert pane.canvas.marks[-1].colour == "selection"
    QTest.mouseClick(pane.canvas, Qt.MouseButton.LeftButton, pos=QPoint(3, 40))
    assert state.selected is None


def test_layers_above_are_hidden_a_cut_opens_roles_are_left_out(
    pane: PartPane, state: ViewState, qtbot: QtBot
) -> None:
    state.show_layer(4)
    pane.next_above()
    pane.next_above()
    settle(pane, qtbot)
    drawn = pane.drawn
    assert drawn is not None and state.program is not None
    last = state.program.layers.moves_of(4).stop
    assert drawn.part.end[drawn.drawn.seen()].max() < last
    pane.next_cut()
    settle(pane, qtbot)
    cut = pane.drawn
    assert cut is not None and len(cut.drawn.seen()) < len(drawn.drawn.seen())
    roles = pane.findChild(RoleMenu)
    assert roles is not None and roles.text() == "Roles"
    roles.menu().actions()[OUTLINE].trigger()
    assert state.hidden_roles == {OUTLINE} and roles.text() == "Roles (1 hidden)"
    settle(pane, qtbot)
    left = pane.drawn
    assert left is not None
    assert OUTLINE not in state.program.roles[left.part.end[left.drawn.seen()]]


def test_keys_turn_move_and_zoom(pane: PartPane, qtbot: QtBot) -> None:
    canvas, view = pane.canvas, pane.canvas.view
    QTest.keyClick(canvas, Qt.Key.Key_Right)
    assert canvas.view.turn_deg == pytest.approx(view.turn_deg + 10.0)
    QTest.keyClick(canvas, Qt.Key.Key_Up)
    assert canvas.view.tilt_deg == pytest.approx(view.tilt_deg + 10.0)
    QTest.keyClick(canvas, Qt.Key.Key_PageUp)
    assert canvas.view.px_per_mm == pytest.approx(view.px_per_mm * 1.25)
    QTest.keyClick(canvas, Qt.Key.Key_Left, Qt.KeyboardModifier.ShiftModifier)
    assert canvas.view.middle != view.middle
    QTest.keyClick(canvas, Qt.Key.Key_Home)
    assert canvas.view == view
    pane.look_from("top")
    assert canvas.view.tilt_deg == 90.0
    settle(pane, qtbot)


def test_the_wheel_zooms_at_the_pointer(pane: PartPane, qtbot: QtBot) -> None:
    canvas, at = pane.canvas, QPointF(60.0, 50.0)
    spot = canvas.view.moved(
        (at.x() - canvas.width() / 2) / canvas.view.px_per_mm,
        (canvas.height() / 2 - at.y()) / canvas.view.px_per_mm,
    ).middle
    none = Qt.MouseButton.NoButton, Qt.KeyboardModifier.NoModifier, Qt.ScrollPhase.NoScrollPhase
    wheel = QWheelEvent(at, at, QPoint(), QPoint(0, 240), *none, False)
    QApplication.sendEvent(canvas, wheel)
    place = canvas.place_of(spot)
    assert (place.x(), place.y()) == pytest.approx((at.x() - 0.5, at.y() - 0.5), abs=1.0)
    settle(pane, qtbot)


def test_without_a_program_there_is_no_picture(pane: PartPane, state: ViewState) -> None:
    state.show_program(None)
    assert pane.drawn is None and not pane.canvas.marks


def test_a_hidden_pane_gets_nothing_ready_until_it_is_seen(
    pane: PartPane, state: ViewState, hook: Program, qtbot: QtBot
) -> None:
    QTest.keyClick(pane.canvas, Qt.Key.Key_Right)
    settle(pane, qtbot)
    turned = pane.canvas.view
    pane.hide()
    again = replace(hook, source=hook.source)
    state.show_program(again, partial=True)
    state.show_program(again)
    settle(pane, qtbot)
    assert pane._prepared is None and pane.drawn is None
    pane.show()
    settle(pane, qtbot)
    assert pane.drawn is not None and pane.drawn.request.program is again
    assert pane.canvas.view == turned, "of the same file read again the view stays"
    elsewhere = replace(hook.source, path=hook.path.parent / "other" / hook.path.name)
    state.show_program(replace(hook, source=elsewhere))
    settle(pane, qtbot)
    assert pane.canvas.view.turn_deg != turned.turn_deg


def test_which_beads_can_be_seen_is_added_to_what_is_prepared(hook: Program) -> None:
    prepared = part_drawing.prepare(hook)
    full, ranges = prepared.full, prepared.ranges
    assert len(prepared.quick(True).rows.rows) == len(prepared.part)
    part_drawing.find_visible(prepared)
    assert prepared.full is full and prepared.ranges is ranges
    assert 0 < len(prepared.quick(True).rows.rows) < len(prepared.part)


def test_a_large_part_turns_in_coarse_pixels_and_says_so(
    pane: PartPane, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The same picture at half the sharpness: as large, and with the same beads where it is not at an edge."""
    request = replace(pane.drawn.request, fine=False) if pane.drawn is not None else None
    assert request is not None and request.program is not None
    prepared = part_drawing.prepare(request.program)
    sharp = part_drawing.draw(request, prepared)
    monkeypatch.setattr(part_drawing, "SHARP_BEADS", 0)
    monkeypatch.setattr(part_drawing, "SHARP_PIXELS", 0)
    coarse = part_drawing.draw(request, prepared)
    assert (sharp.coarse, coarse.coarse) == (False, True)
    assert coarse.image.shape == sharp.image.shape and coarse.image.flags.c_contiguous
    assert part_drawing.while_it_turns(coarse).endswith("one pixel stands for four.")
    rows, columns = request.size
    places = [(row, column) for row in range(0, rows, 5) for column in range(0, columns, 5)]
    filled = [(sharp.move_at(*at) is None) == (coarse.move_at(*at) is None) for at in places]
    assert sum(filled) > 0.97 * len(places)
    assert sum(coarse.move_at(*at) is not None for at in places) > 50
