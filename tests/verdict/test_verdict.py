"""The seven answers: which findings decide which, what is not known, and the figures of time and cost."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path

import pytest

from tests.checks.on_paper import END, START, opened, whole
from tests.shown.conftest import SAMPLES
from viewer import open_program
from viewer.checks.finding import Finding, NotChecked, Passed, Severity
from viewer.checks.run import CHECKS, report_of, run_checks
from viewer.shown.verdict_text import answer_text, verdict_object
from viewer.verdict import Answer, verdict_of
from viewer.verdict.questions import QUESTION_OF, Question


@pytest.fixture(scope="module")
def program():  # type: ignore[no-untyped-def]
    return open_program(SAMPLES / "tap_washers_bare.gcode", "heron", "pla")


def finding(slug: str, severity: Severity) -> Finding:
    return Finding(slug=slug, severity=severity, sentence=f"{slug} was found.")


def test_every_check_speaks_to_a_question_and_every_question_but_none_is_left_out() -> None:
    assert set(QUESTION_OF) == {check.slug for check in CHECKS}
    assert set(QUESTION_OF.values()) == set(Question)


def test_a_sound_program(program) -> None:  # type: ignore[no-untyped-def]
    verdict = verdict_of(program, run_checks(program, start=datetime(2026, 3, 2, 14, 30)))
    assert [one.question for one in verdict.answers] == list(Question)
    assert {one.answer for one in verdict.answers} == {Answer.YES} and verdict.worst is Answer.YES
    time = verdict.of(Question.TIME).sentence
    assert "21 min in all, until 14:51" in time and "after 5 min (14:35)" in time
    assert "0.59 EUR with 3.0 g of PLA" in verdict.of(Question.COST).sentence
    assert "safe" not in " ".join(map(answer_text, verdict.answers)).casefold()


@pytest.mark.parametrize(
    ("severity", "answer"),
    [(Severity.STOP, Answer.NO), (Severity.LOOK, Answer.LOOK), (Severity.NOTE, Answer.YES)],
)
@pytest.mark.parametrize("slug", ["cut-short", "off-plate", "wrong-heat", "topples", "mid-air-start"])
def test_a_finding_decides_its_own_question_only(
    program, slug: str, severity: Severity, answer: Answer
) -> None:  # type: ignore[no-untyped-def]
    holds = [Passed(check.slug, "It holds.") for check in CHECKS if check.slug != slug]
    verdict = verdict_of(program, report_of([finding(slug, severity), *holds]))
    for one in verdict.answers:
        mine = one.question is QUESTION_OF[slug]
        assert one.answer is (answer if mine else Answer.YES)
        assert [found.slug for found in one.findings] == ([slug] if mine else [])
    assert verdict.worst is answer


def test_the_gravest_leads_and_the_others_are_counted(program) -> None:  # type: ignore[no-untyped-def]
    found = [
        finding("wrong-heat", Severity.LOOK),
        finding("abrasive", Severity.STOP),
        finding("wrong-heat", Severity.LOOK),
    ]
    one = verdict_of(program, report_of(found)).of(Question.FILAMENT)
    assert one.answer is Answer.NO and one.sentence == "abrasive was found. (and 2 more)"


def test_what_was_not_checked_is_not_a_yes(program) -> None:  # type: ignore[no-untyped-def]
    skipped = NotChecked("mid-air-start", "Widths are not known.", also=("long-bridge", "gaps"))
    one = verdict_of(program, report_of([skipped])).of(Question.SHAPE)
    assert one.answer is Answer.UNKNOWN and one.sentence == "Widths are not known."
    assert one.not_checked[0].slugs == ("mid-air-start", "long-bridge")
    assert "2 checks of it were not made" in answer_text(one)
    failed = NotChecked("long-bridge", "It failed.", failed=True)
    report = report_of([Passed("mid-air-start", "It holds."), failed])
    assert verdict_of(program, report).of(Question.SHAPE).answer is Answer.UNKNOWN


def test_nothing_printed_and_no_price(tmp_path: Path) -> None:
    program = opened(tmp_path, START + END)
    verdict = verdict_of(program, run_checks(program))
    assert verdict.of(Question.WHOLE).answer is Answer.NO
    assert verdict.of(Question.TIME).answer is Answer.UNKNOWN


def test_as_plain_object(program) -> None:  # type: ignore[no-untyped-def]
    report = report_of([finding("gaps", Severity.LOOK), Passed("topples", "It stands.")])
    plain = verdict_object(verdict_of(program, report))
    assert [one["question"] for one in plain] == [question.value for question in Question]
    (first_layer,) = (one for one in plain if one["question"] == "first layer")
    assert first_layer == {
        "question": "first layer", "answer": "look", "sentence": "gaps was found.", "findings": ["gaps"],
        "passed": [{"slug": "topples", "sentence": "It stands."}], "not_checked": [],
    }  # fmt: skip


def test_faulty_samples_answer_no_or_look(tmp_path: Path) -> None:
    program = opened(tmp_path, whole(10)[:-200])
    verdict = verdict_of(program, run_checks(program))
    assert verdict.of(Question.WHOLE).answer is Answer.NO
