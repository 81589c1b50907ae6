"""What the print log says of a program: in the verdict, on console and paper, and never in the way."""

from __future__ import annotations

import json
import sqlite3
from dataclasses import replace
from datetime import datetime, timedelta
from pathlib import Path

import pytest
from msgspec import structs

from viewer import Program, figures_object, open_program, verdict_of, with_cards
from viewer.__main__ import main
from viewer.cards.toml_text import text_of_card
from viewer.checks.questions import Question
from viewer.checks.run import Report
from viewer.errors import BeadlineError
from viewer.jit import compiler_is_off
from viewer.printlog.estimate import Estimate, corrected_estimate
from viewer.printlog.history import history_of
from viewer.printlog.past import Past, Took
from viewer.printlog.recall import recall, spool_of
from viewer.printlog.rows import Outcome, Print, Spool
from viewer.printlog.store import VARIABLE, PrintLog
from viewer.shown.log_text import took_text
from viewer.shown.paper.job_sheet import job_sheet
from viewer.verdict.amounts import time_amount

pytestmark = pytest.mark.skipif(compiler_is_off(), reason="compiler is off: whole programs take too long")
WASHERS = Path(__file__).parents[2] / "sample_programs" / "tap_washers_bare.gcode"
START = datetime(2026, 3, 2, 9, 0)
Captured = pytest.CaptureFixture[str]


@pytest.fixture(scope="module")
def program() -> Program:
    return open_program(WASHERS)


@pytest.fixture
def path(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setattr("viewer.shown.console.progress.kernels_are_cached", lambda: True)
    monkeypatch.setenv(VARIABLE, str(tmp_path / "prints.sqlite3"))
    return tmp_path / "prints.sqlite3"


def noted(program: Program, count: int, factor: float = 1.2, printer: str = "Heron") -> list[Print]:
    """Return prints of the program that took longer than computed, one a day."""
    time = program.figures.time
    return [
        Print(
            program=WASHERS.name, sha256=program.sha256, printer=printer, filament="PLA", computed_s=time.total_s,
            parts_s=time.ledger_s, computed_g=1.0, started=START + timedelta(days=day),
            ended=START + timedelta(days=day, seconds=round(factor * time.total_s) + day),
        )
        for day in range(count)
    ]  # fmt: skip


def test_without_a_log_nothing_is_read_and_nothing_is_made(program: Program, path: Path) -> None:
    assert recall(program, was_printed=True) == Past()
    assert not path.exists()
    assert verdict_of(program, Report(())) == verdict_of(program, Report(()), past=recall(program))


def test_three_prints_of_the_printer_make_it_likely(program: Program, path: Path) -> None:
    prints = noted(program, 3)
    with PrintLog(path) as log:
        log.add(
            [
                *prints[:2],
                *noted(program, 5, printer="Wren"),
                replace(prints[2], outcome=Outcome.STOPPED, layer=2),
            ]
        )
    plain = verdict_of(program, Report(())).of(Question.TIME)
    assert verdict_of(program, Report(()), past=recall(program)).of(Question.TIME) == plain
    with PrintLog(path) as log:
        log.add([replace(prints[2], uid="third")])
    past = recall(program)
    assert past.estimate is not None and past.estimate.prints == 3
    answer = verdict_of(program, Report((), start=START), past=past).of(Question.TIME)
    assert answer.headline.startswith("Likely ") and answer.headline.endswith(" min")
    assert f"{answer.headline}, from 3 prints on Heron (computed " in answer.sentence
    assert "done between 09:" in answer.sentence and "stay until the first layer is done" in answer.sentence
    assert answer.word == plain.word


@pytest.mark.parametrize(
    ("low_s", "high_s", "text"),
    [
        (5_352.0, 6_050.0, "Likely 1 h 29 to 1 h 41"),
        (3_300.0, 3_900.0, "Likely 55 min to 1 h 05"),
        (755.0, 900.0, "Likely 12 to 15 min"),
        (0.0, 20.0, "Likely 0 to 1 min"),
    ],
)
def test_a_likely_time_is_rounded_outwards(program: Program, low_s: float, high_s: float, text: str) -> None:
    estimate = Estimate(0.5 * (low_s + high_s), low_s, high_s, 12, 0, "Heron")
    assert time_amount(program.figures, Past(estimate)) == text


def test_a_damaged_or_newer_log_is_a_sentence_and_the_verdict_stands(program: Program, path: Path) -> None:
    plain = verdict_of(program, Report(())).of(Question.TIME)
    path.write_bytes(b"no data base at all" * 100)
    past = recall(program, was_printed=True)
    assert past.estimate is None and "damaged" in past.problem
    answer = verdict_of(program, Report(()), past=past).of(Question.TIME)
    assert answer.headline == plain.headline and answer.sentence == f"{plain.sentence} {past.problem}"
    path.unlink()
    PrintLog(path).close()
    with sqlite3.connect(path) as base:
        base.execute("PRAGMA user_version = 99")
    base.close()
    assert "newer Beadline" in recall(program).problem


def test_a_locked_log_is_waited_for_no_longer_than_a_sentence_takes(
    program: Program, path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    with PrintLog(path) as log:
        log.add(noted(program, 3))
    base = sqlite3.connect(path, isolation_level=None)
    base.execute("PRAGMA journal_mode = DELETE")
    base.execute("BEGIN EXCLUSIVE")
    try:
        past = recall(program, wait_s=0.05)
    finally:
        base.execute("ROLLBACK")
        base.close()
    assert "another process" in past.problem and past.estimate is None
    assert recall(program).estimate is not None


def test_console_json_and_paper_say_the_same(program: Program, path: Path, capsys: Captured) -> None:
    with PrintLog(path) as log:
        log.add(noted(program, 4))
        log.add_spool(Spool(label="A7", filament="PLA", full_g=800.0, begun=START))
    past = recall(program)
    said = verdict_of(program, Report(()), past=past).of(Question.TIME)
    assert "from 4 prints on Heron" in said.sentence
    assert main(["figures", str(WASHERS), "--json", "--spool", "a7"]) == 0
    found = json.loads(capsys.readouterr().out)
    assert found["log"]["estimate"]["prints"] == 4 and found["log"]["spool"]["label"] == "A7"
    answers = {answer["question"]: answer for answer in found["verdict"]}
    assert answers[Question.TIME.value]["headline"] == said.headline
    assert "Spool A7 (PLA) has 800 g left by the print log" in answers[Question.FILAMENT.value]["sentence"]
    assert found["filament"]["spool_after_g"] == pytest.approx(800.0 - found["filament"]["mass_g"])
    assert figures_object(program)["log"] == {"estimate": None, "spool": None, "problem": None}
    for command in ("vet", "figures"):
        main([command, str(WASHERS)])
        assert said.headline[7:] in " ".join(capsys.readouterr().out.split())
    assert said.headline[7:] in job_sheet(program, Report(()), past=past)


def test_prints_that_another_card_computed_do_not_count(program: Program, path: Path) -> None:
    """A card that was corrected must not be corrected once more for what it got wrong before."""
    old = replace(noted(program, 1)[0], printer_card=text_of_card(program.printer))
    card = structs.replace(program.printer, power_w=99.0, travel_acceleration_mm_s2=900.0)
    with PrintLog(path) as log:
        log.add([replace(old, uid=f"old {k}") for k in range(4)])
    corrected = with_cards(program, printer=card)
    past = recall(corrected)
    assert past.estimate is None and past.other_card == 4
    assert "4 prints do not count" in verdict_of(corrected, Report(()), past=past).of(Question.TIME).sentence
    assert (
        recall(with_cards(program, printer=structs.replace(program.printer, power_w=99.0))).estimate
        is not None
    )
    with PrintLog(path) as log:
        log.add([replace(old, uid=f"new {k}", printer_card=text_of_card(card)) for k in range(3)])
    found = recall(corrected)
    assert found.estimate is not None and found.estimate.prints == 3


def test_measured_motion_is_trusted_more(program: Program) -> None:
    parts = {"laying": 3000.0, "travel": 600.0, "heating": 0.0}
    history = history_of([
        replace(one, computed_s=3600.0, parts_s=parts, ended=one.started + timedelta(seconds=4320))
        for one in noted(program, 3)
    ])  # fmt: skip
    usual = corrected_estimate(parts, history, "Heron")
    measured = corrected_estimate(parts, history, "Heron", measured=True)
    assert usual is not None and measured is not None
    assert 3600.0 < measured.seconds < usual.seconds < 4320.0


def test_a_spool_that_is_too_short_is_found(program: Program, path: Path, capsys: Captured) -> None:
    with PrintLog(path) as log:
        log.add_spool(Spool(label="B2", filament="PLA", full_g=0.5, begun=START))
    main(["vet", str(WASHERS), "--spool", "B2"])
    out = " ".join(capsys.readouterr().out.split())
    assert "spool-short" in out and "g too few" in out


@pytest.mark.parametrize(
    ("asked", "said"),
    [
        (["--spool", "Z9"], "There is no spool 'Z9' in the print log"),
        (["--spool", "B2", "--spool-left", "250"], "leave out either --spool or --spool-left"),
    ],
)
def test_a_spool_that_cannot_be_used_is_a_sentence(
    path: Path, asked: list[str], said: str, capsys: Captured
) -> None:
    assert main(["vet", str(WASHERS), *asked]) == 2
    assert said in capsys.readouterr().err
    with pytest.raises(BeadlineError, match="none yet"):
        spool_of("Z9")


def test_the_overrun_takes_the_real_time_from_the_log(program: Program, path: Path, capsys: Captured) -> None:
    prints = noted(program, 2, factor=1.5)
    with PrintLog(path) as log:
        log.add([*prints, replace(prints[0], uid="x", outcome=Outcome.FAILED, started=START + timedelta(days=9),
                                  ended=START + timedelta(days=9, minutes=5))])  # fmt: skip
    took = recall(program, was_printed=True).took
    assert took is not None and took.seconds == prints[1].real_s and took.prints == 2
    assert main(["why", str(WASHERS), "--json"]) == 0
    found = json.loads(capsys.readouterr().out)["overrun"]
    assert found["actual_s"] == prints[1].real_s and found["actual_from_log"]["prints"] == 2
    said = "It took 15 min 7 s on 03 March 2026, the last of 2 prints, by the print log."
    assert took_text(Past(took=Took(907.0, prints[1].started, 2))) == said
    assert main(["why", str(WASHERS), "--took", "2h"]) == 0
    out = " ".join(capsys.readouterr().out.split())
    assert "it took 2 h" in out and "print log" not in out
