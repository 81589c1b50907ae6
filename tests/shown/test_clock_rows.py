"""The start of a print, as a person writes it, and what follows from it."""

from __future__ import annotations

import json
from datetime import datetime, timedelta

import msgspec
import pytest

from tests.shown.conftest import SAMPLES
from viewer import Program
from viewer.__main__ import main
from viewer.cards.workshop import Hours
from viewer.errors import BeadlineError
from viewer.figures.clock_times import clock_times, latest_start
from viewer.program import with_cards
from viewer.shown.clock_rows import clock_rows, start_of
from viewer.shown.rows import clock_text, program_rows
from viewer.timing import CAUSES, clock_time

NOW = datetime(2026, 3, 2, 13, 7, 21)
HOOK = str(SAMPLES / "coat_hook_pause.gcode")


@pytest.mark.parametrize(
    ("text", "hour", "minute"), [("14:30", 14, 30), (" 7:05 ", 7, 5), ("00:00", 0, 0), ("Now", 13, 7)]
)
def test_a_start_is_a_time_of_today(text: str, hour: int, minute: int) -> None:
    assert start_of(text, NOW) == datetime(2026, 3, 2, hour, minute)


@pytest.mark.parametrize("text", ["", "24:00", "14.30", "half past two", "14:30:10"])
def test_what_is_no_time_of_day_gets_a_sentence(text: str) -> None:
    with pytest.raises(BeadlineError, match=r"is no time of day; write hours and minutes as 14:30"):
        start_of(text, NOW)


def test_the_moments_are_the_start_and_the_seconds_since(hook: Program) -> None:
    start, time = datetime(2026, 3, 2, 23, 45), hook.figures.time
    times = clock_times(time, start)
    assert times.first_layer_done == start + timedelta(seconds=time.first_layer_done_s or 0.0)
    assert [at - start for at in times.pauses] == [timedelta(seconds=pause.at_s) for pause in time.pauses]
    assert len(times.pauses) == 1
    assert times.end == start + timedelta(seconds=time.total_s)


def test_rows_say_what_is_another_day(hook: Program) -> None:
    rows = {row.name: row for row in clock_rows(hook, datetime(2026, 3, 2, 23, 45))}
    assert list(rows) == ["starts at", "first layer done at", "pause 1 at", "ends at"]
    assert rows["starts at"].text == "23:45"
    assert rows["ends at"].text == "00:17 the next day"  # 31 min 34 s later, the full minute
    assert rows["ends at"].value == "2026-03-03T00:16:34"
    assert "beside the printer" in rows["first layer done at"].how


def test_figures_with_a_start(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["figures", HOOK, "--start", "17:40"]) == 0
    out = capsys.readouterr().out
    assert "\nClock\n" in out and "18:12" in out
    assert main(["figures", HOOK, "--json", "--start", "17:40"]) == 0
    found = json.loads(capsys.readouterr().out)
    assert found["clock"]["start"].endswith("T17:40:00")
    assert found["clock"]["end"][11:16] == "18:11"
    assert "after-closing" in {finding["slug"] for finding in found["findings"]}


def test_figures_without_a_start_name_no_clock(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["figures", HOOK, "--json"]) == 0
    assert json.loads(capsys.readouterr().out)["clock"] is None


@pytest.mark.parametrize(
    ("total_s", "opens", "closes", "latest"),
    [
        (3600.0, "09:00", "18:00", "17:00"),
        (3601.0, "09:00", "18:00", "16:59"),  # the minute that has begun is too late
        (9 * 3600.0, "09:00", "18:00", "09:00"),
        (9 * 3600.0 + 1, "09:00", "18:00", None),
        (4 * 3600.0, "18:00", "02:00", "22:00"),
    ],
)
def test_the_latest_start_that_ends_in_the_opening_hours(
    total_s: float, opens: str, closes: str, latest: str | None
) -> None:
    assert latest_start(total_s, Hours(opens=opens, closes=closes)) == latest


def test_the_slowest_layer_says_how_much_of_it_waits(hook: Program) -> None:
    rows = {row.name: row for row in program_rows(hook) if row.group == "Time"}
    assert rows["slowest layer"].text == "5 min 28 s, layer 26 (5 min 0 s of it waiting)"
    of_layer = hook.timing.ledger.by_layer[1:43]
    waiting = [CAUSES.index(cause) for cause in ("heating", "homing and levelling", "tool changes", "pauses")]
    laying = of_layer.sum(axis=1) - of_layer[:, waiting].sum(axis=1)
    assert rows["slowest without waits"].text == f"2 min 15 s, layer {laying.argmax() + 1}"
    assert rows["slowest without waits"].value == laying.max()
    assert rows["latest start"].text == "17:28, to end by 18:00"


def test_electricity_is_power_times_time(hook: Program) -> None:
    kwh = 120.0 * hook.figures.time.total_s / 3.6e6  # Heron's 120 W; 1 kWh = 3.6 MJ
    assert hook.figures.filament.energy_kwh == pytest.approx(kwh)
    assert hook.figures.filament.energy_cost is None
    priced = with_cards(
        hook, workshop=msgspec.structs.replace(hook.workshop, price_per_kwh=0.4)
    ).figures.filament
    assert priced.energy_cost == pytest.approx(0.4 * kwh)
    assert priced.cost == pytest.approx(hook.figures.filament.cost + 0.4 * kwh)
    unknown = with_cards(hook, printer=msgspec.structs.replace(hook.printer, power_w=None)).figures.filament
    assert unknown.energy_kwh is None


@pytest.mark.parametrize("total_s", [3.2e6, 4e9, 1e15, float(2**80)])
def test_a_print_of_days_or_ages_has_no_latest_start_and_still_an_end(total_s: float) -> None:
    assert latest_start(total_s, Hours(opens="09:00", closes="18:00")) is None
    assert clock_time(NOW, total_s) > NOW
    assert clock_text(NOW, total_s).endswith("days later")
