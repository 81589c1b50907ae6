"""Time ledger: bars and table add up to the ledger, say so in words, and fit at any width."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from PySide6.QtCore import QPoint, Qt
from PySide6.QtWidgets import QToolTip

from tests.window.conftest import move_to, show_active
from viewer import open_program
from viewer.program import Program
from viewer.shown.cause_words import GROUP_OF
from viewer.shown.numbers import duration_text, share_text
from viewer.shown.window.ledger.ledger_bar import PATTERNS, cause_icon
from viewer.shown.window.ledger.ledger_pane import LedgerPane
from viewer.shown.window.ledger.ledger_parts import THIN, bar_parts
from viewer.shown.window.model.view_state import ViewState
from viewer.shown.window.style.inks import inks_of
from viewer.timing import CAUSES
from viewer.why.causes import Cause, held_by_limit, times_of_cause
from viewer.why.trials import under_trial

SAMPLES = Path(__file__).parents[3] / "sample_programs"


def shown(qtbot, program: Program | None, width: int = 600) -> tuple[ViewState, LedgerPane]:
    state = ViewState()
    pane = LedgerPane(state)
    qtbot.addWidget(pane)
    pane.resize(width, 420)
    state.show_program(program)
    show_active(pane, qtbot)
    pane.grab()
    return state, pane


def table(pane: LedgerPane) -> list[list[str]]:
    model = pane.model
    return [
        [model.data(model.index(r, c)) for c in range(model.columnCount())] for r in range(model.rowCount())
    ]


def test_every_cause_has_a_look_of_its_own():
    assert set(PATTERNS) == set(CAUSES) == set(GROUP_OF)
    assert len({(GROUP_OF[cause], PATTERNS[cause]) for cause in CAUSES}) == len(CAUSES)


def test_squares_differ_in_grey_too(qtbot):
    """Within a group the pattern tells causes apart where colour cannot: grey pictures differ pixel by pixel."""
    from PySide6.QtGui import QImage
    from PySide6.QtWidgets import QWidget

    widget = QWidget()
    qtbot.addWidget(widget)
    inks, grey = inks_of(widget.palette()), {}
    for cause in CAUSES:
        image = (
            cause_icon(cause, inks, 14, 1.0)
            .pixmap(14, 14)
            .toImage()
            .convertToFormat(QImage.Format.Format_Grayscale8)
        )
        grey[cause] = np.array([[image.pixelColor(x, y).red() for x in range(14)] for y in range(14)], float)
    for one in CAUSES:
        for other in CAUSES:
            if one < other and GROUP_OF[one] == GROUP_OF[other]:
                assert np.abs(grey[one] - grey[other]).mean() > 8.0, (one, other)


def test_pieces_fill_the_bar_in_proportion():
    seconds = np.zeros(len(CAUSES))
    seconds[[0, 3, 7]] = 60.0, 30.0, 10.0
    pieces = bar_parts(seconds, 103.0)
    assert [piece.cause for piece in pieces] == ["laying", "travel", "heating"]
    assert [(piece.left, piece.right) for piece in pieces] == [(0.0, 61.0), (61.0, 92.0), (92.0, 103.0)]
    seconds[5] = 1e-9
    tiny = next(piece for piece in bar_parts(seconds, 103.0) if piece.cause == "height changes")
    assert tiny.right - tiny.left == pytest.approx(THIN)
    assert bar_parts(np.zeros(len(CAUSES)), 100.0) == ()


def test_table_and_bars_are_the_ledger(qtbot, hook):
    state, pane = shown(qtbot, hook)
    state.show_layer(26)
    qtbot.waitUntil(lambda: pane.titles["layer"].text() == "layer 26: 5 min 28 s" and not pane.busy)
    whole, layer = hook.timing.ledger.by_cause, hook.timing.ledger.by_layer[26]
    *rows, total = table(pane)
    present = [k for k in range(len(CAUSES)) if whole[k] > 0.0]
    limits = [row for row in rows if row[0].startswith("    by the ")]
    held = held_by_limit(hook).sum(axis=0)
    assert [row[1] for row in limits] == [
        duration_text(s) for s in sorted(held.tolist(), reverse=True)[: len(limits)]
    ]
    rows = [row for row in rows if row not in limits]
    assert limits and len(rows) == len(present)
    for row, k in zip(rows, present, strict=True):
        assert row[1:3] == [duration_text(whole[k]), share_text(whole[k] / whole.sum())]
        booked = [duration_text(layer[k]), share_text(layer[k] / layer.sum())] if layer[k] else ["–", "–"]
        assert row[3:] == booked
    assert total == ["in all", "31 min 34 s", "100 %", "5 min 28 s", "100 %"]
    for scope, seconds in (("program", whole), ("layer", layer)):
        pieces = pane.bars[scope].parts()
        assert sum(piece.seconds for piece in pieces) == pytest.approx(seconds.sum())
        assert pieces[-1].right == pytest.approx(pane.bars[scope].width())
    assert pane.titles["layer"].text() == "layer 26: 5 min 28 s"


def test_a_layer_is_shown_after_its_picture_and_of_many_in_a_hurry_the_last(qtbot, hook):
    state, pane = shown(qtbot, hook)
    qtbot.waitUntil(lambda: not pane.busy)
    told = []
    show = pane.model.show_layer
    pane.model.show_layer = lambda *booked: (told.append(state.layer), show(*booked))
    state.show_layer(5)
    assert told == []
    qtbot.waitUntil(lambda: told == [5])
    for number in range(6, 30):
        state.show_layer(number)
    assert told == [5]
    qtbot.waitUntil(lambda: pane.titles["layer"].text().startswith("layer 29:"))
    assert told == [5, 29]


def test_shares_never_say_more_than_is_true(qtbot, hook):
    _, pane = shown(qtbot, hook)
    model, seconds = pane.model, np.zeros(len(CAUSES))
    seconds[[0, 3]] = 10_000.0, 0.01
    model.show_program(seconds)
    assert [model.data(model.index(row, 2)) for row in range(3)] == ["over 99.9 %", "below 0.1 %", "100 %"]


def test_narrow_panes_put_the_share_below_the_time(qtbot, hook):
    _, pane = shown(qtbot, hook, width=280)
    assert [pane.table.isColumnHidden(column) for column in range(5)] == [False, False, True, False, True]
    assert table(pane)[0][:2] == ["laying", "17 min 35 s\n55.7 %"]
    pane.resize(700, 420)
    pane.grab()
    assert not any(pane.table.isColumnHidden(column) for column in range(5))
    assert table(pane)[0][:3] == ["laying at the commanded speed", "17 min 35 s", "55.7 %"]


@pytest.mark.parametrize(
    ("width", "scale"), [(260, 1.0), (280, 1.0), (280, 1.3), (420, 1.0), (700, 1.0), (700, 1.5)]
)
def test_no_cell_is_cut_off(qtbot, hook, width, scale):
    state, pane = shown(qtbot, hook, width)
    font = pane.font()
    font.setPointSizeF(font.pointSizeF() * scale)
    pane.setFont(font)
    state.show_layer(26)
    pane.grab()
    metrics, view = pane.table.fontMetrics(), pane.table
    for row in range(pane.model.rowCount()):
        for column in range(1, 5):
            if not view.isColumnHidden(column):
                lines = pane.model.data(pane.model.index(row, column)).splitlines()
                assert max(map(metrics.horizontalAdvance, lines)) <= view.columnWidth(column)
                assert metrics.height() * len(lines) <= view.rowHeight(row)
    room = view.columnWidth(0) - 14 - 12
    for row, cells in enumerate(table(pane)):
        box = metrics.boundingRect(0, 0, room, 999, int(Qt.TextFlag.TextWordWrap), cells[0])
        assert box.height() <= view.rowHeight(row)
    words = [word for row in table(pane) for word in row[0].split()]
    assert max(map(metrics.horizontalAdvance, words)) <= room
    assert sum(view.columnWidth(c) for c in range(5) if not view.isColumnHidden(c)) <= view.viewport().width()


def test_very_large_text_leaves_the_layer_to_its_bar(qtbot, hook):
    _, pane = shown(qtbot, hook, 280)
    assert not pane.table.isColumnHidden(3)
    font = pane.font()
    font.setPointSizeF(font.pointSizeF() * 1.5)
    for widget in (pane.table, pane):  # a style sheet of the application stops what is passed down
        widget.setFont(font)
    pane.grab()
    assert pane.table.isColumnHidden(3)
    assert "laying at the commanded speed" in pane.bars["layer"].accessibleDescription()


def test_pointer_on_the_bar_tells_and_a_press_marks_the_row(qtbot, hook):
    _, pane = shown(qtbot, hook)
    bar = pane.bars["program"]
    piece = next(piece for piece in bar.parts() if piece.cause == "pauses")
    place = QPoint(int((piece.left + piece.right) / 2), bar.height() // 2)
    move_to(bar, QPoint(1, 1))
    move_to(bar, place)
    assert QToolTip.text().startswith("pauses: 5 min 0 s, 15.8 %\n")
    qtbot.mouseClick(bar, Qt.MouseButton.LeftButton, pos=place)
    (row,) = {index.row() for index in pane.table.selectedIndexes()}
    assert pane.model.data(pane.model.index(row, 0)) == "pauses"


def test_a_cause_is_looked_at_and_leads_to_its_places(qtbot, hook):
    state, pane = shown(qtbot, hook)
    qtbot.waitUntil(lambda: not pane.busy)
    assert pane.looked_at.isHidden()
    before = state.colouring
    row = pane.model.row_of(Cause("speeding up and braking"))
    click = lambda r: qtbot.mouseClick(  # noqa: E731
        pane.table.viewport(),
        Qt.MouseButton.LeftButton,
        pos=pane.table.visualRect(pane.model.index(r, 0)).center(),
    )
    click(row)
    qtbot.waitUntil(lambda: not pane.busy)
    expected = times_of_cause(hook, Cause("speeding up and braking"))
    assert state.times.places == expected.places and state.colouring == "cause" and state.strip == "causes"
    assert duration_text(expected.total_s) in pane.looked_at.head.text() and pane.looked_at.isVisible()
    assert not pane.looked_at.back.isEnabled()
    pane.looked_at.next.click()
    assert state.place == 0 and state.selected == expected.places[0].dearest_move
    assert {extent.layer for extent in state.evidence} >= {expected.places[0].first_layer}
    pane.looked_at.next.click()
    assert state.place == 1 and "Place 2 of 12" in pane.looked_at.told.text()
    tried = under_trial(hook, {"print-acceleration": 2.0})
    state.show_trial(tried)
    qtbot.waitUntil(lambda: not pane.busy)
    assert state.times.program is tried and state.times.total_s < expected.total_s
    assert (
        "under the trial" in pane.titles["program"].text()
        and "as on the card" in pane.titles["program"].text()
    )
    click(row)  # again: all causes
    assert (
        state.cause is None
        and state.colouring == before
        and pane.looked_at.isHidden()
        and state.evidence == ()
    )


def test_bars_say_in_words_what_they_show(qtbot, hook):
    _, pane = shown(qtbot, hook)
    said = pane.bars["program"].accessibleDescription()
    assert said.startswith("laying at the commanded speed: 17 min 35 s, 55.7 %; ")
    assert said.count(";") == len(pane.bars["program"].parts()) - 1


@pytest.mark.parametrize(
    ("text", "sentence"),
    [(None, "No program is open"), ("; nothing but a comment\nM84\n", "takes no time")],
)
def test_empty_states_say_a_sentence(qtbot, tmp_path, text, sentence):
    program = None
    if text is not None:
        (tmp_path / "empty.gcode").write_text(text)
        program = open_program(tmp_path / "empty.gcode")
    _, pane = shown(qtbot, program)
    assert pane.sentence.isVisible()
    assert sentence in pane.sentence.text()
    assert not pane.table.isVisible()


def test_a_program_without_layers_still_has_its_own_ledger(qtbot, tmp_path):
    (tmp_path / "warm.gcode").write_text("G28\nG4 S12\nM84\n")
    _, pane = shown(qtbot, open_program(tmp_path / "warm.gcode"))
    assert pane.titles["layer"].text() == "no layers"
    assert ["dwell", "12 s"] in [row[:2] for row in table(pane)]
    assert {cell for row in table(pane) for cell in row[3:]} == {"–"}


def test_the_ledger_of_one_bead(qtbot, tmp_path):
    (tmp_path / "one.gcode").write_text("G28\nM83\nG1 Z0.2 F600\nG1 X30 E1.5 F1200\n")
    state, pane = shown(qtbot, open_program(tmp_path / "one.gcode"))
    assert state.layers == 1
    assert table(pane)[-1][4] == "100 %"
    assert pane.bars["layer"].parts()
