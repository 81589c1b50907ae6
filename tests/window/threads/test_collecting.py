"""Cycles of objects are searched for in the window's thread only, and at length only while a person rests."""

from __future__ import annotations

import gc
import sys
import threading
import weakref
from collections.abc import Iterator
from pathlib import Path

import pytest
from PySide6.QtCore import QCoreApplication, QSettings
from PySide6.QtWidgets import QApplication
from pytestqt.qtbot import QtBot

from viewer.shown.window import app
from viewer.shown.window.model.view_state import ViewState
from viewer.shown.window.shell.main_window import MainWindow
from viewer.shown.window.shell.memory import Memory
from viewer.shown.window.style.theme import Theme
from viewer.shown.window.threads import collecting
from viewer.shown.window.threads.collecting import MOST, NEW, ROUNDS, Collector, due


class Knot:
    """Holds itself."""

    def __init__(self) -> None:
        self.itself = self


@pytest.fixture
def state() -> ViewState:
    return ViewState()


@pytest.fixture
def collector(qapp: QCoreApplication, state: ViewState) -> Iterator[Collector]:
    made = Collector(state)
    gc.freeze()  # as `begin` does; but the tests say when it looks
    yield made
    made.stop()
    gc.unfreeze()


def knots(count: int) -> list[weakref.ref[Knot]]:
    return [weakref.ref(Knot()) for _ in range(count)]


@pytest.mark.parametrize(
    ("counts", "generation"),
    [
        ((NEW - 1, ROUNDS, ROUNDS), None),
        ((NEW, 0, 0), 0),
        ((NEW, ROUNDS - 1, ROUNDS), 0),
        ((NEW, ROUNDS, 0), 1),
        ((NEW, ROUNDS, ROUNDS), 2),
    ],
)
def test_older_generations_are_due_more_seldom(counts: tuple[int, int, int], generation: int | None) -> None:
    assert due(counts) == generation


def test_no_worker_searches(collector: Collector) -> None:
    made: list[weakref.ref[Knot]] = []
    worker = threading.Thread(target=lambda: made.extend(knots(2 * NEW)))
    worker.start()
    worker.join()
    assert all(knot() is not None for knot in made)
    collector.look()
    assert not any(knot() is not None for knot in made)


def test_the_window_keeps_no_knots_for_long(qtbot: QtBot, state: ViewState) -> None:
    gc.collect()
    running = Collector(state)
    running.begin()
    made = knots(2 * NEW)
    qtbot.waitUntil(lambda: not any(knot() is not None for knot in made), timeout=5_000)
    running.stop()
    gc.unfreeze()


def test_a_person_at_work_waits_for_the_newest_objects_only(
    collector: Collector, state: ViewState, monkeypatch: pytest.MonkeyPatch
) -> None:
    searched: list[int] = []
    clock = [100.0]
    monkeypatch.setattr(collecting.time, "monotonic", lambda: clock[0])
    monkeypatch.setattr(collecting.gc, "get_count", lambda: (NEW, ROUNDS, ROUNDS))
    monkeypatch.setattr(collecting.gc, "collect", searched.append)
    state.tell("layer")
    clock[0] += collecting.REST_S / 2
    collector.look()
    clock[0] += collecting.REST_S
    collector.look()
    assert searched == [0, 2]


def test_what_would_take_too_long_is_put_aside(collector: Collector) -> None:
    kept = knots(1)
    crowd = [[k] for k in range(MOST + NEW)]  # Python takes off the count what old objects end meanwhile
    collector.look()
    assert kept[0]() is not None
    put_aside = gc.get_freeze_count()
    crowd.clear()  # what is in no circle ends as before
    assert gc.get_freeze_count() <= put_aside - MOST
    found = knots(2 * NEW)
    collector.look()
    assert not any(knot() is not None for knot in found)


def test_python_searches_again_when_the_window_is_closed(
    qapp: QApplication, settings_file: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    while_open: list[bool] = []

    class Closing(MainWindow):
        def __init__(self, state: ViewState) -> None:
            memory = Memory(QSettings(str(settings_file), QSettings.Format.IniFormat))
            super().__init__(state, memory, Theme(qapp, memory.look, memory.text_scale))
            self.panes_made.connect(self.close)

        def show(self) -> None:
            super().show()
            while_open.append(gc.isenabled())

    monkeypatch.setattr(app, "MainWindow", Closing)
    monkeypatch.setattr(app, "_stop_on_interrupt", lambda *_: None)
    usual = sys.getswitchinterval()
    try:
        assert app.run() == 0
    finally:
        gc.unfreeze()
        sys.setswitchinterval(usual)
    assert while_open == [False]
    assert gc.isenabled()
