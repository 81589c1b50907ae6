"""`beadline log` in this process: noting, listing, estimating, spools, CSV, and mistakes."""

from __future__ import annotations

import json
from datetime import datetime
from pathlib import Path

import pytest

from tests.shown.conftest import SAMPLES
from viewer.__main__ import main
from viewer.errors import BeadlineError
from viewer.printlog.store import VARIABLE, PrintLog
from viewer.shown.log_times import times_of

WASHERS = str(SAMPLES / "tap_washers_bare.gcode")
Captured = pytest.CaptureFixture[str]


@pytest.fixture(autouse=True)
def path(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> Path:
    monkeypatch.setattr("viewer.shown.console.progress.kernels_are_cached", lambda: True)
    monkeypatch.setenv(VARIABLE, str(tmp_path / "prints.sqlite3"))
    return tmp_path / "prints.sqlite3"


def add(started: str, ended: str, *more: str) -> int:
    return main(["log", "add", WASHERS, "--started", started, "--ended", ended, *more])


def test_an_empty_log_says_how_to_begin(capsys: Captured) -> None:
    assert main(["log"]) == 0
    assert "log add" in capsys.readouterr().out
    assert main(["log", "accuracy"]) == 0
    assert "log add" in capsys.readouterr().out


def test_noted_listed_and_estimated(capsys: Captured, path: Path) -> None:
    assert main(["log", "estimate", WASHERS]) == 0
    assert "needs 3" in capsys.readouterr().out
    for day, ended in enumerate(("9:33", "9:34", "9:32", "9:33", "9:35"), 2):
        assert add(f"2026-03-0{day} 9:10", f"2026-03-0{day} {ended}", "--for", "bench") == 0
    assert (
        add("2026-03-08 9:10", "2026-03-08 9:15", "--outcome", "failed", "--reason", "warped", "--layer", "3")
        == 0
    )
    assert "failed at layer 3: warped" in capsys.readouterr().out
    assert main(["log", "list", "--json", "--limit", "2"]) == 0
    first, second = json.loads(capsys.readouterr().out)
    assert (
        first["outcome"] == "failed"
        and first["real_s"] == 300.0
        and second["started"] == "2026-03-06T09:10:00"
    )
    assert first["charge"] > 0.0 and first["currency"] == "EUR"
    assert main(["log", "list", "--words", "warped"]) == 0
    listed = capsys.readouterr().out
    assert "1 of 6 prints" in listed and "failed at layer 3" in listed
    assert main(["log", "estimate", WASHERS, "--json"]) == 0
    plain = json.loads(capsys.readouterr().out)
    assert plain["corrected"]["prints"] == 5
    assert plain["computed_s"] < plain["corrected"]["low_s"] < 1404.0 < plain["corrected"]["high_s"]
    assert main(["log", "estimate", WASHERS]) == 0
    assert "from 5 prints on Heron" in capsys.readouterr().out
    assert main(["log", "accuracy"]) == 0
    told = capsys.readouterr().out
    assert "5 of 6 done" in told and "off by" in told and "nothing was changed" in told
    assert "5 prints, computed by the cards of their time" in told and "does not help" not in told
    assert main(["log", "accuracy", "--json"]) == 0
    assert [one["helps"] for one in json.loads(capsys.readouterr().out)["accuracy"]] == [True]
    with PrintLog(path) as log:
        assert 'name = "Heron"' in log.prints()[0].printer_card


def test_spools(capsys: Captured) -> None:
    assert (
        main(["log", "spools", "--add", "blue", "--filament", "PLA", "--full", "1000", "--tare", "200"]) == 0
    )
    assert add("9:10", "9:33", "--spool", "blue", "--weight", "4") == 0
    capsys.readouterr()
    assert main(["log", "spools", "--json"]) == 0
    (spool,) = json.loads(capsys.readouterr().out)
    assert spool["left_g"] == pytest.approx(996.0) and spool["drift"] is None
    assert main(["log", "spools", "--weigh", "blue", "--gross", "1150"]) == 0
    assert "950 g left" in capsys.readouterr().out
    assert main(["log", "spools", "--emptied", "blue"]) == 0
    assert "blue: PLA, empty" in capsys.readouterr().out
    assert main(["log", "months", "--json"]) == 0
    (month,) = json.loads(capsys.readouterr().out)
    assert month["prints"] == 1 and month["drawn_g"] == 4.0 and month["real_s"] == 23 * 60.0
    assert main(["log", "months"]) == 0
    assert "1 of 1 print done, 23 min 0 s, 4 g" in capsys.readouterr().out
    assert main(["log", "spools", "--delete", "blue"]) == 0
    assert "No spool is noted yet" in capsys.readouterr().out


def test_out_and_in_and_a_backup(capsys: Captured, tmp_path: Path) -> None:
    assert main(["log", "spools", "--add", "blue", "--filament", "PLA", "--full", "1000"]) == 0
    assert add("9:10", "9:33", "--spool", "blue") == 0
    table, other, copy = (str(tmp_path / name) for name in ("out.csv", "other.sqlite3", "copy.sqlite3"))
    assert main(["log", "export", "-o", table]) == 0
    assert main(["log", "--log", other, "import", table]) == 0
    told = capsys.readouterr()
    assert "1 of 1 print was new" in told.out and "blue" in told.err
    assert main(["log", "--log", other, "import", table]) == 0
    assert "0 of 1 print was new" in capsys.readouterr().out
    assert main(["log", "backup", copy]) == 0
    assert main(["log", "backup", copy]) == 2
    assert "there already" in capsys.readouterr().err
    with PrintLog(copy) as log:
        assert log.count() == 1


def test_deleting_and_forgetting(capsys: Captured, path: Path) -> None:
    assert add("9:10", "9:33", "--for", "bench nine") == 0
    with PrintLog(path) as log:
        number = str(log.prints()[0].number)
    assert main(["log", "forget", number]) == 0
    with PrintLog(path) as log:
        assert log.prints()[0].for_whom == ""
    assert main(["log", "delete", number]) == 0
    assert main(["log", "delete", number]) == 2
    assert "no print" in capsys.readouterr().err


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["add", WASHERS, "--started", "9:10", "--ended", "9:70"], "no time"),
        (["add", WASHERS, "--started", "2026-03-02 9:10", "--ended", "2026-03-01 9:40"], "before it started"),
        (["add", WASHERS, "--started", "9:10", "--ended", "9:40", "--spool", "red"], "no spool red"),
        (["spools", "--add", "red"], "--full"),
        (["spools", "--weigh", "red", "--gross", "500"], "no spool red"),
        (["import", "nowhere.csv"], "nowhere.csv"),
    ],
)
def test_mistakes_are_one_sentence_and_nothing_is_noted(
    capsys: Captured, path: Path, words: list[str], said: str
) -> None:
    assert main(["log", *words]) == 2
    told = capsys.readouterr().err
    assert said in told and "Traceback" not in told
    with PrintLog(path) as log:
        assert log.count() == 0


@pytest.mark.parametrize(
    ("started", "ended", "expected"),
    [
        ("9:10", "12:55", ("2026-03-04 09:10", "2026-03-04 12:55")),
        ("22:10", "1:30", ("2026-03-03 22:10", "2026-03-04 01:30")),
        ("14:00", "23:00", ("2026-03-03 14:00", "2026-03-03 23:00")),
        ("2026-03-01 9:10", "12:55", ("2026-03-01 09:10", "2026-03-04 12:55")),
    ],
)
def test_a_time_without_a_date_is_the_latest_that_fits(
    started: str, ended: str, expected: tuple[str, str]
) -> None:
    now = datetime(2026, 3, 4, 13, 0)
    assert tuple(f"{moment:%Y-%m-%d %H:%M}" for moment in times_of(started, ended, now, 0.0)) == expected


def test_times_that_contradict_each_other() -> None:
    with pytest.raises(BeadlineError, match="before it started"):
        times_of("2026-03-02 9:10", "2026-03-02 9:10", datetime(2026, 3, 4, 13, 0), 0.0)


def test_past_midnight_only_where_that_suits_the_computed_time() -> None:
    now = datetime(2026, 3, 4, 13, 0)
    start, end = times_of("22:10", "1:30", now, 3.0 * 3600.0)
    assert (end - start).total_seconds() == 12_000.0
    for started, ended in (("9:10", "9:05"), ("9:10", "9:10")):  # 23 h 55 min and 24 h for 6 min
        with pytest.raises(BeadlineError, match="give both with dates"):
            times_of(started, ended, now, 360.0)


def test_a_layer_that_the_program_does_not_have_is_refused(capsys: Captured, path: Path) -> None:
    words = [
        "--started",
        "2026-03-02 9:10",
        "--ended",
        "2026-03-02 9:20",
        "--outcome",
        "stopped",
        "--layer",
        "999",
    ]
    assert main(["log", "add", WASHERS, *words]) == 2
    assert "no layer 999" in capsys.readouterr().err
    with PrintLog(path) as log:
        assert log.count() == 0
