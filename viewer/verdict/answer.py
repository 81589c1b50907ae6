"""What a verdict is made of: seven answers, each with the evidence behind it."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import TYPE_CHECKING

from viewer.checks.questions import Question

if TYPE_CHECKING:  # not at run time: the window's start imports answers, but need not wait for the engine
    from viewer.checks.finding import Finding, NotChecked, Passed


class Word(StrEnum):
    """The answer in a word. It never says that a print is safe: only what the checks that were made can tell."""

    YES = "yes"
    """Nothing was found that speaks against it, and what matters most was checked."""
    LOOK = "look"
    """Something should be looked at first."""
    NO = "no"
    """It will surely fail or do harm."""
    NOT_KNOWN = "not known"
    """What matters most could not be checked."""

    @property
    def rank(self) -> int:
        """0 for no, 1 for look, 2 for not known, 3 for yes: the gravest first."""
        return ("no", "look", "not known", "yes").index(self.value)


@dataclass(frozen=True, slots=True, kw_only=True)
class Answer:
    """The answer to one question, and everything that it rests on."""

    question: Question
    word: Word
    headline: str
    """A few words: ``Yes``, ``Look at 3``, ``Not known``; of time and cost the amount."""
    sentence: str
    """What decides, with the measured value and its limit; units in ASCII, as in findings."""
    brief: str = ""
    """The same in few words, no sentence, for where there is little room."""
    findings: tuple[Finding, ...] = ()
    """Those that bear on the question, notes too, the gravest first."""
    passed: tuple[Passed, ...] = ()
    """The checks that found nothing, with their evidence."""
    not_checked: tuple[NotChecked, ...] = ()
    """What was not checked, and why."""


@dataclass(frozen=True, slots=True)
class Verdict:
    """The seven answers, in the order of `Question`."""

    answers: tuple[Answer, ...]

    def of(self, question: Question) -> Answer:
        """Return the answer to one question."""
        return next(answer for answer in self.answers if answer.question is question)

    @property
    def worst(self) -> Word:
        """The gravest answer."""
        return min((answer.word for answer in self.answers), key=lambda word: word.rank)
