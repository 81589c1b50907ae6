"""Of many requests only the newest is drawn, and the window never waits."""

from __future__ import annotations

import time

from PySide6.QtWidgets import QApplication, QWidget
from pytestqt.qtbot import QtBot

from viewer.shown.window.redraw import Redrawer


def test_only_the_newest_request_is_drawn(qtbot: QtBot) -> None:
    owner = QWidget()
    qtbot.addWidget(owner)
    drawn: list[int] = []
    shown: list[int] = []

    def draw(request: int) -> int:
        time.sleep(0.05)
        drawn.append(request)
        return request

    redrawer: Redrawer[int, int] = Redrawer(draw, shown.append, lambda _: 1.0, owner)
    for k in range(20):
        redrawer.request(k)
        QApplication.processEvents()
        time.sleep(0.005)
    qtbot.waitUntil(lambda: not redrawer.busy, timeout=5_000)
    assert shown[-1] == 19
    assert shown == drawn
    assert len(drawn) <= 6  # the first, what was newest whenever one was done, and the last
    redrawer.stop()
    redrawer.request(99)
    QApplication.processEvents()
    assert not redrawer.busy


def test_slow_drawing_leaves_the_window_alive(qtbot: QtBot) -> None:
    owner = QWidget()
    qtbot.addWidget(owner)
    shown: list[str] = []
    redrawer: Redrawer[str, str] = Redrawer(
        lambda request: (time.sleep(0.3), request)[1], shown.append, lambda _: 1.0, owner
    )
    redrawer.request("slow")
    QApplication.processEvents()
    begun = time.perf_counter()
    QApplication.processEvents()
    assert time.perf_counter() - begun < 0.2
    assert shown == []
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


def test_the_same_wish_is_drawn_once(qtbot: QtBot) -> None:
    owner = QWidget()
    qtbot.addWidget(owner)
    drawn: list[str] = []
    redrawer: Redrawer[str, str] = Redrawer(
        lambda request: (time.sleep(0.05), drawn.append(request), request)[2],
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
