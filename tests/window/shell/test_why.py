"""The way through Why in a whole window: from a cause to its places, from a lever to a card, to another program."""

from __future__ import annotations

from pathlib import Path

from PySide6.QtWidgets import QFileDialog

from tests.window.conftest import wait_until_settled
from viewer.shown.window.shell.main_window import MainWindow
from viewer.why.causes import Cause


def squares(path: Path, sides: tuple[int, ...]) -> Path:
    """Write a program of six layers of squares of some sides, mm, beside each other: a plate of washers' spacers."""
    lines = ["; Quayside Repair Workshop: spacers, printer Heron", "G28", "M83", "M104 S205", "M109 S205"]
    for layer in range(6):
        lines += [f";LAYER:{layer}", f"G1 Z{0.2 * (layer + 1):.1f} F600"]
        for k, side in enumerate(sides):
            x, y, fed = 20 + 40 * k, 60, 0.0332 * side
            lines += [f"G0 X{x} Y{y} F9000", ";TYPE:WALL-OUTER"]
            corners = ((x + side, y), (x + side, y + side), (x, y + side), (x, y))
            lines += [f"G1 X{a} Y{b} E{fed:.4f} F3000" for a, b in corners]
    path.write_text("\n".join([*lines, "M104 S0", "M84", ""]), encoding="ascii")
    return path


def test_from_a_cause_to_a_card_to_another_program(
    window: MainWindow, qtbot, monkeypatch, tmp_path: Path
) -> None:
    window.open_path(squares(tmp_path / "spacers.gcode", (20, 24, 20)))
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

    other = str(squares(tmp_path / "fewer.gcode", (20, 24)))
    monkeypatch.setattr(QFileDialog, "getOpenFileName", lambda *_: (other, ""))
    window.actions_by_id["compare"].trigger()
    wait_until_settled(window, qtbot)
    found = window.panes.beside.found
    assert found.b.path == Path(other) and found.b.printer == state.program.printer
    assert state.areas is not None and state.areas.layer == state.layer and not state.areas.alike
    assert not window.docks["beside"].visibleRegion().isEmpty()
    window.actions_by_id["arrange-check"].trigger()
    wait_until_settled(window, qtbot)
    assert state.strip == "time" and state.areas is None
