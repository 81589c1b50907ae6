"""The start of a print, as a person writes it, and what follows from it."""

from __future__ import annotations

import json
from datetime import datetime, timedelta

import pytest

from tests.shown.conftest import SAMPLES
from viewer import Program
from viewer.__main__ import main
from viewer.errors import BeadlineError
from viewer.figures.clock_times import clock_times
from viewer.shown.clock_rows import clock_rows, start_of

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
    assert out.startswith("Clock\n") and "18:12" in out
    assert main(["figures", HOOK, "--json", "--start", "17:40"]) == 0
    found = json.loads(capsys.readouterr().out)
    assert found["clock"]["start"].endswith("T17:40:00")
    assert found["clock"]["end"][11:16] == "18:11"
    assert "after-closing" in {finding["slug"] for finding in found["findings"]}


def test_figures_without_a_start_name_no_clock(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["figures", HOOK, "--json"]) == 0
    assert json.loads(capsys.readouterr().out)["clock"] is None
