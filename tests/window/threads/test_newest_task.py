"""Only the newest work counts; what it raises comes to light; no thread stays behind."""

from __future__ import annotations

import threading

import pytest
import shiboken6
from PySide6.QtCore import QObject
from PySide6.QtWidgets import QApplication
from pytestqt.qtbot import QtBot

from viewer.errors import OutputError, ReadError, Stopped
from viewer.shown.window.threads.newest_task import NewestTask, Run, sentence_of

WAIT_MS = 5_000


def test_what_waits_is_replaced_and_what_runs_is_told_to_stop(qtbot: QtBot) -> None:
    task, begun, go_on = NewestTask("test"), threading.Event(), threading.Event()
    done: list[object] = []
    told: list[bool] = []
    ran: list[str] = []
    task.done.connect(done.append)

    def first(run: Run) -> str:
        begun.set()
        go_on.wait(30.0)
        told.append(run.stop())
        run.post("late")
        return "first"

    posted: list[object] = []
    task.posted.connect(posted.append)
    task.start(first)
    assert begun.wait(5.0)
    task.start(lambda _run: ran.append("second"))
    task.start(lambda _run: (ran.append("third"), "third")[1])
    assert task.busy
    go_on.set()
    qtbot.waitUntil(lambda: not task.busy, timeout=WAIT_MS)
    task.end()
    QApplication.processEvents()
    assert (done, told, ran, posted) == (["third"], [True], ["third"], [])


def test_one_piece_of_work_runs_at_a_time_and_posts_come_in_order(qtbot: QtBot) -> None:
    task = NewestTask("test")
    heard: list[object] = []
    at_work: list[int] = []
    most: list[int] = []
    task.posted.connect(heard.append)
    task.done.connect(heard.append)

    def work(run: Run) -> str:
        at_work.append(run.number)
        most.append(len(at_work))
        for k in range(50):
            run.post(k)
        at_work.remove(run.number)
        return "end"

    for _ in range(30):
        number = task.start(work)
    qtbot.waitUntil(lambda: not task.busy, timeout=WAIT_MS)
    assert number == 30
    assert heard == [*range(50), "end"]
    assert max(most) == 1
    task.end()


def test_a_cancelled_task_is_not_heard_of_any_more(qtbot: QtBot) -> None:
    task, go_on = NewestTask("test"), threading.Event()
    heard: list[object] = []
    for signal in (task.posted, task.done, task.failed):
        signal.connect(heard.append)

    def stopped(run: Run) -> None:
        go_on.wait(30.0)
        if run.stop():
            raise Stopped

    task.start(stopped)
    task.cancel()
    assert not task.busy
    go_on.set()
    task.end()
    qtbot.wait(20)
    assert heard == []
    task.start(lambda _run: "again")
    qtbot.waitUntil(lambda: heard == ["again"], timeout=WAIT_MS)
    task.end()


def test_the_thread_ends_when_nothing_is_left_to_do(qtbot: QtBot) -> None:
    task = NewestTask("a thread that ends")
    task.start(lambda _run: None)
    qtbot.waitUntil(lambda: not task.busy, timeout=WAIT_MS)
    qtbot.waitUntil(
        lambda: "a thread that ends" not in [thread.name for thread in threading.enumerate()], timeout=WAIT_MS
    )


def test_a_failure_is_handed_over_and_the_next_work_is_done(qtbot: QtBot) -> None:
    task = NewestTask("test")
    failed: list[BaseException] = []
    done: list[object] = []
    task.failed.connect(failed.append)
    task.done.connect(done.append)

    def fail(_run: Run) -> None:
        raise OutputError("the drive is full")

    task.start(fail)
    qtbot.waitUntil(lambda: bool(failed), timeout=WAIT_MS)
    assert not task.busy
    assert sentence_of(failed[0]) == "the drive is full"
    task.start(lambda _run: 5)
    qtbot.waitUntil(lambda: done == [5], timeout=WAIT_MS)
    task.end()


def test_only_expected_failures_have_a_sentence() -> None:
    assert sentence_of(ReadError("it is gone")) == "it is gone"
    with pytest.raises(ZeroDivisionError):
        sentence_of(ZeroDivisionError("by hand"))


def test_a_task_may_be_deleted_while_its_worker_sends() -> None:
    """As a pane is deleted with all that it holds: what is sent then would go to what is no more."""
    for _ in range(50):
        pane, begun = QObject(), threading.Event()
        task = NewestTask("test", pane)
        sent: list[bool] = []

        def send(run: Run, begun: threading.Event = begun, sent: list[bool] = sent) -> None:
            for _ in range(2_000):
                run.post("again")
                begun.set()
            sent.append(True)

        task.start(send)
        thread = task._thread
        assert thread is not None
        assert begun.wait(5.0)
        shiboken6.delete(pane)
        thread.join(5.0)
        assert sent == [True]
