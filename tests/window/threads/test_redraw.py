"""Of many requests only the newest is drawn, and the window never waits."""

from __future__ import annotations

import math
import threading
import time

import numpy as np
from PySide6.QtCore import QTimer
from PySide6.QtGui import QPaintEvent
from PySide6.QtWidgets import QApplication, QWidget
from pytestqt.qtbot import QtBot

from viewer.shown.window.threads.redraw import Redrawer

NUMBERS = np.random.default_rng(7).random(20_000)


def work(seconds: float) -> None:
    """Keep this thread at work for so long by its own clock (waiting is no work), and leave Python to the others."""
    until = time.thread_time() + seconds
    while time.thread_time() < until:
        NUMBERS.copy().sort()


def test_only_the_newest_request_is_drawn(qtbot: QtBot) -> None:
    owner = QWidget()
    qtbot.addWidget(owner)
    drawn: list[int] = []
    shown: list[int] = []
    begun, go_on = threading.Event(), threading.Event()

    def draw(request: int) -> int:
        begun.set()
        assert go_on.wait(30)
        drawn.append(request)
        return request

    redrawer: Redrawer[int, int] = Redrawer(draw, shown.append, lambda _: 1.0, owner)
    redrawer.request(0)
    qtbot.waitUntil(begun.is_set)
    for k in range(1, 20):
        redrawer.request(k)
        QApplication.processEvents()
    go_on.set()
    qtbot.waitUntil(lambda: not redrawer.busy, timeout=5_000)
    assert shown == drawn == [0, 19]  # what was being drawn, and what was newest when that was done
    redrawer.stop()
    redrawer.request(99)
    QApplication.processEvents()
    assert not redrawer.busy


def test_slow_drawing_leaves_the_window_alive(qtbot: QtBot) -> None:
    owner = QWidget()
    qtbot.addWidget(owner)
    shown: list[str] = []
    begun, go_on = threading.Event(), threading.Event()

    def draw(request: str) -> str:
        begun.set()
        assert go_on.wait(5)  # in the window's thread this would wait in vain
        return request

    redrawer: Redrawer[str, str] = Redrawer(draw, shown.append, lambda _: 1.0, owner)
    redrawer.request("slow")
    qtbot.waitUntil(begun.is_set)
    QApplication.processEvents()
    assert shown == []
    go_on.set()
    qtbot.waitUntil(lambda: shown == ["slow"], timeout=5_000)


def test_a_failure_in_the_thread_comes_to_light(qtbot: QtBot) -> None:
    owner = QWidget()
    qtbot.addWidget(owner)

    def fail(_: int) -> int:
        raise RuntimeError("no ink")

    redrawer: Redrawer[int, int] = Redrawer(fail, lambda _: None, lambda _: 1.0, owner)
    with qtbot.captureExceptions() as caught:
        redrawer.request(1)
        qtbot.waitUntil(lambda: bool(caught) and not redrawer.busy, timeout=5_000)
    assert str(caught[0][1]) == "no ink"


def test_what_takes_far_longer_than_usual_is_drawn_in_the_thread_and_teaches_nothing(qtbot: QtBot) -> None:
    owner = QWidget()
    qtbot.addWidget(owner)
    drawn_by: dict[float, threading.Thread] = {}

    def draw(request: float) -> float:
        work(0.1 if math.isinf(request) else 0.001)
        drawn_by[request] = threading.current_thread()
        return request

    redrawer: Redrawer[float, float] = Redrawer(draw, lambda _: None, lambda request: request, owner)
    for request in (1.0, 1.1, math.inf, 1.2):
        redrawer.request(request)
        qtbot.waitUntil(lambda: not redrawer.busy, timeout=5_000)
    here = threading.main_thread()
    assert [request for request, thread in drawn_by.items() if thread is not here] == [1.0, math.inf]


def test_the_same_wish_is_drawn_once(qtbot: QtBot) -> None:
    owner = QWidget()
    qtbot.addWidget(owner)
    drawn: list[str] = []
    redrawer: Redrawer[str, str] = Redrawer(
        lambda request: (work(0.05), drawn.append(request), request)[2],
        lambda _: None,
        lambda _: 1.0,
        owner,
    )
    for _ in range(3):  # layer, moment and view tell of one change each
        redrawer.request("layer 2")
    qtbot.waitUntil(lambda: not redrawer.busy, timeout=5_000)
    assert drawn == ["layer 2"]
    redrawer.request("layer 3")
    redrawer.request("layer 4")
    redrawer.request("layer 3")  # back to what is being drawn: nothing else is wanted
    qtbot.waitUntil(lambda: not redrawer.busy, timeout=5_000)
    assert drawn == ["layer 2", "layer 3"]


def test_a_quick_picture_comes_before_the_window_is_painted(qtbot: QtBot) -> None:
    order: list[str] = []

    class Painted(QWidget):
        def paintEvent(self, event: QPaintEvent) -> None:
            order.append("painted")

    owner = Painted()
    qtbot.addWidget(owner)
    redrawer: Redrawer[str, str] = Redrawer(
        lambda request: (work(0.001), request)[1], order.append, lambda _: 1.0, owner
    )
    redrawer.request("first")  # from now on it is known to be quick
    qtbot.waitUntil(lambda: not redrawer.busy, timeout=5_000)
    with qtbot.waitExposed(owner):
        owner.show()
    qtbot.waitUntil(lambda: "painted" in order)
    QApplication.processEvents()
    order.clear()
    owner.update()
    QTimer.singleShot(0, lambda: order.append("a timer"))
    redrawer.request("second")
    qtbot.waitUntil(lambda: len(order) == 3)
    assert order.index("second") < order.index("painted")


def test_what_only_had_to_wait_for_others_is_quick(qtbot: QtBot) -> None:
    """Beside a window that paints a quick drawing takes long by the clock on the wall; it must not stay in the thread."""
    owner = QWidget()
    qtbot.addWidget(owner)
    shown: list[float] = []
    redrawer: Redrawer[float, float] = Redrawer(
        lambda seconds: (work(seconds), time.sleep(0.05), seconds)[2], shown.append, lambda _: 1.0, owner
    )
    for seconds, quick in ((0.001, True), (0.05, False), (0.001, True)):
        redrawer.request(seconds)
        qtbot.waitUntil(lambda: not redrawer.busy, timeout=5_000)
        assert redrawer.is_quick(seconds) == quick
    assert shown == [0.001, 0.05, 0.001]
