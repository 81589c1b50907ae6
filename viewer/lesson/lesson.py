"""`lesson_of`: the lesson of one program, step by step."""

from __future__ import annotations

from viewer.lesson.facts import Facts
from viewer.lesson.rule import Rule
from viewer.lesson.step import Lesson, Step
from viewer.lesson.table import RULES
from viewer.lesson.words import words_in
from viewer.program import Program
from viewer.shape import ShapeFigures


def lesson_of(program: Program, shape: ShapeFigures | None = None) -> Lesson:
    """Return the lesson of a program: those steps of `RULES` that apply to it, in their order.

    Parameters
    ----------
    shape
        What was measured of its shape (`viewer.checks.run.Report.shape`); None: it is measured here, which takes
        as long as the checks do.

    Returns
    -------
    Lesson
        Without any step where the program lays no bead. The words of a step are those that no step before it has.
    """
    facts = Facts(program, shape)
    known: set[str] = set()
    steps: list[Step] = []
    for rule in RULES:
        if program.figures.layers.count and rule.applies(facts):
            steps.append(_step(rule, facts, known))
            known.update(steps[-1].words)
    return Lesson(program.path.name, tuple(steps))


def _step(rule: Rule, facts: Facts, known: set[str]) -> Step:
    sentences, question = rule.says(facts), rule.asks(facts)
    asked = () if question is None else (question.text, *question.choices, question.reason)
    texts = (rule.title, *sentences, *asked, rule.look_for, rule.caution)
    return Step(
        slug=rule.slug,
        title=rule.title,
        sentences=sentences,
        words=tuple(key for key in words_in(*texts) if key not in known),
        view=rule.view(facts),
        question=question,
        look_for=rule.look_for,
        caution=rule.caution,
    )
