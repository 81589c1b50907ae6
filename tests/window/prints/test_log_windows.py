"""The print log in the window: noted in three actions, errors in one sentence, the pages, the spools."""

from __future__ import annotations

import os
import sqlite3
from collections.abc import Callable, Iterator
from dataclasses import replace
from datetime import datetime, timedelta
from pathlib import Path

import numpy as np
import pytest
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QPushButton, QScrollBar, QWidget
from pytestqt.qtbot import QtBot

from tests.printlog.bench import Bench
from tests.window.conftest import press, show_active, wait_until_settled
from tests.window.shell.test_accessible import controls, name_of
from viewer import sqlite_file
from viewer.cards.kinds import DEFAULTS
from viewer.errors import ReadError
from viewer.printlog.rows import Outcome, Print, Spool, SpoolState, Weighing
from viewer.printlog.schema import MIGRATIONS
from viewer.printlog.store import VARIABLE, PrintLog
from viewer.read.blocks import Source
from viewer.shown.window.prints.log_content import FIRST
from viewer.shown.window.prints.log_form import LogForm
from viewer.shown.window.prints.log_pages import LogPages
from viewer.shown.window.prints.print_form import PrintForm
from viewer.shown.window.prints.spool_forms import NewSpoolForm, WeighForm
from viewer.shown.window.shell.main_window import MainWindow

BEGUN = datetime(2026, 1, 5, 9, 0)


@pytest.fixture
def path() -> Path:
    return Path(os.environ[VARIABLE])


def noted(path: Path) -> list[Print]:
    with PrintLog(path) as log:
        return log.prints()


def spools(path: Path) -> dict[str, SpoolState]:
    with PrintLog(path) as log:
        return {state.spool.label: state for state in log.spools()}


def nameless(widget: QWidget) -> list[QWidget]:
    return [one for one in controls(widget) if not name_of(one) and not isinstance(one, QScrollBar)]


def form_of(window: MainWindow, qtbot: QtBot) -> PrintForm:
    """Open the form by its key."""
    press(window, "D", qtbot)
    form = window.commands.log.form
    assert form is not None
    wait_until_settled(window, qtbot)
    return form


# ---- a print is noted -------------------------------------------------------------------------------


def noted_in_three_actions(opened: MainWindow, path: Path, qtbot: QtBot) -> None:
    program, now = opened.state.program, datetime.now()
    assert program is not None
    form = form_of(opened, qtbot)
    assert form.focusWidget() is form.started, "the start is not known, and not made up"
    QTest.keyClick(form.started, Qt.Key.Key_Return)
    assert "when the print started" in form.took.text() and form.started.property("wrong")
    assert not path.exists()
    QTest.keyClicks(form.started, f"{now - timedelta(minutes=80):%Y-%m-%d %H:%M}")
    assert form.took.text().startswith("Took 1 h 20 min") and "than computed" in form.took.text()
    QTest.keyClick(form.started, Qt.Key.Key_Return)
    wait_until_settled(opened, qtbot)
    (one,) = noted(path)
    assert one.real_s == 4800.0 and one.outcome is Outcome.DONE and one.program == "tap_washer_tray.gcode"
    assert one.sha256 == program.sha256 and one.computed_s == program.figures.time.total_s
    assert one.charge == round(program.figures.filament.cost, 2) and 'name = "Heron"' in one.printer_card
    assert opened.commands.log.form is None
    assert "Noted: tap_washer_tray" in opened.statusBar().currentMessage()
    assert opened.state.past is not None and opened.state.past.took is not None, "the panes know it at once"
    assert opened.state.past.took.seconds == 4800.0


def test_a_spool_of_the_log_is_chosen_and_a_print_that_failed_draws_from_it(
    opened: MainWindow, path: Path, qtbot: QtBot
) -> None:
    with PrintLog(path) as log:
        log.add_spool(Spool(label="blue PLA", filament="PLA", full_g=500.0, begun=BEGUN))
        log.add_spool(Spool(label="old", filament="PLA", full_g=9.0, begun=BEGUN, emptied=BEGUN))
        log.add_spool(Spool(label="grey", filament="PETG", full_g=5.0, begun=BEGUN))
    opened.commands.log.look_at_spools()
    wait_until_settled(opened, qtbot)
    field = opened.tool_bar.spool
    assert [field.itemText(k) for k in range(field.count())] == [
        "unknown",
        "blue PLA, 500 g left",
        "grey, 5 g left",
    ]
    press(opened, "Ctrl+Shift+T", qtbot)
    QTest.keyClicks(field.lineEdit(), "grey")
    QTest.keyClick(field.lineEdit(), Qt.Key.Key_Return)
    wait_until_settled(opened, qtbot)
    assert (opened.state.spool_left_g, opened.state.spool_label, field.currentText()) == (
        5.0,
        "grey",
        "5 g, grey",
    )
    assert "PETG" in opened.banner.sentence and opened.state.report is not None
    assert "spool-short" in {one.slug for one in opened.state.report.findings}

    form = form_of(opened, qtbot)
    assert form.spool.currentData() == "grey" and form.spool.count() == 3
    assert form.layer.isHidden() or not form.layer.isVisible()
    form.outcomes[Outcome.FAILED].click()
    assert form.layer.isVisible() and form.reason.isVisible()
    form.layer.setText("12")
    form.reason.setCurrentIndex(form.reason.findData("warped"))
    form.weight.setText("4")
    form.started.setText(f"{datetime.now() - timedelta(minutes=30):%Y-%m-%d %H:%M}")
    form.for_whom.setText("bench 3")
    assert not nameless(form)
    started = form.started.text()
    for entry, wrong, right, note in (
        (form.started, "half past nine", started, form.took),
        (form.layer, "9999", "12", form.entries["layer"][1]),
        (form.weight, "heavy", "4", form.entries["weight"][1]),
    ):
        entry.setText(wrong)
        form.save.click()
        assert entry.property("wrong") and entry.hasFocus() and entry.accessibleDescription() == note.text()
        assert wrong in note.text() and note.isVisible() and form.problem.isHidden()
        assert note.mapTo(form, note.rect().topRight()).x() < form.width()
        form.grab()
        entry.setText(right)
        assert not entry.property("wrong") and (note is form.took or note.isHidden())
    assert form.took.text().startswith("Took ") and not form.took.property("wrong")
    form.save.click()
    wait_until_settled(opened, qtbot)
    (one,) = noted(path)
    assert (one.outcome, one.layer, one.reason, one.weight_g) == (Outcome.FAILED, 12, "warped", 4.0)
    assert (one.spool, one.for_whom) == ("grey", "bench 3")
    assert opened.state.spool_left_g == 1.0 and field.currentText() == "1 g, grey"


def lock(path: Path) -> Callable[[], object]:
    with PrintLog(path):
        pass
    other = sqlite3.connect(path)
    other.execute("BEGIN EXCLUSIVE")
    return other.close


def damage(path: Path) -> Callable[[], object]:
    path.write_bytes(b"no database at all, but longer than a hundred bytes" * 4)
    return path.unlink


def make_newer(path: Path) -> Callable[[], object]:
    with PrintLog(path) as log:
        log._base.execute(f"PRAGMA user_version = {len(MIGRATIONS) + 1}")
    return path.unlink


def block_folder(path: Path) -> Callable[[], object]:
    os.environ[VARIABLE] = str(path.parent / "a file" / "prints.sqlite3")
    (path.parent / "a file").write_text("")
    return (path.parent / "a file").unlink


def noted_in_two_actions_where_the_start_was_said(opened: MainWindow, path: Path, qtbot: QtBot) -> None:
    opened.state.begin_at((datetime.now() - timedelta(minutes=70)).replace(second=0, microsecond=0))
    wait_until_settled(opened, qtbot)
    form = form_of(opened, qtbot)
    assert form.focusWidget() is form.save
    QTest.keyClick(form.save, Qt.Key.Key_Return)
    wait_until_settled(opened, qtbot)
    assert noted(path)[0].started == opened.state.start


def noted_where_the_drive_was_pulled(opened: MainWindow, path: Path, qtbot: QtBot) -> None:
    program = opened.state.program
    assert program is not None
    vars(program).pop("sha256")  # it was read for the prints before

    def gone(source: Source) -> None:
        raise ReadError(f"The text of {source.path} could not be read again.")

    form = form_of(opened, qtbot)
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(Source, "again", gone)
        QTest.keyClick(form.save, Qt.Key.Key_Return)
        wait_until_settled(opened, qtbot)
    assert noted(path)[0].sha256 == "" and "without its SHA-256" in opened.banner.sentence


def told_in_one_sentence_and_noted_when_it_is_mended(
    opened: MainWindow, path: Path, qtbot: QtBot, spoil: Callable[[Path], Callable[[], object]], said: str
) -> None:
    mend = spoil(path)
    form = form_of(opened, qtbot)
    form.note.setText("kept")
    QTest.keyClick(form.focusWidget(), Qt.Key.Key_Return)
    wait_until_settled(opened, qtbot)
    assert said in form.problem.text() and "Traceback" not in form.problem.text()
    assert form.isVisible() and form.note.text() == "kept" and form.focusWidget() is form.save
    mend()
    QTest.keyClick(form.focusWidget(), Qt.Key.Key_Return)
    wait_until_settled(opened, qtbot)
    assert opened.commands.log.form is None
    assert noted(Path(os.environ[VARIABLE]))[0].note == "kept"


def test_a_print_is_noted_and_a_log_that_cannot_be_written_is_told(
    opened: MainWindow, path: Path, qtbot: QtBot, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(sqlite_file, "BUSY_S", 0.05)
    monkeypatch.setenv(VARIABLE, str(path))  # put back afterwards
    noted_in_three_actions(opened, path, qtbot)
    noted_in_two_actions_where_the_start_was_said(opened, path, qtbot)
    noted_where_the_drive_was_pulled(opened, path, qtbot)
    for spoil, said in (
        (lock, "another process"), (damage, "is damaged"), (make_newer, "newer Beadline"),
        (block_folder, "cannot be made"),
    ):  # fmt: skip
        told_in_one_sentence_and_noted_when_it_is_mended(opened, path, qtbot, spoil, said)
    press(opened, "Up", qtbot)
    assert opened.state.layer == 2
    mend = damage(path)
    os.environ[VARIABLE] = str(path)
    press(opened, "L", qtbot)
    wait_until_settled(opened, qtbot)
    pages = opened.commands.log.pages
    assert pages is not None and "is damaged" in pages.notice.text() and pages.notice.isVisible()
    mend()
    pages.read()
    wait_until_settled(opened, qtbot)
    assert not pages.notice.isVisible() and pages.prints.count.text() == "0 prints"


# ---- the pages --------------------------------------------------------------------------------------


@pytest.fixture
def pages(qtbot: QtBot, path: Path) -> Iterator[LogPages]:
    bench, chance = Bench(np.random.default_rng(3), heating=1.5, noise=0.02), np.random.default_rng(4)
    with PrintLog(path) as log:
        log.add_spool(Spool(label="blue", filament="PLA", full_g=1000.0, tare_g=200.0, begun=BEGUN))
        prints = []
        for number in range(FIRST + 20):
            one, moved = bench.print_(), timedelta(hours=7 * number)
            one = replace(
                one, started=one.started + moved, ended=one.ended + moved, printer=("Heron", "Wren")[number % 2],
                for_whom="bench 3" if number == 5 else "", note=f"number {number}", spool="blue" if number < 4 else None,
                charge=1.0, currency="EUR", uid=f"{number}",
                outcome=Outcome.STOPPED if chance.random() < 0.1 else Outcome.DONE,
            )  # fmt: skip
            prints.append(one)
        log.add(prints)
    made = LogPages(lambda: DEFAULTS["workshop"])
    qtbot.addWidget(made)
    made.read()
    show_active(made, qtbot)
    wait(made, qtbot)
    yield made
    made.end()


def wait(pages: LogPages, qtbot: QtBot) -> None:
    qtbot.waitUntil(lambda: not pages.busy, timeout=60_000)
    QApplication.processEvents()
    qtbot.waitUntil(lambda: not pages.busy, timeout=60_000)


def answer(pages: LogPages, word: str, qtbot: QtBot) -> None:
    """Press a button of the question that is open."""
    assert pages.question is not None
    next(button for button in pages.question.buttons() if button.text() == word).click()
    wait(pages, qtbot)
    assert pages.question is None


def save(pages: LogPages, kind: type[LogForm], texts: dict[str, str], qtbot: QtBot) -> None:
    """Fill the form that is open, and save."""
    form = pages.form
    assert isinstance(form, kind)
    for name, text in texts.items():
        getattr(form, name).setText(text)
    form.save.click()
    wait(pages, qtbot)
    assert pages.form is None


def test_prints_are_found_sorted_changed_and_deleted(
    pages: LogPages, path: Path, qtbot: QtBot, tmp_path: Path
) -> None:
    tab, total = pages.prints, FIRST + 20
    assert tab.count.text() == f"{total} prints" and tab.model.rowCount() == total
    assert not nameless(pages.tabs)
    tab.words.setText("BENCH 3")
    wait(pages, qtbot)
    assert tab.count.text() == f"1 of {total} prints" and tab.model.rows[0].note == "number 5"
    tab.table.choose(0)
    QTest.keyClick(tab.table, Qt.Key.Key_Delete)
    answer(pages, "Keep it", qtbot)
    tab.delete.click()
    answer(pages, "Delete only for whom it was", qtbot)
    assert (
        tab.model.rowCount() == 0
        and len(noted(path)) == total
        and not any(one.for_whom for one in noted(path))
    )
    tab.words.setText("number 31 heron")
    tab.words.setText("number 310")
    wait(pages, qtbot)
    QTest.keyClick(tab.table, Qt.Key.Key_Return)
    wait(pages, qtbot)
    save(pages, PrintForm, {"note": "number 310, weighed", "weight": "7.5"}, qtbot)
    assert [one.note for one in tab.model.rows] == ["number 310, weighed"] and tab.model.rows[
        0
    ].drawn_g == 7.5
    tab.delete.click()
    answer(pages, "Delete the print", qtbot)
    assert len(noted(path)) == total - 1
    tab.words.clear()
    tab.printer.setCurrentIndex(tab.printer.findData("Wren"))
    tab.table.horizontalHeader().setSortIndicator(4, Qt.SortOrder.AscendingOrder)
    wait(pages, qtbot)
    times = [one.real_s for one in tab.model.rows]
    assert times == sorted(times) and {one.printer for one in tab.model.rows} == {"Wren"}

    table = tmp_path / "prints.csv"
    pages.take_out(table)
    wait(pages, qtbot)
    assert len(table.read_text().splitlines()) >= total and "Saved as" in pages.notice.text()
    pages.take_in(table)
    wait(pages, qtbot)
    assert f"0 of {total - 1} prints were new" in pages.notice.text()
    pages.take_in(tmp_path / "none.csv")
    wait(pages, qtbot)
    assert "cannot be read" in pages.notice.text()


def test_estimates_outcomes_months_and_spools(pages: LogPages, path: Path, qtbot: QtBot) -> None:
    tab = pages.estimates
    done = sum(one.outcome is Outcome.DONE and one.printer == "Heron" for one in noted(path))
    assert tab.printer.currentText() == f"Heron, {done} prints done" and len(tab.plot.chart.points) == done
    assert "warming rates" in tab.words.text() and "lie in their interval" in tab.words.text()
    pages.tabs.setCurrentWidget(tab)
    pages.prints.words.setText("no such words")
    QTest.keyClick(tab.plot, Qt.Key.Key_Right)
    point = tab.plot.chart.points[0]
    assert f"Print {point.number}:" in tab.plot.accessibleDescription()
    qtbot.mouseClick(
        tab.plot, Qt.MouseButton.LeftButton, pos=tab.plot.place_of(tab.plot.chart.points[-1]).toPoint()
    )
    assert tab.plot.at >= done - 5
    QTest.keyClick(tab.plot, Qt.Key.Key_Return)
    wait(pages, qtbot)
    assert pages.tabs.currentWidget() is pages.prints and pages.prints.chosen is not None
    assert pages.prints.chosen.number == tab.plot.chart.points[tab.plot.at].number

    rows = pages.outcomes.model.rows
    assert [(one.printer, one.filament) for one in rows] == [("Heron", "PLA"), ("Wren", "PLA")] and rows[
        0
    ].done == done
    assert sum(one.prints for one in pages.months.model.rows) == FIRST + 20
    assert pages.months.model.index(0, 5).data().endswith(".00 EUR")
    for shown in (pages.outcomes, pages.months, pages.spools):
        pages.tabs.setCurrentWidget(shown)
        assert not pages.grab().isNull()

    spool = pages.spools
    assert spool.chosen is not None and spool.chosen.left_g == pytest.approx(1000.0 - 4 * 12.5)
    for gross, after in (("1200", "was weighed"), ("1140", "")):
        with PrintLog(path) as log:
            log.weigh(Weighing("blue", BEGUN + timedelta(days=0 if after else 300), float(gross)))
    pages.read()
    wait(pages, qtbot)
    assert "120 % of what was computed" in spool.about.text()
    spool.weigh.click()
    save(pages, WeighForm, {"gross": "1.1 kg"}, qtbot)
    assert spools(path)["blue"].left_g == pytest.approx(900.0)
    spool.end.click()
    wait(pages, qtbot)
    assert spools(path)["blue"].spool.emptied is not None and spool.end.text() == "It is in use"
    spool.new.click()
    form = pages.form
    assert isinstance(form, NewSpoolForm)
    form.save.click()
    assert "needs a label" in form.problem.text()
    save(pages, NewSpoolForm, {"label": "green", "full": "750 g", "tare": "180"}, qtbot)
    assert spools(path)["green"].spool.tare_g == 180.0
    spool.table.choose(0)
    spool.delete.click()
    answer(pages, "Delete the spool", qtbot)
    assert set(spools(path)) == {"green"}
    assert all(
        isinstance(button, QPushButton) and not button.isDefault() for button in (spool.new, spool.delete)
    )
