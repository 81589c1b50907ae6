"""The seven questions, always the same and always in this order, and which checks speak to which."""

from __future__ import annotations

from enum import StrEnum
from typing import Final

from viewer.checks.run import CHECKS


class Question(StrEnum):
    """A question that a keeper has before a print."""

    WHOLE = "whole"
    PRINTER = "printer"
    FILAMENT = "filament"
    FIRST_LAYER = "first layer"
    SHAPE = "shape"
    TIME = "time"
    COST = "cost"

    @property
    def asked(self) -> str:
        """The question in words."""
        return _ASKED[self]


_ASKED: Final = {
    Question.WHOLE: "Is the file whole?",
    Question.PRINTER: "Does it suit this printer?",
    Question.FILAMENT: "Does it suit this filament?",
    Question.FIRST_LAYER: "Will the first layer hold?",
    Question.SHAPE: "Can the shape be printed?",
    Question.TIME: "How long, and until when must somebody stay?",
    Question.COST: "What does it cost?",
}

_OF_THEME: Final = {
    "the file": Question.WHOLE,
    "the machine": Question.PRINTER,
    "the filament": Question.FILAMENT,
    "the first layer": Question.FIRST_LAYER,
    "the shape": Question.SHAPE,
    "time": Question.TIME,
}
_OF_SLUG: Final = {
    "spool-short": Question.COST,
    "quick-layers": Question.SHAPE,
}
"""Checks that speak to another question than the others of their theme."""

QUESTION_OF: Final = {check.slug: _OF_SLUG.get(check.slug, _OF_THEME[check.theme]) for check in CHECKS}
"""The question that each check speaks to."""
