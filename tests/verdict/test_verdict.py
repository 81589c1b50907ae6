"""The seven answers: which finding decides, when an answer is not known, and what stands behind it."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime
from pathlib import Path

import pytest

from tests.checks.on_paper import opened, whole
from tests.conftest import SAMPLES
from viewer import open_program, verdict_of
from viewer.checks.finding import Finding, NotChecked, Passed, Severity
from viewer.checks.run import CHECKS, Report, run_checks
from viewer.jit import compiler_is_off
from viewer.program import Program
from viewer.verdict import Question, Word

START = datetime(2024, 5, 6, 14, 30)


@pytest.fixture
def program(tmp_path: Path) -> Program:
    return opened(tmp_path, whole())


def report(*outcomes: Finding | Passed | NotChecked) -> Report:
    return Report(
        findings=tuple(one for one in outcomes if isinstance(one, Finding)),
        not_checked=tuple(one for one in outcomes if isinstance(one, NotChecked)),
        passed=tuple(one for one in outcomes if isinstance(one, Passed)),
    )


def finding(slug: str, severity: Severity, **more: object) -> Finding:
    return Finding(slug=slug, severity=severity, sentence=f"Found by {slug}.", **more)  # type: ignore[arg-type]


def test_every_check_answers_a_question_and_every_question_but_cost_has_checks() -> None:
    assert {check.answers for check in CHECKS} == set(Question) - {Question.COST}


def test_always_the_same_seven_in_the_same_order(program: Program) -> None:
    assert [answer.question for answer in verdict_of(program, report()).answers] == list(Question)


@pytest.mark.parametrize(
    ("severity", "word", "headline"),
    [
        (Severity.STOP, Word.NO, "No"),
        (Severity.LOOK, Word.LOOK, "Look"),
        (Severity.NOTE, Word.YES, "Yes"),
    ],
)
def test_the_gravest_finding_decides(program: Program, severity: Severity, word: Word, headline: str) -> None:
    held = Passed("cut-short", "The end is there.")
    answer = verdict_of(program, report(finding("garbled", severity), held)).of(Question.WHOLE)
    assert (answer.word, answer.headline) == (word, headline)
    assert answer.sentence == ("The end is there." if word is Word.YES else "Found by garbled.")
    assert [one.slug for one in answer.findings] == ["garbled"] and answer.passed == (held,)


def test_several_are_counted(program: Program) -> None:
    found = [finding(slug, Severity.LOOK) for slug in ("long-bridge", "thin-feature")]
    noted = finding("bare-travel", Severity.NOTE)
    answer = verdict_of(program, report(*found, noted)).of(Question.SHAPE)
    assert answer.headline == "Look at 2" and len(answer.findings) == 3


def test_not_known_without_the_decisive_check(program: Program) -> None:
    held = Passed("too-hot-for-machine", "Nozzle at most 210 of 275 degC.")
    skipped = NotChecked("off-plate", "The plate size is unknown.")
    answer = verdict_of(program, report(held, skipped)).of(Question.PRINTER)
    assert (answer.word, answer.sentence) == (Word.NOT_KNOWN, "The plate size is unknown.")
    assert answer.not_checked == (skipped,)


def test_not_known_where_a_check_failed(program: Program) -> None:
    held = Passed("mid-air-start", "Every piece begins on something.")
    failed = NotChecked("long-bridge", "It met an error.", failed=True)
    assert verdict_of(program, report(held, failed)).of(Question.SHAPE).word is Word.NOT_KNOWN


def test_what_was_left_out_of_less_weight_is_no_doubt(program: Program) -> None:
    held = Passed("wrong-heat", "Nozzle at 210 degC.")
    skipped = NotChecked("spool-short", "What is left is unknown.")
    answer = verdict_of(program, report(held, skipped)).of(Question.FILAMENT)
    assert answer.word is Word.YES and answer.not_checked == (skipped,)


def test_nothing_made_is_not_known(program: Program) -> None:
    assert verdict_of(program, report()).of(Question.SHAPE).word is Word.NOT_KNOWN


def test_a_finding_may_bear_on_another_question_than_its_check(program: Program) -> None:
    found = finding("made-for", Severity.LOOK, question=Question.PRINTER)
    verdict = verdict_of(program, report(found))
    assert verdict.of(Question.PRINTER).word is Word.LOOK and not verdict.of(Question.FILAMENT).findings


def test_time_and_cost_are_answered_by_amounts(program: Program) -> None:
    made = verdict_of(program, run_checks(program, start=START))
    time, cost = made.of(Question.TIME), made.of(Question.COST)
    assert time.headline.endswith(("s", "min")) and "is done at 14:3" in time.sentence
    assert cost.headline == f"{program.figures.filament.cost:.2f} EUR" and cost.headline in cost.sentence


def test_the_cost_is_looked_at_where_the_program_was_made_for_another_filament(program: Program) -> None:
    other = finding(
        "nozzle-mismatch", Severity.LOOK, value=2.94, limit=1.75, unit="mm", question=Question.FILAMENT
    )
    cost = verdict_of(program, report(other)).of(Question.COST)
    assert cost.word is Word.LOOK and cost.headline.endswith("EUR")
    assert cost.sentence.endswith("It counts filament of 1.75 mm, and the program was made for 2.94 mm.")
    assert cost.findings == (other,)
    assert cost.brief.startswith("For filament of 1.75 mm, not 2.94 mm; ")
    noted = verdict_of(program, report(replace(other, severity=Severity.NOTE)))
    assert noted.of(Question.COST).word is Word.YES


def test_without_a_price_the_cost_is_not_known(tmp_path: Path) -> None:
    free = opened(tmp_path, whole(), {"filament": {"price_per_kg": None}})
    answer = verdict_of(free, report()).of(Question.COST)
    assert answer.word is Word.NOT_KNOWN and "no price" in answer.sentence


@pytest.mark.skipif(compiler_is_off(), reason="layers of a million cells: needs the compiler")
def test_a_good_sample_has_seven_good_answers_with_evidence() -> None:
    program = open_program(SAMPLES / "tap_washer_tray.gcode")
    verdict = verdict_of(program)
    assert verdict.worst is Word.YES
    assert all(
        answer.passed for answer in verdict.answers if answer.question not in (Question.TIME, Question.COST)
    )
    told = " ".join(answer.sentence for answer in verdict.answers)
    assert "go off in lines" in told and "mm or more inside the plate" in told and "185 to 230" in told
    assert " safe" not in told


def test_a_yes_with_a_note_shows_no_limit_that_is_exceeded(program: Program) -> None:
    small = finding("mid-air-start", Severity.NOTE, value=1.44, limit=0.5, unit="mm2")
    told = "In layer 17 a piece of 1.4 mm2 begins in mid-air; it is small, and may be support."
    answer = verdict_of(program, report(replace(small, sentence=told))).of(Question.SHAPE)
    assert answer.word is Word.YES and answer.sentence == told
    assert answer.brief == "Note: starts in mid-air: 1.44 mm2"


def test_in_few_words_it_says_value_and_limit(program: Program) -> None:
    cold = finding("wrong-heat", Severity.STOP, value=150.0, limit=185.0, unit="degC")
    long = [
        finding("long-bridge", Severity.LOOK, value=30.1, limit=10.0, unit="mm"),
        finding("thin-feature", Severity.LOOK),
        finding("steep-overhang", Severity.NOTE),
    ]
    cut = finding("cut-short", Severity.STOP, value=0.8, limit=1.0, unit="of the program, by its own claims")
    verdict = verdict_of(program, report(cold, *long, cut, finding("garbled", Severity.LOOK)))
    assert verdict.of(Question.FILAMENT).brief == "Found by wrong-heat."  # it is short itself
    assert verdict.of(Question.SHAPE).brief == "Long bridge: 30.1 mm, limit 10; Thin wall or post"
    assert verdict.of(Question.WHOLE).brief == "Cut short; Garbled text"
    driven = finding("drives-into-print", Severity.STOP, value=3.02, limit=0.561, unit="mm deep")
    told = verdict_of(program, report(replace(driven, sentence="x" * 60))).of(Question.PRINTER).brief
    assert told == "Nozzle driven into the print: 3.02 mm deep, limit 0.561", "no card says how deep it may"
    assert verdict.of(Question.PRINTER).brief == "What matters most could not be judged"
    edges = [
        finding("off-plate", Severity.STOP, value=-value, limit=0.0, unit="mm in Y") for value in (44.0, 5.0)
    ]
    both = verdict_of(program, report(*edges))  # the same thing is not named twice
    assert both.of(Question.PRINTER).brief == "Found by off-plate, and 1 more"
    checked = verdict_of(program, start=START)
    assert checked.of(Question.TIME).brief == "Done at 14:33; stay until 14:33"
    assert checked.of(Question.PRINTER).brief == "50 mm inside the plate, 1 of 250 mm high"
    assert checked.of(Question.SHAPE).brief == "Layers too quick to set: 1.75 s, the card says 5"
    assert checked.of(Question.WHOLE).brief == "Nozzle, plate, motors off by line 39"
    assert all(len(answer.brief) <= 80 for answer in checked.answers)
