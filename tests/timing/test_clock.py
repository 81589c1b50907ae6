"""Waits and the heat clock: worked by hand.

Rates of the card: nozzle +2 -1, plate +0.5 -0.1 degC/s; the room has 20 degC.
"""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from tests.timing.by_hand import events_of, heron, state_of
from viewer.timing import clock
from viewer.timing.clock import HeaterTemperature, Waits, nozzle_before, plate_before, stops_of, waits_for
from viewer.timing.ledger import CAUSES


def waits(*commands: tuple[str, int], each_s: float = 10.0, **card: Any) -> Waits:
    """Every move takes ``each_s``."""
    events, printer = events_of(*commands), heron(**card)
    return waits_for(
        events, state_of(events, printer.tools), lambda moves: np.asarray(moves) * each_s, printer
    )


def seconds(*values: float) -> list[float]:
    return pytest.approx(list(values))  # type: ignore[no-any-return]


def test_the_numbers_of_the_causes_agree() -> None:
    named = {"dwell": clock.DWELL, "heating": clock.HEATING, "homing and levelling": clock.HOMING}
    named |= {"tool changes": clock.TOOL_CHANGE, "pauses": clock.PAUSE}
    assert {name: CAUSES.index(name) for name in named} == named


@pytest.mark.parametrize(
    ("command", "expected", "cause"),
    [
        ("G4 P1500", 1.5, "dwell"),
        ("G4 S2.5", 2.5, "dwell"),
        ("G4 P100 S2", 2.0, "dwell"),
        ("G04P9", 0.009, "dwell"),
        ("G28", 18.0, "homing and levelling"),
        ("G28 X Y", 12.0, "homing and levelling"),
        ("G28 Z0", 6.0, "homing and levelling"),
        ("G29", 50.0, "homing and levelling"),
        ("G29.4", 50.0, "homing and levelling"),
        ("T1", 15.0, "tool changes"),
        ("M0", 240.0, "pauses"),
        ("M1 S30", 30.0, "pauses"),
        ("M0 P2000", 2.0, "pauses"),
        ("M0 P", 240.0, "pauses"),
        ("M25", 240.0, "pauses"),
        ("M226", 240.0, "pauses"),
        ("M600 S30", 240.0, "pauses"),
        ("M601", 240.0, "pauses"),
        ("M6 T1", 15.0, "tool changes"),
        ("M109 S220", 100.0, "heating"),
        ("M190 S60", 80.0, "heating"),
    ],
)
def test_one_event_waits(command: str, expected: float, cause: str) -> None:
    found = waits((command, 3))
    assert found.seconds.tolist() == pytest.approx([expected])
    assert [CAUSES[i] for i in found.cause] == [cause]
    assert found.move.tolist() == [3]
    assert found.start_s.tolist() == [30.0]


@pytest.mark.parametrize(
    "command",
    [
        *(
            "G4",
            "G4 S-3",
            "G29.2 S0",
            "G29.1 Z-0.02",
            "T0",
            "T-1",
            "T64",
            "T255",
            "T1000",
            "M6 T0",
            "M6",
            "M104 S200",
            "M140 S60",
        ),
        *("M400", "M190 S0", "M109", "M109 S", "M116", "M106 S255", "G10", "G10 L2 P1 X0", "M191 S50"),
    ],
)
def test_nothing_waits_here(command: str) -> None:
    assert len(waits((command, 0))) == 0


def test_a_tool_is_changed_only_where_it_is_another() -> None:
    found = waits(("T0", 0), ("T1", 1), ("T255", 2), ("T1", 3), ("T-1", 4), ("T0", 5))
    assert found.event.tolist() == [1, 5]
    found = waits(("T1", 0), ("M6 T1", 1), ("M6 T2", 2), ("T2", 3), ("M6 T-1", 4), ("T0", 5))
    assert found.event.tolist() == [0, 2, 5]


def test_pauses_and_tool_changes_are_kept_even_if_they_take_no_time() -> None:
    found = waits(("M600", 2), ("T1", 3), ("G28", 4), pause_s=0.0, tool_change_s=0.0)
    assert found.seconds.tolist() == [0.0, 0.0, 18.0]


def test_the_nozzle_warms_while_the_machine_does_other_things() -> None:
    # 20 -> 220 takes 100 s; homing 18 s and two moves of 10 s are over by then
    assert waits(("M104 S220", 0), ("G28", 0), ("M109 S220", 2)).seconds.tolist() == seconds(18.0, 62.0)
    # after twelve moves it is long hot
    assert len(waits(("M104 S220", 0), ("M109 S220", 12))) == 0


def test_plate_and_nozzle_warm_at_the_same_time() -> None:
    # the plate takes (60 - 20) / 0.5 = 80 s, the nozzle 100 s, both set at once
    found = waits(("M140 S60", 0), ("M104 S220", 0), ("M190 S60", 0), ("M109 S220", 0))
    assert found.seconds.tolist() == seconds(80.0, 20.0)
    # one after the other
    found = waits(("M190 S60", 0), ("M109 S220", 0))
    assert found.seconds.tolist() == seconds(80.0, 100.0)


def test_s_waits_for_warming_only_and_r_for_cooling_too() -> None:
    hot = ("M109 S220", 0)
    assert waits(hot, ("M109 S180", 1)).seconds.tolist() == seconds(100.0)
    assert waits(hot, ("M109 S180 R180", 1)).seconds.tolist() == seconds(100.0)
    # 220 -> 180 at 1 degC/s
    assert waits(hot, ("M109 R180", 1)).seconds.tolist() == seconds(100.0, 40.0)
    assert waits(("M190 S60", 0), ("M190 R55", 1)).seconds.tolist() == seconds(80.0, 50.0)
    assert waits(("M109 R220", 0)).seconds.tolist() == seconds(100.0)


def test_cooling_goes_on_and_turns_into_warming() -> None:
    # 220 at 100 s; off; thirty seconds of moves later 190; back to 220 takes 15 s
    found = waits(("M109 S220", 0), ("M104 S0", 0), ("M109 S220", 3))
    assert found.seconds.tolist() == seconds(100.0, 15.0)


def test_cold_is_the_room_and_not_less() -> None:
    # after 1000 s it is at the room's 20 degC, so the way up is 200 degC again
    found = waits(("M109 S220", 0), ("M104 S0", 0), ("M109 S220", 100))
    assert found.seconds.tolist() == seconds(100.0, 100.0)


def test_each_tool_has_its_own_nozzle() -> None:
    found = waits(
        ("M104 S220", 0), ("M104 T1 S120", 0), ("M109 S220", 0), ("T1", 0), ("M109 S220", 0), tools=2
    )
    # tool 0: 100 s. Tool 1 is at 120 by then (50 s), stays there through the change, and needs 50 s more
    assert found.seconds.tolist() == seconds(100.0, 15.0, 50.0)


def test_a_card_with_one_tool_has_one_nozzle() -> None:
    found = waits(("M109 S220", 0), ("T1", 0), ("M109 S220", 0), tools=1)
    assert found.seconds.tolist() == seconds(100.0, 15.0)


def test_m109_names_its_tool() -> None:
    found = waits(("M109 T1 S120", 0), ("M109 S120", 0), tools=2)
    assert found.seconds.tolist() == seconds(50.0, 50.0)


def test_m109_without_a_target_waits_for_the_one_set() -> None:
    assert waits(("M104 S220", 0), ("M109", 1)).seconds.tolist() == seconds(90.0)


def test_m116_waits_for_all_that_is_on() -> None:
    # plate 80 s, nozzle 100 s, one move of 10 s gone
    found = waits(("M140 S60", 0), ("M104 S220", 0), ("M116", 1))
    assert found.seconds.tolist() == seconds(90.0)
    # the nozzle goes down 40 degC; the plate is off and would take 400 s to be cold
    found = waits(("M190 S60", 0), ("M109 S220", 0), ("M140 S0", 0), ("M104 S180", 0), ("M116", 0))
    assert found.seconds.tolist() == seconds(80.0, 100.0, 40.0)


def test_g10_sets_a_working_and_a_resting_temperature() -> None:
    commands = [("G10 P0 S220 R160", 0), ("G10 P1 S200 R160", 0), ("M116", 0), ("T1", 0), ("M116", 0)]
    # tool 0 to 220: 100 s (tool 1 rests at 160 after 70 s). Change: 15 s, in which tool 1 warms by 30 of
    # 40 degC and tool 0 cools from 220 to 205; M116 waits until it has come down to 160: 45 s
    found = waits(*commands, tools=2)  # type: ignore[arg-type]
    assert found.seconds.tolist() == seconds(100.0, 15.0, 45.0)


def test_elapsed_time_counts_moves_and_waits() -> None:
    found = waits(("G28", 0), ("G4 S2", 3), ("M600", 3), ("M0", 5))
    assert found.start_s.tolist() == seconds(0.0, 48.0, 50.0, 310.0)
    assert found.before([0, 2, 3, 4, 5]).tolist() == seconds(18.0, 18.0, 260.0, 260.0, 500.0)


def test_where_the_machine_stands_still() -> None:
    told = "M104 S200, M109 S200, G4 S1, T0, T1, M400, M106 S9, M600, G28, M191 S40, M140 S50, M116, G28, M0"
    before = [1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 11, 12, 12, 20]
    commands = zip(told.split(", "), before, strict=True)
    events = events_of(*commands)
    assert stops_of(events, state_of(events)).tolist() == [2, 3, 5, 6, 8, 9, 10, 12, 20]
    assert stops_of(events_of(), state_of(events_of())).tolist() == []


def test_columns_are_read_only() -> None:
    found = waits(("G28", 0))
    with pytest.raises(ValueError, match="read-only"):
        found.seconds[0] = 1.0


def heat_before(move: int, *commands: tuple[str, int], **card: Any) -> HeaterTemperature:
    """Every move takes 10 s."""
    events, printer = events_of(*commands), heron(**card)
    state = state_of(events, printer.tools)
    return nozzle_before(move, events, state, lambda moves: np.asarray(moves) * 10.0, printer)


def plate_heat_before(move: int, *commands: tuple[str, int]) -> HeaterTemperature:
    """Every move takes 10 s."""
    events, printer = events_of(*commands), heron()
    state = state_of(events, printer.tools)
    return plate_before(move, events, state, lambda moves: np.asarray(moves) * 10.0, printer)


def test_how_hot_the_plate_is_before_a_move() -> None:
    assert plate_heat_before(5) == HeaterTemperature(20.0, 0.0)
    heat = plate_heat_before(5, ("M140 S100", 1), ("M109 S200", 2))
    assert heat.is_c == pytest.approx(20.0 + 0.5 * (40.0 + 90.0))  # the moves, and the nozzle's wait
    assert heat.target_c == 100.0
    assert plate_heat_before(5, ("M140 S60", 1), ("M190", 5)) == HeaterTemperature(60.0, 60.0)
    assert plate_heat_before(5, ("M190 S60", 6)) == HeaterTemperature(20.0, 0.0)


def test_how_hot_the_nozzle_is_before_a_move() -> None:
    assert heat_before(5) == HeaterTemperature(20.0, 0.0)
    assert heat_before(5, ("M104 S200", 6)) == HeaterTemperature(20.0, 0.0)  # what comes later does not count
    heat = heat_before(5, ("M104 S200", 1), ("G28", 3))  # from 10 s on, at 50 s + 18 s of homing
    assert heat.is_c == pytest.approx(20.0 + 2.0 * (50.0 + 18.0 - 10.0))
    assert heat.target_c == 200.0
    assert heat_before(5, ("M104 S200", 1), ("M109", 5)) == HeaterTemperature(200.0, 200.0)
    assert heat_before(9, ("M109 S200", 1), ("M104 S180", 3)) == HeaterTemperature(180.0, 180.0)
    assert heat_before(4, ("M109 S200", 1), ("M104 S180", 3)).is_c == pytest.approx(190.0)
    two = heat_before(5, ("M109 S200", 1), ("T1", 3), ("M104 S100", 3), tools=2)
    assert two.target_c == 100.0
    assert two.is_c == pytest.approx(20.0 + 2.0 * 20.0 + 0.0)
