"""What would help: the list says what the engine says, the trial is planned together, a card is kept."""

from __future__ import annotations

import time
from pathlib import Path

import pytest

from tests.window.conftest import show_active, shown_pane, wait_while_busy
from viewer import load_printer
from viewer.cards.store import own_card
from viewer.program import Program
from viewer.shown.numbers import duration_text
from viewer.shown.window.levers.lever_lines import factor_at, lever_lines, step_of, steps_of, value_at
from viewer.shown.window.levers.levers_pane import LeversPane
from viewer.shown.window.model.view_state import ViewState
from viewer.why.lever import CAUTION
from viewer.why.trials import LEVERS, levers, total_s_of

SAMPLES = Path(__file__).parents[3] / "sample_programs"


@pytest.fixture
def shown(qtbot, hook: Program) -> tuple[ViewState, LeversPane]:
    return shown_pane(LeversPane, hook, (360, 700), qtbot)


def choose(pane: LeversPane, name: str) -> None:
    row = next(k for k, one in enumerate(pane.outcomes) if one.lever.name == name)
    pane.table.selectRow(row)


def test_the_list_is_what_the_engine_says(shown, hook: Program) -> None:
    _, pane = shown
    outcomes = levers(hook)
    assert [one.lever.name for one in pane.outcomes] == [one.lever.name for one in outcomes]
    assert pane.table.rowCount() == len(outcomes)
    first = pane.table.item(0, 0).text()
    assert first.startswith(outcomes[0].title)
    assert duration_text(outcomes[0].usual.saved_s) in pane.table.item(0, 1).text()
    idle = [k for k, one in enumerate(outcomes) if not one.helps]
    assert idle and all(pane.table.item(k, 1).text() == "nothing" for k in idle)


def test_the_chosen_lever_says_what_it_may_cost(shown) -> None:
    _, pane = shown
    for outcome in pane.outcomes:
        choose(pane, outcome.lever.name)
        assert outcome.lever.cost in pane.told.text()
        assert (CAUTION in pane.told.text()) == outcome.lever.asks_more
        assert "infinite" not in pane.told.text()


def test_a_trial_is_planned_together(shown, hook: Program, qtbot) -> None:
    state, pane = shown
    assert pane.trial.isHidden()
    for name in ("print-acceleration", "travel-speed"):
        choose(pane, name)
        pane.try_it.click()
    wait_while_busy(pane, qtbot)
    trial = pane.trial.trial
    assert set(trial) == {"print-acceleration", "travel-speed"}
    assert pane.trial.hours.text() == duration_text(total_s_of(hook, trial))
    pane.trial.sliders["print-acceleration"].setValue(steps_of(LEVERS[0]))
    wait_while_busy(pane, qtbot)
    assert pane.trial.trial["print-acceleration"] == pytest.approx(LEVERS[0].bound)
    assert pane.trial.hours.text() == duration_text(total_s_of(hook, pane.trial.trial))
    assert "less" in pane.trial.saved.text()
    assert state.timed is state.trial and state.trial.timing.total_s == pytest.approx(
        total_s_of(hook, pane.trial.trial)
    )
    pane.trial.drop.click()
    assert pane.trial.isHidden() and pane.trial.trial == {} and state.timed is hook


def test_hours_follow_the_hand(shown, qtbot) -> None:
    """From a slider's event to the written figure; the limit is generous, as test machines are busy."""
    _, pane = shown
    choose(pane, "print-acceleration")
    pane.try_it.click()
    wait_while_busy(pane, qtbot)
    took = []
    for step in range(5, 45):
        before = time.perf_counter()
        pane.trial.sliders["print-acceleration"].setValue(step)
        qtbot.waitUntil(lambda: not pane.busy, timeout=10_000)
        took.append(time.perf_counter() - before)
    assert sorted(took)[len(took) // 2] < 0.2


def test_the_machines_part_of_a_trial_is_kept_as_a_card(shown, hook: Program, qtbot) -> None:
    state, pane = shown
    told: list[tuple[str, str]] = []
    pane.card_kept.connect(lambda kind, name: told.append((kind, name)))
    choose(pane, "travel-speed")
    pane.try_it.click()
    assert not pane.trial.keep.isEnabled()  # it is no matter of the machine
    choose(pane, "print-acceleration")
    pane.try_it.click()
    wait_while_busy(pane, qtbot)
    factor = pane.trial.trial["print-acceleration"]
    pane.trial.keep.click()
    assert own_card("printer", "Heron trial") is not None
    kept = load_printer("Heron trial")
    assert kept.print_acceleration_mm_s2 == pytest.approx(factor * hook.printer.print_acceleration_mm_s2)
    assert kept.max_speed_mm_s == hook.printer.max_speed_mm_s
    assert "Kept as the printer card" in pane.kept.text() and told == [("printer", "Heron trial")]
    assert pane.trial.trial == {} and state.trial is None


def test_what_is_hidden_does_not_work(qtbot, hook: Program) -> None:
    state = ViewState()
    pane = LeversPane(state)
    qtbot.addWidget(pane)
    state.show_program(hook)
    assert not pane.busy and pane.outcomes == ()
    show_active(pane, qtbot)
    wait_while_busy(pane, qtbot)
    assert pane.outcomes
    state.show_program(None)
    assert pane.outcomes == () and "No program" in pane.head.text()


@pytest.mark.parametrize("lever", LEVERS, ids=lambda lever: lever.name)
def test_sliders_go_from_the_value_now_to_the_bound(lever) -> None:
    factors = [factor_at(lever, step) for step in range(steps_of(lever) + 1)]
    assert factors[0] == 1.0 and factors[-1] == pytest.approx(lever.bound)
    assert factors in (sorted(factors), sorted(factors, reverse=True))
    assert [step_of(lever, factor) for factor in factors] == list(range(len(factors)))


def test_values_of_a_slider_in_words(hook: Program) -> None:
    by_name = {one.lever.name: one for one in levers(hook)}
    assert value_at(by_name["print-acceleration"], 1.0) == "as on the card"
    assert value_at(by_name["travel-speed"], 1.0) == "as it is"
    assert value_at(by_name["pauses"], 0.0) == "none"
    assert value_at(by_name["print-acceleration"], 2.0).endswith("mm/s²")
    assert len(lever_lines(by_name.values())) == len(by_name)
