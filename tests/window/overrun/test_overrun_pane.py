"""Expected and actual: bars add up, fields are read, places lead there."""

from __future__ import annotations

from datetime import datetime
from itertools import pairwise
from pathlib import Path

import pytest
from PySide6.QtCore import QRect, Qt

from tests.window.conftest import shown_pane, wait_while_busy
from viewer import open_program, overrun
from viewer.printlog.past import Past, Took
from viewer.program import Program
from viewer.shown.window.model.view_state import ViewState
from viewer.shown.window.overrun import overrun_pane
from viewer.shown.window.overrun.overrun_pane import OverrunPane
from viewer.shown.window.overrun.waterfall import Waterfall
from viewer.shown.window.overrun.waterfall_bars import spoken, waterfall_bars
from viewer.why.causes import Cause, times_of_cause
from viewer.why.places import dearest_places

SAMPLES = Path(__file__).parents[3] / "sample_programs"


@pytest.fixture
def shown(qtbot, hook: Program) -> tuple[ViewState, OverrunPane]:
    return shown_pane(OverrunPane, hook, (400, 700), qtbot)


@pytest.mark.parametrize("expected", [None, 600.0, 100_000.0])
@pytest.mark.parametrize("took", [None, 60.0, 20_000.0])
def test_each_bar_begins_where_the_one_before_ends(
    hook: Program, expected: float | None, took: float | None
) -> None:
    found = overrun(hook, expected, took)
    bars = waterfall_bars(found)
    assert bars[-1].kind == ("computed" if took is None else "took")
    steps = [bar for bar in bars if bar.kind in ("more", "less")]
    at = 0.0 if found.expected_s is None else found.expected_s
    for bar in steps:
        assert bar.begin_s == pytest.approx(at, abs=1e-6)
        at = bar.end_s
    assert at == pytest.approx(hook.timing.total_s, abs=1e-6)
    for bar in bars:
        assert bar.title in spoken(bars) and bar.text in spoken(bars)


def test_what_is_typed_in_is_computed(shown, hook: Program, qtbot) -> None:
    _, pane = shown
    pane.expected.setText("20m")
    pane.took.setText("3h")
    pane.took.editingFinished.emit()
    wait_while_busy(pane, qtbot)
    assert pane.headline.text() == "3 h instead of 20 min"
    assert "20 min is" in pane.sentence.text()
    assert pane.waterfall.bars[-1].end_s == 10_800.0
    pane.took.setText("soon")
    pane.took.editingFinished.emit()
    assert "is no duration" in pane.sentence.text()
    wrong = next(field for field in (pane.expected, pane.took) if field.property("wrong"))
    assert wrong.accessibleDescription() == pane.sentence.text()
    pane.grab()
    wrong.setText("3h")
    wrong.editingFinished.emit()
    assert not wrong.property("wrong") and not wrong.accessibleDescription()


def test_a_place_leads_there(shown, hook: Program, qtbot) -> None:
    state, pane = shown
    places = dearest_places(hook, pane.places.count())
    assert pane.places.count() == len(places) > 3
    for row in (0, len(places) - 1):
        item = pane.places.item(row)
        qtbot.mouseClick(
            pane.places.viewport(), Qt.MouseButton.LeftButton, pos=pane.places.visualItemRect(item).center()
        ) if row == 0 else pane.places.itemActivated.emit(item)
        assert state.selected == places[row].dearest_move


def test_the_real_time_comes_from_the_print_log_until_somebody_writes_another(shown, qtbot) -> None:
    state, pane = shown
    state.show_past(Past(took=Took(11_130.0, datetime(2026, 3, 2, 9, 10), 2)))
    wait_while_busy(pane, qtbot)
    assert pane.took.text() == "3h5m30s" and pane.headline.text().startswith("3 h 5 min 30 s")
    assert (
        pane.origin.isVisible()
        and "02 March 2026, the last of 2 prints, by the print log" in pane.origin.text()
    )
    pane.took.setText("4h")
    pane.took.editingFinished.emit()
    wait_while_busy(pane, qtbot)
    assert pane.headline.text().startswith("4 h") and not pane.origin.isVisible()
    state.show_past(Past(took=Took(60.0, datetime(2026, 3, 3, 9, 10), 3)))
    assert pane.took.text() == "4h"


def test_the_dearest_places_are_looked_for_once_whatever_is_typed(shown, qtbot, monkeypatch) -> None:
    def again(*_of) -> None:
        raise AssertionError("they are known")

    _, pane = shown
    monkeypatch.setattr(overrun_pane, "dearest_places", again)
    known = pane.found.places
    for text in ("4h", "nonsense", "3h"):
        pane.took.setText(text)
        pane.took.editingFinished.emit()
        wait_while_busy(pane, qtbot)
    assert pane.headline.text().startswith("3 h") and pane.found.places == known and pane.places.count() > 3


def test_another_program_takes_the_fields_back(shown, qtbot) -> None:
    state, pane = shown
    pane.took.setText("3h")
    state.show_program(open_program(SAMPLES / "tap_washer_tray.gcode"))
    wait_while_busy(pane, qtbot)
    assert pane.took.text() == "" and pane.headline.text()
    state.show_program(None)
    assert "No program" in pane.sentence.text() and pane.places.count() == 0


def test_no_name_of_a_step_is_cut_off_at_any_width(hook: Program, qtbot) -> None:
    """Names that are wider than half of the pane stand above their bars, in as many lines as they need."""
    picture = Waterfall()
    qtbot.addWidget(picture)
    picture.show_bars(waterfall_bars(overrun(hook, 600.0, 20_000.0)))
    metrics = picture.fontMetrics()
    heights = []
    for width in (220, 300, 420, 1400):
        picture.resize(width, 100)
        lines = picture._lines(width)
        times = max(metrics.horizontalAdvance(bar.text) for bar in picture.bars)
        for bar, line in zip(picture.bars, lines, strict=True):
            room = QRect(0, 0, width - times - 8, 999)
            assert (
                metrics.boundingRect(room, int(Qt.TextFlag.TextWordWrap), bar.title).height() < line.height()
            )
        assert all(upper.bottom() == pytest.approx(lower.top()) for upper, lower in pairwise(lines))
        heights.append(picture.heightForWidth(width))
        assert heights[-1] >= lines[-1].bottom()
    assert heights == sorted(heights, reverse=True) and heights[0] > heights[-1]


def test_a_step_leads_to_the_places_of_its_cause(shown, hook: Program, qtbot) -> None:
    state, pane = shown
    lines = pane.waterfall._lines(pane.waterfall.width())
    row = next(k for k, bar in enumerate(pane.waterfall.bars) if bar.cause == "travel")
    qtbot.mouseClick(pane.waterfall, Qt.MouseButton.LeftButton, pos=lines[row].center().toPoint())
    assert state.cause == Cause("travel") and pane.places.count() == 0  # they are being looked for
    state.show_times(times_of_cause(hook, Cause("travel")))
    assert pane.places.count() == len(state.times.places) and "travel" in pane.places_head.text()
    pane.step_place(1)
    assert state.place == 0 and pane.places.currentRow() == 0
    state.look_at_cause(None)
    assert pane.places.count() == len(pane.found.places)
