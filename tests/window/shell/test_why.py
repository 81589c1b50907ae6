"""The way through Why in a whole window: from a cause to its places, from a lever to a card, to another program."""

from __future__ import annotations

from pathlib import Path

from PySide6.QtWidgets import QFileDialog

from tests.window.conftest import SAMPLES, wait_until_settled
from viewer.shown.window.shell.main_window import MainWindow
from viewer.why.causes import Cause


def test_from_a_cause_to_a_card_to_another_program(window: MainWindow, qtbot, monkeypatch) -> None:
    window.open_path(SAMPLES / "drawer_glides_one_by_one.gcode")
    wait_until_settled(window, qtbot)
    state = window.state
    assert state.strip == "time"
    window.actions_by_id["arrange-why"].trigger()
    wait_until_settled(window, qtbot)
    assert state.strip == "causes" and state.cause is None
    # without a cause the keys lead through the dearest places of all
    window.actions_by_id["next-place"].trigger()
    assert state.selected == window.panes.overrun.found.places[0].dearest_move and state.evidence
    window.panes.overrun.waterfall.pressed.emit("travel")
    wait_until_settled(window, qtbot)
    assert state.cause == Cause("travel") and state.times.total_s > 0.0 and state.colouring == "cause"
    window.actions_by_id["next-place"].trigger()
    assert state.place == 0 and state.selected == state.times.places[0].dearest_move
    window.actions_by_id["all-causes"].trigger()
    assert state.cause is None and state.colouring == "role"

    levers = window.panes.levers
    names = [one.lever.name for one in levers.outcomes]
    levers.table.selectRow(names.index("print-acceleration"))
    before = state.program
    levers.try_it.click()
    wait_until_settled(window, qtbot)
    assert state.timed is not before and state.timed.timing.total_s < before.timing.total_s
    kept = levers.trial.trial["print-acceleration"] * before.printer.print_acceleration_mm_s2
    levers.trial.keep.click()
    wait_until_settled(window, qtbot)
    assert window.tool_bar.printer.currentText() == f"{before.printer.name} trial"
    assert state.trial is None and abs(state.program.printer.print_acceleration_mm_s2 - kept) < 1e-6 * kept
    assert levers.kept.isVisible()

    other = str(SAMPLES / "radiator_dial_two_tools.gcode")
    monkeypatch.setattr(QFileDialog, "getOpenFileName", lambda *_: (other, ""))
    window.actions_by_id["compare"].trigger()
    wait_until_settled(window, qtbot)
    found = window.panes.beside.found
    assert found.b.path == Path(other) and found.b.printer == state.program.printer
    assert state.areas is not None and state.areas.layer == state.layer
    assert not window.docks["beside"].visibleRegion().isEmpty()
    window.actions_by_id["arrange-check"].trigger()
    wait_until_settled(window, qtbot)
    assert state.strip == "time" and state.areas is None
