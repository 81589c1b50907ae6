"""From what the checks found to answers: which finding decides, and when an answer is not known."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from datetime import datetime
from typing import Final, NamedTuple, Protocol, TypeVar

from viewer.checks.finding import Finding, NotChecked, Passed, Severity
from viewer.checks.questions import Question
from viewer.checks.run import QUESTIONS, Report, question_of, run_checks
from viewer.numerals import number_text
from viewer.printlog.past import Past
from viewer.program import Program
from viewer.verdict.amounts import (
    cost_amount,
    cost_brief,
    cost_sentence,
    spool_sentence,
    time_amount,
    time_brief,
    time_sentence,
)
from viewer.verdict.answer import Answer, Verdict, Word
from viewer.verdict.brief import (
    brief_findings,
    brief_not_checked,
    brief_note,
    brief_passed,
    is_other_filament,
)

DECISIVE: Final = {
    Question.WHOLE: "cut-short",
    Question.PRINTER: "off-plate",
    Question.FILAMENT: "wrong-heat",
    Question.FIRST_LAYER: "topples",
    Question.SHAPE: "mid-air-start",
}
"""The check without which a question is not answered; its evidence is the sentence of a yes."""


class Amount(NamedTuple):
    """The answer to a question of how much."""

    headline: str | None
    """None: not known."""
    sentence: str
    brief: str


class _Told(Protocol):
    @property
    def slug(self) -> str: ...


_T = TypeVar("_T", bound=_Told)


def verdict_of(
    program: Program, report: Report | None = None, start: datetime | None = None, past: Past | None = None
) -> Verdict:
    """Return the answers to the seven questions about a program.

    Parameters
    ----------
    report
        What the checks found; None: they are run here.
    start
        When the print starts, where the checks are run here; a report knows its own.
    past
        What the print log says (`viewer.printlog.recall`); without it times are as computed.

    Notes
    -----
    A stop makes a question's answer *no*, a look *look*; a note changes nothing. It is *not known* where a check of
    it failed, and where its decisive check was not made or had nothing to judge (`DECISIVE`).
    """
    if report is None:
        report = run_checks(program, start=start)
    figures, start, past = program.figures, report.start, past or Past()
    amounts = {
        Question.TIME: Amount(
            time_amount(figures, past), time_sentence(figures, start, past), time_brief(figures, start, past)
        ),
        Question.COST: Amount(cost_amount(figures), cost_sentence(figures), cost_brief(figures)),
    }
    answers = [_answer(question, report, amounts.get(question)) for question in Question]
    if spool := spool_sentence(program.figures, past):
        at = list(Question).index(Question.FILAMENT)
        answers[at] = replace(answers[at], sentence=f"{answers[at].sentence} {spool}")
    return Verdict(tuple(_doubted(answer, report) for answer in answers))


def _doubted(answer: Answer, report: Report) -> Answer:
    """Return an answer; of the cost, that it was computed for another filament than the program was made for."""
    other = next((one for one in report.findings if is_other_filament(one)), None)
    if answer.question is not Question.COST or answer.word is not Word.YES:
        return answer
    if other is None or other.severity is Severity.NOTE or other.value is None or other.limit is None:
        return answer
    ours, theirs = number_text(other.limit), number_text(other.value)
    more = f"It counts filament of {ours} mm, and the program was made for {theirs} mm."
    brief = f"For filament of {ours} mm, not {theirs} mm"
    return replace(
        answer, word=Word.LOOK, sentence=f"{answer.sentence} {more}", brief=f"{brief}; {answer.brief}",
        findings=(*answer.findings, other),
    )  # fmt: skip


def _answer(question: Question, report: Report, amount: Amount | None) -> Answer:
    findings = tuple(one for one in report.findings if question_of(one) is question)
    passed = tuple(_of(question, report.passed))
    not_checked = tuple(
        one for one in report.not_checked if any(QUESTIONS[slug] is question for slug in one.slugs)
    )
    grave = tuple(one for one in findings if one.severity is not Severity.NOTE)
    if amount is None:
        word, sentence, brief = _judged(question, findings, passed, not_checked)
        headline = _headline(word, grave)
    else:
        word, headline, sentence = _amounted(grave, amount)
        brief = f"{brief_findings(grave)}; {amount.brief}" if grave else amount.brief
    return Answer(
        question=question, word=word, headline=headline, sentence=sentence, brief=brief,
        findings=findings, passed=passed, not_checked=not_checked,
    )  # fmt: skip


def _of(question: Question, told: Iterable[_T]) -> Iterable[_T]:
    return (one for one in told if QUESTIONS[one.slug] is question)


def _gravest(findings: tuple[Finding, ...]) -> Word:
    return Word.NO if findings[0].severity is Severity.STOP else Word.LOOK


def _judged(
    question: Question,
    findings: tuple[Finding, ...],
    passed: tuple[Passed, ...],
    not_checked: tuple[NotChecked, ...],
) -> tuple[Word, str, str]:
    """Return the word and what decides it, in a sentence and in few words."""
    grave = [one for one in findings if one.severity is not Severity.NOTE]
    if grave:
        return _gravest(findings), grave[0].sentence, brief_findings(grave)
    slug = DECISIVE[question]
    missing = [one for one in not_checked if one.failed or slug in one.slugs]
    if missing:
        return Word.NOT_KNOWN, missing[0].sentence, brief_not_checked(missing[0])
    decisive = [(one.sentence, brief_passed(one)) for one in passed if one.slug == slug]
    decisive += [(one.sentence, brief_note(one)) for one in findings if one.slug == slug]
    if decisive:
        return Word.YES, *decisive[0]
    what = f"What matters most here could not be judged (`beadline explain {slug}`)."
    return Word.NOT_KNOWN, what, "What matters most could not be judged"


def _amounted(grave: tuple[Finding, ...], amount: Amount) -> tuple[Word, str, str]:
    """Return word, headline and sentence where an amount answers; a grave finding about it stands first."""
    headline = amount.headline or "Not known"
    if grave:
        return _gravest(grave), headline, f"{grave[0].sentence} {amount.sentence}"
    return Word.NOT_KNOWN if amount.headline is None else Word.YES, headline, amount.sentence


def _headline(word: Word, grave: tuple[Finding, ...]) -> str:
    if word is Word.LOOK and len(grave) > 1:
        return f"Look at {len(grave)}"
    return word.value.capitalize()
