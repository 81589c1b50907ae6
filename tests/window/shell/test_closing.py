"""Closing: all work beside the window is told to stop, and is waited for, but not for ever."""

from __future__ import annotations

import threading
import time

from PySide6.QtCore import QObject

from viewer.shown.window.threads.newest_task import NewestTask, end_work


def test_a_window_that_closes_waits_for_the_work_of_all_its_panes(window) -> None:
    window.add_panes()
    panes = window.panes
    tasks = [task for pane in panes.in_order for task in pane.findChildren(NewestTask)]
    assert {panes.program._find_work, panes.levers._levers, panes.ledger.lookup._times} <= set(tasks)
    ended: list[int] = []

    def work(run) -> None:
        while not run.stop():
            time.sleep(0.001)
        time.sleep(0.2)
        ended.append(run.number)

    for task in tasks:
        task.start(work)
    window.close()
    assert len(ended) == len(tasks)


def test_work_that_does_not_stop_is_waited_for_so_long_and_no_longer(qapp) -> None:
    root, go_on = QObject(), threading.Event()
    tasks = [NewestTask(f"stubborn {number}", root) for number in range(2)]
    for task in tasks:
        task.start(lambda _run: go_on.wait(60))
    began = time.monotonic()
    end_work(root, 0.1)
    assert 0.1 <= time.monotonic() - began < 10
    go_on.set()
    for task in tasks:
        task.wait()  # its thread must not be the last that knows it
