"""Parts of a window are painted one after another, once each, and the window's thread breathes between them."""

from __future__ import annotations

from PySide6.QtCore import QTimer
from PySide6.QtGui import QPaintEvent
from PySide6.QtWidgets import QApplication, QVBoxLayout, QWidget
from pytestqt.qtbot import QtBot

from tests.window.conftest import show_active
from viewer.shown.window.threads.in_turn import InTurn


class Part(QWidget):
    def __init__(self, name: str, order: list[str], parent: QWidget) -> None:
        super().__init__(parent)
        self.name, self.order = name, order
        self.waiting: list[str] = []
        """Who still waited when this was painted last."""
        self.setMinimumSize(40, 20)

    def paintEvent(self, event: QPaintEvent) -> None:
        self.order.append(self.name)
        self.waiting = [
            part.name for part in self.parentWidget().findChildren(Part) if not part.updatesEnabled()
        ]


def window_of(qtbot: QtBot, names: str, order: list[str]) -> tuple[QWidget, list[Part]]:
    window = QWidget()
    qtbot.addWidget(window)
    column = QVBoxLayout(window)
    parts = [Part(name, order, window) for name in names]
    for part in parts:
        column.addWidget(part)
    show_active(window, qtbot)
    painted = [0]

    def still() -> bool:
        """Whether nothing was painted since the last look: a display may ask for a new window more than once."""
        painted.append(len(order))
        return painted[-2] == painted[-1] >= len(names)

    qtbot.waitUntil(still)
    order.clear()
    return window, parts


def test_each_part_is_painted_once_and_in_a_turn_of_its_own(qtbot: QtBot) -> None:
    order: list[str] = []
    window, parts = window_of(qtbot, "abc", order)
    ticks = QTimer(window, interval=0)
    ticks.timeout.connect(lambda: order.append("-"))
    turn = InTurn(window)
    turn.paint(reversed(parts))
    for part in parts:
        part.update()  # it has changed
    ticks.start()
    qtbot.waitUntil(lambda: all(part.updatesEnabled() for part in parts))
    qtbot.waitUntil(lambda: all(name in order for name in "abc"))
    painted = "".join(order).strip("-")
    assert painted.replace("-", "") == "cba"
    assert "cb" not in painted
    assert "ba" not in painted


def test_nothing_is_painted_before_its_turn(qtbot: QtBot) -> None:
    order: list[str] = []
    window, parts = window_of(qtbot, "abcdef", order)
    turn = InTurn(window)
    turn.paint(parts)
    parts[-1].update()
    qtbot.waitUntil(lambda: len(order) == len(parts))
    assert order == list("abcdef")
    assert [part.waiting for part in parts] == [
        list("bcdef"),
        list("cdef"),
        list("def"),
        ["e", "f"],
        ["f"],
        [],
    ]


def test_what_waits_already_waits_on(qtbot: QtBot) -> None:
    order: list[str] = []
    window, parts = window_of(qtbot, "ab", order)
    turn = InTurn(window)
    turn.paint(parts)
    turn.paint((parts[1], parts[0]))
    qtbot.waitUntil(lambda: not turn.busy)
    QApplication.processEvents()  # all that was asked for is painted
    assert order == ["a", "b"]
    assert all(part.updatesEnabled() for part in parts)


def test_a_part_that_lies_in_another_is_painted_after_it(qtbot: QtBot) -> None:
    order: list[str] = []
    window, parts = window_of(qtbot, "ab", order)
    turn = InTurn(window)
    turn.paint((window, *parts))
    assert not window.updatesEnabled()
    qtbot.waitUntil(lambda: len(order) == 2)
    assert order == ["a", "b"]
    assert window.updatesEnabled()


def test_it_is_busy_until_all_are_painted(qtbot: QtBot) -> None:
    order: list[str] = []
    window, parts = window_of(qtbot, "abc", order)
    turn = InTurn(window)
    assert not turn.busy
    turn.paint(parts)
    assert turn.busy
    qtbot.waitUntil(lambda: not turn.busy)
    assert order == ["a", "b", "c"]
