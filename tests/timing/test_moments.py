"""Moments: when layers, pauses and tool changes come, and which move runs at a moment."""

from __future__ import annotations

from datetime import UTC, datetime

import numpy as np
import pytest

from tests.timing.by_hand import (
    events_of,
    heron,
    layers_of,
    moves_of,
    random_steps,
    settings_of,
    state_of,
    wide_open,
)
from viewer.read.moves import PLACE, PRIME, RETRACT
from viewer.timing import Timing, clock_time, plan_time

EVENTS = events_of(("G28", 0), ("G4 S3", 1), ("T1", 2), ("G4 S5", 3), ("M600", 3), ("M0 S9", 5), ("G4 S7", 6))


def six_seconds() -> Timing:
    """Six moves of 1 s each; layers of two moves after the first; waits 18, 3, 15, 5 + 240, 9, 7 s."""
    card = wide_open("junction-deviation", 1e9, junction_deviation_mm=1e9)
    moves = moves_of([{"x": 10.0 * i, "e": 0.5, "f": 10.0} for i in range(1, 7)])
    return plan_time(moves, EVENTS, state_of(EVENTS), settings_of(6), layers_of(1, 3, 5), None, card)


def test_moments_by_hand() -> None:
    found = six_seconds().moments
    # layer 1 starts after homing, move 0 and its dwell: 18 + 1 + 3; then move 1, the tool change, move 2
    assert found.layer_start_s == pytest.approx([22.0, 39.0, 286.0], abs=1e-3)
    assert found.first_layer_done_s == pytest.approx(39.0, abs=1e-3)
    assert found.tool_change_s == pytest.approx([23.0], abs=1e-3)
    assert found.tool_change_event.tolist() == [2]
    assert found.pause_s == pytest.approx([44.0, 286.0], abs=1e-3)
    assert found.pause_event.tolist() == [4, 5]
    assert found.end_s == pytest.approx(6 + 18 + 3 + 15 + 245 + 9 + 7, abs=1e-3)


def test_when_a_move_begins() -> None:
    progress = six_seconds().progress
    expected = [18.0, 22.0, 38.0, 284.0, 285.0, 295.0, 303.0]
    assert progress.time_at_move(range(7)) == pytest.approx(expected, abs=1e-3)
    assert progress.time_at_move(3) == pytest.approx([284.0], abs=1e-3)


@pytest.mark.parametrize(
    ("elapsed", "move"),
    [
        (-5.0, 0),
        (0.0, 0),
        (18.5, 0),
        (19.5, 0),
        (22.5, 1),
        (37.0, 1),
        (38.5, 2),
        (100.0, 2),
        (284.5, 3),
        (999.0, 5),
    ],
)
def test_which_move_runs(elapsed: float, move: int) -> None:
    assert six_seconds().progress.move_at_time(elapsed) == move


def test_move_at_time_is_the_inverse_of_time_at_move() -> None:
    # 3000 moves: over several blocks of the running sum
    moves = moves_of(random_steps(2, 3000))
    events = events_of(("G28", 0), ("G4 S3", 1023), ("G4 S5", 1024), ("G4 S1", 1025), ("M600", 2500))
    progress = plan_time(
        moves, events, state_of(events), settings_of(3000), layers_of(0, 3000), None, heron()
    ).progress
    begins = progress.time_at_move(np.arange(3000))
    assert (np.diff(begins) > 0).all()
    for move in [0, 1, 500, 1022, 1023, 1024, 1025, 2047, 2048, 2499, 2500, 2999]:
        assert progress.move_at_time(float(begins[move])) == move
        assert progress.move_at_time(float(np.nextafter(begins[move], 0.0))) == max(move - 1, 0)


def test_layers_start_where_the_sums_of_the_ledger_say() -> None:
    moves = moves_of(random_steps(8, 60))
    events = events_of(
        ("G28", 0), ("M109 S210", 5), ("G4 S2", 20), ("M600", 40), ("G4 S1", 50), ("G4 S1", 60)
    )
    result = plan_time(
        moves, events, state_of(events), settings_of(60), layers_of(5, 20, 40, 50), None, heron()
    )
    sums = np.cumsum(result.ledger.by_layer.sum(axis=1))
    assert result.moments.layer_start_s == pytest.approx(sums[:-1], rel=1e-9)
    assert result.moments.end_s == pytest.approx(sums[-1], rel=1e-9)


def test_nothing_at_all() -> None:
    result = plan_time(
        moves_of([]), events_of(), state_of(events_of()), settings_of(0), layers_of(0), None, heron()
    )
    assert result.total_s == 0.0
    assert result.progress.move_at_time(3.0) == 0
    assert result.moments.first_layer_done_s is None


def test_nominal_is_distance_over_commanded_speed() -> None:
    moves = moves_of([{"x": 30.0}, *random_steps(9, 50), {"x": 0.0, "place": 1.0}])
    expected = 0.0
    for i in range(len(moves)):
        way = abs(float(moves.fed_mm[i])) if moves.kind[i] in (RETRACT, PRIME) else float(moves.length_mm[i])
        if moves.speed_mm_s[i] > 0 and moves.kind[i] != PLACE:
            expected += way / float(moves.speed_mm_s[i])
    result = plan_time(
        moves,
        events_of(),
        state_of(events_of()),
        settings_of(52, {"speed_factor": 0.5}),
        layers_of(0, 52),
        None,
        heron(),
    )
    assert result.nominal_s == pytest.approx(expected, rel=1e-9)
    assert result.nominal_s < result.moving_s


def test_clock_time() -> None:
    start = datetime(2024, 2, 28, 22, 30, tzinfo=UTC)
    assert clock_time(start, 2 * 3600 + 15) == datetime(2024, 2, 29, 0, 30, 15, tzinfo=UTC)
