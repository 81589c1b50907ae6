"""`verdict_of`: the seven answers of a program, from its figures and the report of the checks."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum
from typing import Final

from viewer.checks.evidence import in_words
from viewer.checks.finding import Finding, NotChecked, Passed, Severity
from viewer.checks.run import Report
from viewer.program import Program
from viewer.timing import clock_time, minute_up
from viewer.verdict.questions import QUESTION_OF, Question


class Answer(StrEnum):
    """What a question is answered with; never that a program is safe."""

    YES = "yes"
    LOOK = "look"
    NO = "no"
    UNKNOWN = "not known"

    @property
    def rank(self) -> int:
        """0 for the gravest."""
        return ("no", "look", "not known", "yes").index(self.value)


@dataclass(frozen=True, slots=True)
class Answered:
    """One question and its answer, with the evidence behind it."""

    question: Question
    answer: Answer
    sentence: str
    """The worst that was found, else what holds, with what was measured and its limit."""
    findings: tuple[Finding, ...]
    """The gravest first; notes too, though they do not change the answer."""
    passed: tuple[Passed, ...]
    not_checked: tuple[NotChecked, ...]


@dataclass(frozen=True, slots=True)
class Verdict:
    """The seven answers, in the order of `Question`."""

    answers: tuple[Answered, ...]

    @property
    def worst(self) -> Answer:
        """The gravest answer."""
        return min((one.answer for one in self.answers), key=lambda answer: answer.rank)

    def of(self, question: Question) -> Answered:
        """Return the answer to one question."""
        return next(one for one in self.answers if one.question is question)


LEAD: Final[Mapping[Question, tuple[str, ...]]] = {
    Question.WHOLE: ("cut-short", "no-shutdown"),
    Question.PRINTER: ("off-plate", "too-hot-for-machine"),
    Question.FILAMENT: ("wrong-heat",),
    Question.FIRST_LAYER: ("topples", "gaps"),
    Question.SHAPE: ("mid-air-start", "long-bridge"),
    Question.TIME: (),
    Question.COST: (),
}
"""Whose evidence stands in the sentence where nothing was found."""


def verdict_of(program: Program, report: Report) -> Verdict:
    """Return the verdict of a program.

    Parameters
    ----------
    program
        With its cards.
    report
        What `viewer.checks.run.run_checks` returned for it, with the start of the print if that is known.

    Notes
    -----
    *No*: a finding says stop. *Look*: one says look. *Not known*: no finding says either, and nothing speaks for a yes,
    or a check that belongs to the question failed of itself. *Yes*: what was checked holds. Time and cost are answered
    by their figures.
    """
    return Verdict(tuple(_answered(question, program, report) for question in Question))


def _answered(question: Question, program: Program, report: Report) -> Answered:
    found = tuple(one for one in report.findings if QUESTION_OF.get(one.slug) is question)
    holds = tuple(one for one in report.passed if QUESTION_OF.get(one.slug) is question)
    skipped = tuple(_part_of(one, question) for one in report.not_checked if _speaks_to(one, question))
    grave = [one for one in found if one.severity is not Severity.NOTE]
    figure = _figure(question, program, report.start)
    if grave:
        answer = Answer.NO if grave[0].severity is Severity.STOP else Answer.LOOK
        more = f" (and {len(grave) - 1} more)" if len(grave) > 1 else ""
        sentence = f"{grave[0].sentence}{more}"
        if figure:
            sentence = f"{figure} {sentence}"
    elif figure:
        answer, sentence = Answer.YES, figure
    elif question in (Question.TIME, Question.COST):
        answer, sentence = Answer.UNKNOWN, _no_figure(question, program)
    elif not holds or any(one.failed for one in skipped):
        answer, sentence = Answer.UNKNOWN, skipped[0].sentence if skipped else "Nothing of it was checked."
    else:
        answer, sentence = Answer.YES, _lead(question, holds)
    return Answered(question, answer, sentence, found, holds, skipped)


def _speaks_to(one: NotChecked, question: Question) -> bool:
    return any(QUESTION_OF.get(slug) is question for slug in one.slugs)


def _part_of(one: NotChecked, question: Question) -> NotChecked:
    """Return what was not checked with the checks of one question only."""
    first, *others = (slug for slug in one.slugs if QUESTION_OF.get(slug) is question)
    return NotChecked(first, one.sentence, one.failed, tuple(others))


def _lead(question: Question, holds: Iterable[Passed]) -> str:
    by_slug = {one.slug: one.sentence for one in holds}
    told = [by_slug[slug] for slug in LEAD[question] if slug in by_slug]
    return " ".join(told or list(by_slug.values())[:1])


def _figure(question: Question, program: Program, start: datetime | None) -> str:
    """Return the figure that answers time or cost; "" where there is none, or for another question."""
    if question is Question.TIME:
        return _how_long(program, start)
    if question is Question.COST:
        return _cost(program)
    return ""


def _how_long(program: Program, start: datetime | None) -> str:
    time = program.figures.time
    if not len(program.layers):
        return ""
    said, done = f"{in_words(time.total_s)} in all", time.first_layer_done_s
    if start is not None:
        said += f", until {minute_up(clock_time(start, time.total_s)):%H:%M}"
    if done is not None:
        said += f"; somebody stays until layer 1 is done, after {in_words(done)}"
        if start is not None:
            said += f" ({minute_up(clock_time(start, done)):%H:%M})"
    if time.pauses:
        said += f"; somebody answers {len(time.pauses)} pause{'s' if len(time.pauses) > 1 else ''}"
    if time.uncounted:
        said += f"; how long {time.uncounted[0].name} takes is not counted"
    return f"{said}."


def _cost(program: Program) -> str:
    filament = program.figures.filament
    if filament.cost is None:
        return ""
    return f"{filament.cost:.2f} {filament.currency} with {filament.mass_g:.1f} g of {program.filament.name}."


def _no_figure(question: Question, program: Program) -> str:
    if question is Question.TIME:
        return "Nothing is printed."
    return (
        f"{program.figures.filament.mass_g:.1f} g of {program.filament.name}; its card has no price, so the cost is not "
        "known."
    )
