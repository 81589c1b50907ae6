"""The lesson of a program as a plain object: what ``lesson --json`` prints."""

from __future__ import annotations

from typing import Any

from viewer.layers.layers import ROLE_NAMES
from viewer.lesson.lesson import lesson_of
from viewer.lesson.step import Lesson, Step, StepView
from viewer.lesson.words import word
from viewer.program import Program
from viewer.shown.data import SCHEMA


def lesson_object(program: Program, lesson: Lesson | None = None) -> dict[str, Any]:
    """Return the lesson of a program, the object that ``lesson --json`` prints.

    Layers count from 1 here, beads are told by their line, roles by their name.

    Parameters
    ----------
    lesson
        Of this program; None: it is made here.
    """
    lesson = lesson_of(program) if lesson is None else lesson
    return {
        "schema": SCHEMA,
        "path": str(program.path),
        "printer": program.printer.name,
        "filament": program.filament.name,
        "steps": [_step_object(program, step) for step in lesson.steps],
    }


def _step_object(program: Program, step: Step) -> dict[str, Any]:
    question = step.question
    return {
        "slug": step.slug,
        "title": step.title,
        "sentences": list(step.sentences),
        "words": [{"term": word(key).term, "what": word(key).what} for key in step.words],
        "view": _view_object(program, step.view),
        "question": None
        if question is None
        else {
            "text": question.text,
            "choices": list(question.choices),
            "right": question.right,
            "reason": question.reason,
        },
        "look_for": step.look_for,
        "caution": step.caution or None,
    }


def _view_object(program: Program, view: StepView) -> dict[str, Any]:
    return {
        "layer": None if view.layer is None else view.layer + 1,
        "line": None if view.bead is None else int(program.moves.line[view.bead]),
        "box_mm": None if view.box_mm is None else list(view.box_mm),
        "lit_roles": [ROLE_NAMES[role] for role in view.lit_roles],
        "whole_part": view.whole_part,
        "cut": view.cut,
    }
