"""The plot's frame: zoom, pan, measuring by mouse and by keyboard."""

from __future__ import annotations

import math

import pytest
from PySide6.QtCore import QPoint, QPointF, QRectF, Qt
from PySide6.QtGui import QWheelEvent
from PySide6.QtWidgets import QApplication
from pytestqt.qtbot import QtBot

from tests.window.conftest import move_to, show_active
from viewer.shown.window.plot.marks_item import measured_text
from viewer.shown.window.plot.plot_view import PlotView


@pytest.fixture
def view(qtbot: QtBot) -> PlotView:
    made = PlotView()
    qtbot.addWidget(made)
    made.resize(600, 450)
    show_active(made, qtbot)
    made.look_at(QRectF(0.0, 0.0, 220.0, 220.0))
    QApplication.processEvents()
    return made


def place(view: PlotView, x: float, y: float) -> QPoint:
    """Where a point in mm lies in the viewport."""
    return view.mapFromScene(view.box.mapViewToScene(QPointF(x, y)))


def point_at(qtbot: QtBot, view: PlotView, x: float, y: float) -> None:
    move_to(view.viewport(), place(view, x, y))
    QApplication.processEvents()


def click(qtbot: QtBot, view: PlotView, x: float, y: float) -> None:
    point_at(qtbot, view, x, y)
    qtbot.mouseClick(view.viewport(), Qt.MouseButton.LeftButton, pos=place(view, x, y))
    QApplication.processEvents()


def test_measuring_with_two_clicks(qtbot: QtBot, view: PlotView) -> None:
    picked: list[object] = []
    view.picked.connect(picked.append)
    view.start_measuring(True)
    click(qtbot, view, 50.0, 60.0)
    point_at(qtbot, view, 90.0, 90.0)
    reach = 1.5 * view.mm_a_px  # a click hits whole pixels
    loose = view.marks.measured
    assert loose is not None
    assert math.dist(loose[1], (90.0, 90.0)) <= reach  # the second end follows the pointer
    click(qtbot, view, 80.0, 100.0)
    point_at(qtbot, view, 10.0, 10.0)
    measured = view.marks.measured
    assert measured is not None
    assert math.dist(measured[0], (50.0, 60.0)) <= reach
    assert math.dist(measured[1], (80.0, 100.0)) <= reach
    assert picked == []  # a click that measures selects nothing
    view.start_measuring(False)
    assert view.marks.measured is None
    click(qtbot, view, 50.0, 60.0)
    assert len(picked) == 1


def test_what_is_measured_in_words() -> None:
    """A triangle of 3, 4 and 5."""
    assert measured_text((50.0, 60.0), (80.0, 100.0)) == "dx +30.00 mm   dy +40.00 mm   distance 50.00 mm"


def test_measuring_by_keyboard(qtbot: QtBot, view: PlotView) -> None:
    ended: list[bool] = []
    view.measuring_ended.connect(lambda: ended.append(True))
    view.start_measuring(True)
    middle = view.box.viewRect().center()
    for key in (Qt.Key.Key_Return, Qt.Key.Key_Right, Qt.Key.Key_Right, Qt.Key.Key_Up, Qt.Key.Key_Return):
        qtbot.keyClick(view, key)
    measured = view.marks.measured
    assert measured is not None
    step = 8.0 * view.mm_a_px
    assert measured[0] == pytest.approx((middle.x(), middle.y()))
    assert measured[1] == pytest.approx((middle.x() + 2 * step, middle.y() + step))
    qtbot.keyClick(view, Qt.Key.Key_Escape)
    assert view.marks.measured is None
    assert ended == [True]


def test_wheel_zooms_about_the_pointer(qtbot: QtBot, view: PlotView) -> None:
    by_hand: list[bool] = []
    view.moved_by_hand.connect(lambda: by_hand.append(True))
    before = view.box.viewRect()
    at = QPointF(place(view, 60.0, 70.0))
    wheel = QWheelEvent(
        at, view.viewport().mapToGlobal(at), QPoint(), QPoint(0, 120), Qt.MouseButton.NoButton,
        Qt.KeyboardModifier.NoModifier, Qt.ScrollPhase.NoScrollPhase, False,
    )  # fmt: skip
    QApplication.sendEvent(view.viewport(), wheel)
    assert view.box.viewRect().width() < 0.95 * before.width()
    assert (place(view, 60.0, 70.0) - at.toPoint()).manhattanLength() <= 2
    assert by_hand


def test_drag_pans(qtbot: QtBot, view: PlotView) -> None:
    port, start = view.viewport(), place(view, 60.0, 70.0)
    before = view.box.viewRect()
    qtbot.mousePress(port, Qt.MouseButton.LeftButton, pos=start)
    for k in range(1, 6):
        move_to(port, start + QPoint(8 * k, 0), Qt.MouseButton.LeftButton)
        QApplication.processEvents()
    qtbot.mouseRelease(port, Qt.MouseButton.LeftButton, pos=start + QPoint(40, 0))
    after = view.box.viewRect()
    assert after.width() == pytest.approx(before.width(), rel=1e-6)
    assert after.left() < before.left()  # the plate follows the pointer to the right


def test_zoom_has_ends(view: PlotView) -> None:
    for factor, least, most in ((1e-9, 0.19, 1.0), (1e9, 1e4, 1.01e6)):
        for _ in range(4):
            view.box.scaleBy((factor, factor))
        assert least <= view.box.viewRect().height() <= most


def test_painting_that_is_held_goes_on_by_itself(qtbot) -> None:
    view = PlotView()
    qtbot.addWidget(view)
    view.show()
    view.hold()
    assert not view.updatesEnabled()
    view.let_go()
    assert view.updatesEnabled()
    view.hold()
    qtbot.waitUntil(view.updatesEnabled, timeout=1_000)


def test_what_the_view_holds_is_moved_before_it_is_painted(qtbot) -> None:
    view = PlotView()
    qtbot.addWidget(view)
    view.show()
    view.box.translateBy(x=3.0, y=0.0)
    assert not view.box._matrixNeedsUpdate
