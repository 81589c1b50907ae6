"""`Rule`: one row of the table of steps; what it says is made from the facts of a program."""

from __future__ import annotations

from collections.abc import Callable
from typing import NamedTuple

from viewer.lesson.facts import Facts
from viewer.lesson.step import Question, StepView


def no_question(_facts: Facts) -> Question | None:
    """Ask nothing."""
    return None


class Rule(NamedTuple):
    """When a step is part of a lesson, and what it shows, says and asks."""

    slug: str
    title: str
    applies: Callable[[Facts], bool]
    view: Callable[[Facts], StepView]
    says: Callable[[Facts], tuple[str, ...]]  # one or two sentences, at most 20 words each
    asks: Callable[[Facts], Question | None] = no_question
    look_for: str = ""
    caution: str = ""
