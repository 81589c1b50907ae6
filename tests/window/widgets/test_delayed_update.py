"""A delayed update comes once, however often it was asked for, and counts from the last time."""

from __future__ import annotations

import time

from PySide6.QtWidgets import QWidget
from pytestqt.qtbot import QtBot

from viewer.shown.window.widgets.delayed_update import DelayedUpdate

WAIT_MS = 5_000


def test_it_comes_once_after_the_last_wish(qtbot: QtBot) -> None:
    owner = QWidget()
    qtbot.addWidget(owner)
    came: list[float] = []
    update = DelayedUpdate(lambda: came.append(time.monotonic()), 100, owner)
    update.postpone()
    assert not update.isActive()  # nothing was asked for
    for _ in range(3):
        update.start()
    update.postpone()
    last = time.monotonic()
    qtbot.waitUntil(lambda: not update.isActive(), timeout=WAIT_MS)
    assert len(came) == 1
    assert came[0] - last >= 0.08  # a coarse timer may be 5 % early
    update.start()
    update.stop()
    qtbot.wait(200)
    assert len(came) == 1
