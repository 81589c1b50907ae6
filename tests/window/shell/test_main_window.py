"""The window as a person uses it: dropping, choosing, closing and coming back."""

import csv
import subprocess
import sys
import time
from pathlib import Path

import pytest
from PySide6.QtCore import QMimeData, QPoint, QPointF, QSettings, Qt, QUrl
from PySide6.QtGui import QDragEnterEvent, QDropEvent
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QFileDialog, QInputDialog, QPushButton

from tests.window.conftest import SAMPLES, WAIT_MS, wait_until_active, wait_until_settled
from viewer.cards import load_filament, write_card
from viewer.errors import Stopped
from viewer.program import open_program
from viewer.shown.rows import program_rows
from viewer.shown.window.card_form.form import CardForm
from viewer.shown.window.shell import opening
from viewer.shown.window.shell.main_window import MainWindow
from viewer.shown.window.shell.memory import Memory
from viewer.shown.window.shell.recent.entry import Entry
from viewer.shown.window.shell.start_page import CAUTION, samples_folder
from viewer.shown.window.shell.start_page import SAMPLES as SAMPLE_TEXTS


def drop(target, *paths: Path, proposed=Qt.DropAction.CopyAction) -> Qt.DropAction | None:
    """Drop files on a widget as the window system does; tells as what they were taken, None: not at all."""
    data = QMimeData()
    data.setUrls([QUrl.fromLocalFile(str(path)) for path in paths])
    at, left, plain = QPoint(20, 20), Qt.MouseButton.LeftButton, Qt.KeyboardModifier.NoModifier
    offered = Qt.DropAction.CopyAction | Qt.DropAction.MoveAction
    enter = QDragEnterEvent(at, offered, data, left, plain)
    enter.setDropAction(proposed)
    enter.ignore()
    QApplication.sendEvent(target, enter)
    if not enter.isAccepted():
        return None
    dropped = QDropEvent(QPointF(at), offered, data, left, plain)
    dropped.setDropAction(proposed)
    QApplication.sendEvent(target, dropped)
    assert dropped.dropAction() == enter.dropAction()
    return dropped.dropAction()


def banner_button(window: MainWindow, words: str) -> QPushButton:
    return next(
        button
        for button in window.banner.findChildren(QPushButton)
        if button.text() == words and button.isVisible()
    )


def recent_on_first_page(window: MainWindow) -> list[str]:
    found = [
        entry
        for entry in window.start.findChildren(Entry)
        if entry.accessibleDescription().endswith(str(SAMPLES))
    ]
    return [entry.accessibleName() for entry in found if not entry.isHidden()]


# ---- the first page


def test_the_first_page_offers_samples_and_a_word_of_caution(window):
    assert window.stack.currentWidget() is window.start
    entries = [entry.accessibleName() for entry in window.start.findChildren(Entry)]
    assert entries == list(SAMPLE_TEXTS)
    assert samples_folder() is not None
    assert "hot" in CAUTION and "manual" in CAUTION and "safe" not in CAUTION
    assert all(dock.isHidden() for dock in window.docks.values())


def test_a_click_on_a_sample_opens_it(window, qtbot):
    entry = next(
        entry for entry in window.start.findChildren(Entry) if entry.accessibleName().startswith("coat")
    )
    qtbot.mouseClick(entry, Qt.MouseButton.LeftButton)
    wait_until_settled(window, qtbot)
    assert window.windowTitle() == "coat_hook_pause.gcode – Beadline"
    assert window.stack.currentWidget() is window.panes.plot
    assert not window.docks["findings"].isHidden()


def test_samples_are_reached_by_keyboard_alone(window, qtbot):
    wait_until_active(window, qtbot)
    window.start.open_button.setFocus()
    for _ in range(20):
        focus = QApplication.focusWidget()
        if isinstance(focus, Entry):
            break
        QTest.keyClick(focus, Qt.Key.Key_Tab)
    QTest.keyClick(QApplication.focusWidget(), Qt.Key.Key_Space)
    wait_until_settled(window, qtbot)
    assert window.state.program is not None


def test_back_to_the_first_page_and_the_docks_come_back_as_they_were(opened, qtbot):
    opened.docks["strip"].hide()
    opened.show_dock("ledger")
    before = {name for name, dock in opened.docks.items() if not dock.isHidden()}
    opened.actions_by_id["start-page"].trigger()
    assert opened.stack.currentWidget() is opened.start
    assert opened.windowTitle() == "Beadline"
    assert all(dock.isHidden() for dock in opened.docks.values())
    assert opened.summary.text() == ""
    assert recent_on_first_page(opened) == ["tap_washer_tray.gcode"]
    opened.open_path(SAMPLES / "coat_hook_pause.gcode")
    wait_until_settled(opened, qtbot)
    assert {name for name, dock in opened.docks.items() if not dock.isHidden()} == before


# ---- ways to open


@pytest.mark.parametrize("proposed", [Qt.DropAction.CopyAction, Qt.DropAction.MoveAction])
def test_a_dropped_file_is_opened_and_stays_where_it_is(window, qtbot, proposed):
    taken_as = drop(window, SAMPLES / "tap_washers_bare.gcode", proposed=proposed)
    assert taken_as == Qt.DropAction.CopyAction  # who moves a file deletes the old one
    wait_until_settled(window, qtbot)
    assert window.state.program.path.name == "tap_washers_bare.gcode"
    assert window.state.layer == 1


def test_of_several_dropped_files_the_first_is_opened_and_that_is_said(window, qtbot):
    drop(window, SAMPLES / "tap_washers_bare.gcode", SAMPLES / "coat_hook_pause.gcode")
    assert "2 files" in window.banner.sentence
    wait_until_settled(window, qtbot)
    assert window.state.program.path.name == "tap_washers_bare.gcode"


def test_text_that_is_dropped_is_not_taken(window):
    data = QMimeData()
    data.setText("G1 X10")
    enter = QDragEnterEvent(
        QPoint(5, 5),
        Qt.DropAction.CopyAction,
        data,
        Qt.MouseButton.LeftButton,
        Qt.KeyboardModifier.NoModifier,
    )
    enter.ignore()
    QApplication.sendEvent(window, enter)
    assert not enter.isAccepted()


def test_the_dialog_opens_what_was_chosen_in_it(window, qtbot, monkeypatch):
    asked = []

    def answer(_parent, _title, folder, _kinds):
        asked.append(folder)
        return str(SAMPLES / "tap_washers_bare.gcode"), ""

    monkeypatch.setattr(QFileDialog, "getOpenFileName", answer)
    wait_until_active(window, qtbot)
    QTest.keyClick(window, Qt.Key.Key_O, Qt.KeyboardModifier.ControlModifier)
    wait_until_settled(window, qtbot)
    assert window.state.program.path.name == "tap_washers_bare.gcode"
    window.actions_by_id["open"].trigger()
    assert asked[-1] == str(SAMPLES), "the dialog begins where the last program lay"


def test_programs_opened_lately_are_listed_the_newest_first(window, qtbot, monkeypatch):
    for name in ("tap_washers_bare", "coat_hook_pause", "tap_washers_bare"):
        window.open_path(SAMPLES / f"{name}.gcode")
        wait_until_settled(window, qtbot)
    assert [path.stem for path in window.memory.recent] == ["tap_washers_bare", "coat_hook_pause"]
    monkeypatch.setattr(QInputDialog, "getItem", lambda *args, **_more: (args[3][1], True))
    window.actions_by_id["open-recent"].trigger()
    wait_until_settled(window, qtbot)
    assert window.state.program.path.stem == "coat_hook_pause"


def test_a_bad_file_leaves_the_program_on_show(opened, tmp_path, qtbot):
    opened.state.show_layer(9)
    bad = tmp_path / "bad.gcode"
    bad.write_bytes(b"")
    opened.open_path(bad)
    wait_until_settled(opened, qtbot)
    assert "bad.gcode is empty" in opened.banner.sentence
    assert "tap_washer_tray.gcode stays on show" in opened.banner.sentence
    assert opened.state.layer == 9
    assert opened.veil.isVisible()  # what is on show is not what was asked for
    parts = opened.veil.covered()
    assert len(parts) == 1 + sum(dock.isVisible() for dock in opened.docks.values())
    below = opened.childAt(opened.panes.plot.mapTo(opened, opened.panes.plot.rect().center()))
    assert opened.panes.plot.isAncestorOf(below)  # the mouse goes through
    opened.banner.clear_all()
    assert not opened.veil.isVisible()
    assert "Try again" not in {button.text() for button in opened.banner.findChildren(QPushButton)}
    bad.unlink()
    opened.open_path(bad)
    wait_until_settled(opened, qtbot)
    assert opened.veil.isVisible()
    bad.write_bytes((SAMPLES / "tap_washers_bare.gcode").read_bytes())
    qtbot.mouseClick(banner_button(opened, "Try again"), Qt.MouseButton.LeftButton)
    wait_until_settled(opened, qtbot)
    assert opened.state.program.path == bad
    assert opened.banner.sentence == "" and not opened.veil.isVisible()


def test_a_bad_file_at_first_leads_back_to_the_first_page(window, tmp_path, qtbot):
    window.open_path(tmp_path / "nothing.gcode")
    assert window.stack.currentWidget() is window.waiting
    assert "nothing.gcode" in window.waiting.words
    wait_until_settled(window, qtbot)
    assert window.stack.currentWidget() is window.start
    assert "does not exist" in window.banner.sentence
    assert window.memory.recent == []


def test_reading_again_keeps_the_layer(opened, qtbot):
    opened.state.show_layer(17)
    QTest.keyClick(opened, Qt.Key.Key_F5)
    wait_until_settled(opened, qtbot)
    assert opened.state.layer == 17


# ---- at rest or not


def test_the_window_is_busy_until_all_that_was_asked_for_is_shown(window, qtbot):
    state, ends = window.state, []
    assert not window.busy
    window.opening.loader.ended.connect(lambda: ends.append(window.busy))
    window.open_path(SAMPLES / "tap_washer_tray.gcode")
    assert window.busy
    wait_until_settled(window, qtbot)
    assert ends == [True], "when all is read and checked, findings still have to be shown"
    panes = window.panes
    assert window._pane_docks.standing and all(
        part.updatesEnabled() for part in (window, *window._pane_docks._parts)
    )
    assert panes.plot._drawn.request.number == state.layer
    assert len(panes.findings.entries) >= len(state.report.findings)


@pytest.mark.parametrize(
    "ask",
    [
        lambda window: window.state.show_layer(9),
        lambda window: window.state.colour_by("speed"),
        lambda window: window.panes.plot.zoom(2.0),
        lambda window: window.panes.program.find("G28"),
        lambda window: window.actions_by_id["play"].trigger(),
        lambda window: window.opening.use_cards(),
    ],
    ids=["another layer", "other colours", "zoom", "search", "play", "cards"],
)
def test_whatever_is_asked_for_makes_the_window_busy(opened, qtbot, ask):
    assert not opened.busy
    ask(opened)
    assert opened.busy
    opened.state.play(0.0)
    wait_until_settled(opened, qtbot)


# ---- odd programs


def test_a_program_without_beads_says_so(window, tmp_path, qtbot):
    path = tmp_path / "nothing.gcode"
    path.write_text("G28\nG1 X10 Y10 F6000\nM84\n")
    window.open_path(path)
    wait_until_settled(window, qtbot)
    assert (window.state.layers, window.state.layer) == (0, 0)
    assert "lays no filament" in window.banner.sentence
    for name in ("next-layer", "last-layer", "next-bead", "slowest-layer", "play", "fit-part", "whole-layer"):
        window.actions_by_id[name].trigger()
    wait_until_settled(window, qtbot)
    assert window.state.layer == 0


def test_a_program_of_one_bead(window, tmp_path, qtbot):
    path = tmp_path / "one.gcode"
    path.write_text("G28\nM83\nG1 Z0.2 F600\nG1 X10 Y10 F6000\nG1 X30 E0.7 F1200\n")
    window.open_path(path)
    wait_until_settled(window, qtbot)
    assert window.state.layers == 1
    window.actions_by_id["next-bead"].trigger()
    assert window.state.program.moves.line[window.state.selected] == 5
    window.actions_by_id["next-bead"].trigger()
    window.actions_by_id["play"].trigger()
    assert window.state.playing
    wait_until_settled(window, qtbot)  # played to its end
    assert not window.state.playing
    window.grab()


def test_fifty_thousand_layers(window, tmp_path, qtbot):
    path = tmp_path / "tower.gcode"
    lines = ["G28", "M83"]
    for k in range(50_000):
        lines += [f"G1 Z{0.2 + 0.01 * k:.2f} F600", "G1 X20 E0.1 F1200", "G1 X10 E0.1"]
    path.write_text("\n".join(lines))
    window.open_path(path)
    qtbot.waitUntil(lambda: window.state.program is not None and not window.state.partial, timeout=WAIT_MS)
    window.opening.cancel()  # the checks of so many layers take longer than all else here
    wait_until_settled(window, qtbot)
    assert window.state.layers == 50_000
    window.actions_by_id["last-layer"].trigger()
    assert window.state.layer == 50_000
    wait_until_settled(window, qtbot)
    window.grab()


# ---- what is said


def test_the_summary_says_what_the_figures_say(opened):
    texts = {row.name: row.text for row in program_rows(opened.state.program)}
    words = opened.summary.text()
    figures = opened.state.program.figures
    assert str(round(figures.time.total_s // 60 % 60)) in words
    assert texts["mass"] in words
    assert f"{figures.filament.cost:.2f}" in words
    assert figures.filament.currency in words


def test_progress_is_shown_and_goes_away(window, qtbot):
    window.open_path(SAMPLES / "tap_washer_tray.gcode")
    assert window.work.isVisible()
    assert "tap_washer_tray.gcode" in window.work.stage.text()
    assert window.actions_by_id["cancel"].isEnabled()
    wait_until_settled(window, qtbot)
    assert not window.work.isVisible()
    assert not window.actions_by_id["cancel"].isEnabled()


def test_the_stop_button_stops(window, qtbot):
    window.open_path(SAMPLES / "tap_washer_tray.gcode")
    qtbot.mouseClick(window.work.stop, Qt.MouseButton.LeftButton)
    assert not window.opening.loader.busy
    assert window.stack.currentWidget() is window.start
    assert "was stopped" in window.banner.sentence
    qtbot.mouseClick(banner_button(window, "Read it"), Qt.MouseButton.LeftButton)
    wait_until_settled(window, qtbot)
    assert window.state.program is not None


def test_stopped_checks_can_be_run_again(window, qtbot):
    window.open_path(SAMPLES / "tap_washer_tray.gcode")
    qtbot.waitUntil(lambda: window.state.program is not None, timeout=WAIT_MS)
    window.opening.cancel()
    if window.state.report is None:
        assert "checks were stopped" in window.banner.sentence
        assert "The checks ended early" in window.panes.findings._status.text()
        qtbot.mouseClick(banner_button(window, "Check again"), Qt.MouseButton.LeftButton)
        wait_until_settled(window, qtbot)
    assert window.state.report is not None


def test_panes_do_not_wait_in_vain_for_what_was_stopped(window, qtbot, monkeypatch):
    path, beginnings = SAMPLES / "tap_washer_tray.gcode", []

    def begun(path, *cards_and_stop):
        beginnings.append(open_program(path, *cards_and_stop[:3]))
        return beginnings[-1]

    def never_ends(*arguments):
        stop = arguments[-1]
        while not stop():
            time.sleep(0.01)
        raise Stopped

    def said():
        panes = window.panes
        panes.stats.rows()  # brings what is outdated
        return (panes.findings._status.text(), panes.stats.sentences["program"].text(),
                panes.plot._notice.text())  # fmt: skip

    with monkeypatch.context() as patched:
        patched.setattr("viewer.program.preview", begun)
        patched.setattr("viewer.program.open_program", never_ends)
        window.open_path(path)
        qtbot.waitUntil(lambda: window.state.partial, timeout=WAIT_MS)
        qtbot.waitUntil(lambda: "Still reading" in said()[2], timeout=5_000)
        assert not any("ended early" in words for words in said())
        window.actions_by_id["cancel"].trigger()
        assert not window.opening.loader.busy
        assert all("F5" in words and "ended early" in words for words in said()[:2])
        assert said()[2].startswith("Reading was stopped")
        window.banner.clear()
        window.open_path(path)
        assert not any("ended early" in words for words in said())
        window.actions_by_id["cancel"].trigger()
    window.actions_by_id["open-again"].trigger()
    wait_until_settled(window, qtbot)
    assert not window.state.partial
    assert window.state.report is not None
    assert not any("ended early" in words or "stopped" in words for words in said())


def test_the_window_is_there_before_numpy_and_the_compiler_are_imported():
    script = (
        "import sys\n"
        "import viewer.shown.window.app, viewer.shown.window.shell.main_window\n"
        "print(sorted({'numpy', 'numba', 'pyqtgraph'} & set(sys.modules)))\n"
    )
    done = subprocess.run([sys.executable, "-c", script], check=True, capture_output=True, text=True)
    assert done.stdout.strip() == "[]"


def test_getting_ready_is_nothing_to_stop(window, qtbot):
    window.opening.prepare()
    assert window.opening.loader.busy
    assert not window.actions_by_id["cancel"].isEnabled()
    wait_until_settled(window, qtbot)


def test_return_does_what_a_remedy_says(window, qtbot):
    said = []
    window.banner.say("file", "warn", "Something is to be done.", ("Do it", lambda: said.append("done")))
    window.banner.go_to()
    QTest.keyClick(window.focusWidget(), Qt.Key.Key_Return)
    assert said == ["done"]
    assert not window.banner.sentence


def test_a_slow_start_is_not_laid_on_the_drive(window, qtbot, monkeypatch):
    monkeypatch.setattr(opening, "kernels_are_cached", lambda: True)
    monkeypatch.setattr(window.opening.loader, "busy", True)
    window.opening.loader.is_prepared = False
    window.opening._explain_wait()
    assert window.waiting.words == ""
    window.opening.loader.prepared.emit()
    assert window.opening._long_wait.isActive()
    window.opening._long_wait.stop()


def test_a_long_wait_is_explained(window, qtbot, monkeypatch):
    import threading

    go_on = threading.Event()
    monkeypatch.setattr("viewer.program.preview", lambda *_args: go_on.wait(30) and None)
    window.open_path(SAMPLES / "tap_washers_bare.gcode")
    qtbot.waitUntil(lambda: "longer than usual" in window.waiting.words, timeout=10_000)
    window.actions_by_id["text-larger"].trigger()  # the window is usable meanwhile
    go_on.set()
    wait_until_settled(window, qtbot)
    assert window.state.program is not None


# ---- cards


def test_another_filament_changes_the_figures(opened, qtbot):
    before = opened.summary.text()
    choice = opened.tool_bar.filament
    at = choice.findText("PETG")
    assert at >= 0
    wait_until_active(opened, qtbot)
    choice.setFocus()
    QTest.keyClick(choice, Qt.Key.Key_Space)
    choice.view().setCurrentIndex(choice.model().index(at, 0))
    QTest.keyClick(choice.view(), Qt.Key.Key_Return)
    wait_until_settled(opened, qtbot)
    assert opened.state.program.filament.name == "PETG"
    assert opened.summary.text() != before
    assert opened.memory.card("filament") == "petg"


def test_another_printer_is_used_for_the_next_program_too(opened, qtbot):
    opened.tool_bar.printer.setCurrentIndex(opened.tool_bar.printer.findText("Wren"))
    opened.tool_bar.printer.activated.emit(opened.tool_bar.printer.currentIndex())
    wait_until_settled(opened, qtbot)
    assert opened.state.program.printer.name == "Wren"
    opened.open_path(SAMPLES / "coat_hook_pause.gcode")
    wait_until_settled(opened, qtbot)
    assert opened.state.program.printer.name == "Wren"


def test_a_card_named_wrongly_on_the_command_line_is_said(window):
    window.choose_cards("hreon", None, None)
    assert "hreon" in window.banner.sentence
    assert window.cards.printer == "heron"


def test_cards_elsewhere_may_be_named(window, tmp_path, qtbot):
    path = tmp_path / "mine.toml"
    write_card(load_filament("petg"), path)
    window.choose_cards("Dipper", str(path), None)
    assert window.tool_bar.printer.currentText() == "Dipper"
    window.open_path(SAMPLES / "tap_washers_bare.gcode")
    wait_until_settled(window, qtbot)
    assert window.state.program.filament.name == "PETG"
    assert window.state.program.printer.name == "Dipper"


def test_the_form_opens_with_the_chosen_card(opened, qtbot):
    opened.actions_by_id["edit-filament"].trigger()
    form = opened.findChild(CardForm)
    assert form is not None and form.isVisible()
    assert form.card.name == "PLA"
    QTest.keyClick(form, Qt.Key.Key_Escape)
    qtbot.waitUntil(lambda: opened.findChild(CardForm) is None)


def test_the_last_entry_of_a_choice_opens_the_form_and_chooses_nothing(opened, qtbot):
    choice = opened.tool_bar.printer
    last = choice.count() - 1
    assert choice.itemText(last).startswith("Edit")
    choice.setCurrentIndex(last)
    choice.activated.emit(last)
    form = opened.findChild(CardForm)
    assert form is not None and form.kind == "printer"
    assert choice.currentText() == "Heron"
    form.reject()


# ---- saving


def test_figures_picture_and_sheet_are_saved(opened, tmp_path, monkeypatch, qtbot):
    def saved(name: str, action: str) -> Path:
        path = tmp_path / name
        monkeypatch.setattr(QFileDialog, "getSaveFileName", lambda *_args: (str(path), ""))
        opened.actions_by_id[action].trigger()
        assert opened.banner.sentence == ""
        assert str(path) in opened.statusBar().currentMessage()
        return path

    with saved("figures.csv", "export-figures").open(newline="", encoding="utf-8") as file:
        table = list(csv.reader(file))
    assert any("mass" in row for row in table)
    assert saved("picture.png", "save-picture").read_bytes().startswith(b"\x89PNG")
    assert b"<svg" in saved("picture.svg", "save-picture").read_bytes()
    assert saved("sheet.pdf", "save-sheet").read_bytes().startswith(b"%PDF")
    assert "Job sheet" in saved("sheet.html", "save-sheet").read_text(encoding="utf-8")


@pytest.mark.parametrize("action", ["export-figures", "save-picture", "save-sheet"])
def test_what_cannot_be_saved_is_said(opened, tmp_path, monkeypatch, action):
    path = tmp_path / "no such folder" / "out.pdf"
    monkeypatch.setattr(QFileDialog, "getSaveFileName", lambda *_args: (str(path), ""))
    opened.actions_by_id[action].trigger()
    assert str(path) in opened.banner.sentence
    assert not path.exists()


def test_the_copied_picture_is_on_the_clipboard(opened, qapp):
    qapp.clipboard().clear()
    opened.actions_by_id["copy-picture"].trigger()
    assert not qapp.clipboard().image().isNull()


# ---- coming back


def test_everything_is_where_it_was(make_window, qtbot):
    first = make_window()
    first.open_path(SAMPLES / "tap_washers_bare.gcode")
    wait_until_settled(first, qtbot)
    first.docks["findings"].hide()
    first.show_dock("stats")
    first.addDockWidget(Qt.DockWidgetArea.LeftDockWidgetArea, first.docks["stats"])
    first.state.colour_by("flow")
    first.state.show_quantity("peak flow")
    first.state.show_part("travel", False)
    first.actions_by_id["look-dark"].trigger()
    first.actions_by_id["text-larger"].trigger()
    first.resize(1100, 740)
    scale = first.theme.scale
    first.close()
    again = make_window()
    assert again.theme.look == "dark"
    assert again.theme.scale == scale > 1.0
    assert (again.state.colouring, again.state.strip) == ("flow", "peak flow")
    assert "travel" not in again.state.shown
    assert recent_on_first_page(again) == ["tap_washers_bare.gcode"]
    again.open_path(SAMPLES / "tap_washers_bare.gcode")
    wait_until_settled(again, qtbot)
    assert again.docks["findings"].isHidden()
    assert again.dockWidgetArea(again.docks["stats"]) == Qt.DockWidgetArea.LeftDockWidgetArea
    again.actions_by_id["arrange"].trigger()
    assert again.dockWidgetArea(again.docks["stats"]) == Qt.DockWidgetArea.RightDockWidgetArea
    assert not again.docks["findings"].isHidden()


def test_a_spoilt_settings_file_is_no_obstacle(make_window, settings_file, qtbot):
    settings_file.write_bytes(
        b"[General]\nlook=purple\ntext_scale=huge\ncolouring=7\nstrip=\ngeometry=1\ndocks=2\n"
        b"[recent]\nsize=oops\n[cards]\nprinter=gone\n"
    )
    window = make_window()
    assert (window.theme.look, window.theme.scale, window.state.colouring) == ("system", 1.0, "role")
    assert window.memory.recent == []
    assert window.tool_bar.printer.currentText() == "Heron"
    window.open_path(SAMPLES / "tap_washers_bare.gcode")
    wait_until_settled(window, qtbot)
    assert not window.docks["findings"].isHidden() and not window.docks["strip"].isHidden()


def test_ten_programs_are_remembered_at_most(settings_file):
    memory = Memory(QSettings(str(settings_file), QSettings.Format.IniFormat))
    for k in range(14):
        memory.opened(Path(f"/jobs/{k}.gcode"))
    assert [path.stem for path in memory.recent] == [str(k) for k in range(13, 3, -1)]


def test_the_system_turning_dark_turns_the_window_dark(window, qapp, monkeypatch):
    assert window.theme.look == "system"
    before = window.palette().window().color().lightness()
    monkeypatch.setattr(type(window.theme), "dark", property(lambda _self: True))
    qapp.styleHints().colorSchemeChanged.emit(Qt.ColorScheme.Dark)
    assert window.palette().window().color().lightness() < 80 < before


@pytest.mark.parametrize("scale_steps", [0, 5])
def test_nothing_of_the_tool_bar_is_lost_at_the_usual_size(opened, scale_steps, qtbot):
    """With text twice as large the bar may fold its end away, but the window must not grow beyond its size."""
    for _ in range(scale_steps):
        opened.theme.resize_text(1)
    wait_until_settled(opened, qtbot)
    assert opened.width() <= 1280
    if scale_steps == 0:
        assert opened.tool_bar.filament.isVisible()
        right = opened.tool_bar.filament.mapTo(opened, QPoint(opened.tool_bar.filament.width(), 0)).x()
        assert right <= opened.width()


def test_many_programs_lead_to_the_inbox(window, tmp_path, qtbot):
    """From the first page, by a folder that is dropped, and from the line about files that were dropped."""
    inbox, here, there = window.commands.inbox, tmp_path / "here", tmp_path / "there"
    for folder in (here, there):
        folder.mkdir()
    qtbot.mouseClick(window.start.inbox_button, Qt.MouseButton.LeftButton)
    assert inbox.page is not None and inbox.page.isVisible() and inbox.page.watched == []
    inbox.page.close()

    drop(window, here)
    assert inbox.page.isVisible() and inbox.page.watched == [str(here)] == window.memory.watched
    assert window.state.program is None
    inbox.page.close()

    files = [there / "two\nlines.gcode", there / "b.gcode"]
    for path in files:
        path.write_text("")
    drop(window, *files)
    qtbot.mouseClick(banner_button(window, "Watch their folder"), Qt.MouseButton.LeftButton)
    assert inbox.page.watched == [str(here), str(there)]
    wait_until_settled(window, qtbot)
