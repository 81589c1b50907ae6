"""The inbox in the window: programs that come are vetted, found, opened; drives that go are a sentence."""

from __future__ import annotations

import os
import shutil
import time
from pathlib import Path

import pytest
from PySide6.QtCore import QPoint, Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QScrollBar
from pytestqt.qtbot import QtBot

from tests.survey.bench import FAULTY
from tests.window.conftest import WAIT_MS, press, wait_until_active
from tests.window.shell.test_accessible import controls, name_of
from viewer.jit import compiler_is_off
from viewer.shown.window.inbox.inbox_page import InboxPage
from viewer.shown.window.inbox.inbox_rows import DECIDES, TOGETHER_S, VERDICT
from viewer.shown.window.inbox.inbox_texts import WAITING
from viewer.shown.window.shell.main_window import MainWindow

pytestmark = pytest.mark.skipif(compiler_is_off(), reason="needs the compiler: the worker would take minutes")


def folder_with(folder: Path, *programs: str) -> Path:
    folder.mkdir()
    for name in programs:
        path = folder / f"{name}.gcode"
        shutil.copyfile(FAULTY / f"{name}.gcode", path)
        os.utime(path, (time.time() - 3600.0, time.time() - 3600.0))
    return folder


def names(page: InboxPage) -> list[str]:
    return [row.name for row in page.model.rows]


def opened_inbox(window: MainWindow, qtbot: QtBot) -> InboxPage:
    press(window, "Ctrl+I", qtbot)
    page = window.commands.inbox.page
    assert page is not None
    wait_until_active(page, qtbot)
    return page


def come(page: InboxPage, count: int, qtbot: QtBot) -> None:
    qtbot.waitUntil(lambda: len(page.model.rows) == count and not page.busy, timeout=WAIT_MS)


def test_programs_that_come_are_vetted_found_and_opened_and_a_drive_that_goes_is_a_sentence(
    window: MainWindow, tmp_path: Path, qtbot: QtBot
) -> None:
    bench, drive = folder_with(tmp_path / "bench", "checksum"), folder_with(tmp_path / "drive", "off-plate")
    broken = bench / "broken.gcode"
    broken.write_bytes(b"PK\x03\x04" + bytes(200))
    page = opened_inbox(window, qtbot)
    assert page.empty.add.hasFocus() and not page.folders.isVisible()  # one place to begin at
    page.watch_also(str(bench))
    qtbot.waitUntil(lambda: page.empty.sentence.text() == WAITING or bool(page.model.rows), timeout=WAIT_MS)
    come(page, 2, qtbot)
    assert page.folders.isVisible() and not page.empty.isVisible()
    widths = []
    for wide in (1400, 1000, 760):  # what decides can be read at any width, and fills what there is
        page.resize(wide, 600)
        assert page.width() == wide  # no line below keeps it wide
        widths.append(page.table.columnWidth(DECIDES))
    assert widths[0] > widths[1] >= widths[2] >= 200
    page.resize(1400, 600)
    assert page.table.horizontalHeader().length() == page.table.viewport().width()
    assert page.table.hasFocus() and "judged on Heron with PLA" in page.count.text()
    page.watch_also(str(drive))
    come(page, 3, qtbot)
    assert window.memory.watched == [str(bench), str(drive)]
    words = {row.name: row.word for row in page.model.rows}
    assert words["broken.gcode"] == "not read" and words["off-plate.gcode"] == "no"
    nameless = [one for one in controls(page) if not name_of(one) and not isinstance(one, QScrollBar)]
    assert not nameless
    workers = page.work.process_ids
    assert len(workers) == 1

    # a program comes: it is there in a moment, the newest first, by the worker that is there already
    qtbot.waitUntil(lambda: time.time() - broken.stat().st_ctime > TOGETHER_S, timeout=WAIT_MS)
    shutil.copyfile(FAULTY / "claims-differ.gcode", bench / "new.gcode")
    come(page, 4, qtbot)
    assert names(page)[0] == "new.gcode" and page.work.process_ids == workers

    # sorted by the head, found by words, opened by Return
    head = page.table.horizontalHeader()
    place = QPoint(head.sectionViewportPosition(VERDICT) + 20, head.height() // 2)
    QTest.mouseClick(head.viewport(), Qt.MouseButton.LeftButton, pos=place)
    assert names(page)[:2] == ["broken.gcode", "off-plate.gcode"]
    assert page.wishes.column.currentText() == "verdict" and page.wishes.way.currentText() == "gravest first"
    press(page, "Ctrl+F", qtbot)
    QTest.keyClicks(page.wishes.words, "PLATE edge")
    assert names(page) == ["off-plate.gcode"]
    press(page, "Return", qtbot)
    assert page.table.hasFocus()
    press(page, "Return", qtbot)
    qtbot.waitUntil(lambda: window.state.program is not None, timeout=WAIT_MS)
    program = window.state.program
    assert program is not None and program.path == drive / "off-plate.gcode"

    # the drive is pulled, and comes back
    page.wishes.words.clear()
    wait_until_active(page, qtbot)
    drive.rename(tmp_path / "pulled")
    qtbot.waitUntil(lambda: len(page.model.rows) == 3, timeout=WAIT_MS)
    line = page.folders.folders.item(1).text()
    assert line.startswith(f"{drive} cannot be read (No such file or directory): bring")
    (tmp_path / "pulled").rename(drive)
    come(page, 4, qtbot)

    # closed in the midst: nothing works on, and the rows are there at once when it is opened again
    shutil.copyfile(FAULTY / "e-counting.gcode", bench / "last.gcode")
    qtbot.waitUntil(lambda: page.work.vetting or "last.gcode" in names(page), timeout=WAIT_MS)
    press(page, "Esc", qtbot)
    qtbot.waitUntil(lambda: not page.busy, timeout=WAIT_MS)
    assert page.isHidden() and page.work.process_ids == []
    page.stop_watching(str(drive))
    assert window.memory.watched == [str(bench)]
    opened_inbox(window, qtbot)
    come(page, 4, qtbot)
    assert sorted(names(page)) == ["broken.gcode", "checksum.gcode", "last.gcode", "new.gcode"]
