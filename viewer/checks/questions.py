"""The seven questions that a keeper asks before printing; every check helps to answer one of them."""

from __future__ import annotations

from enum import StrEnum


class Question(StrEnum):
    """What a keeper wants to know; the order of the members is the order in which they are always shown."""

    WHOLE = "whole"
    PRINTER = "printer"
    FILAMENT = "filament"
    FIRST_LAYER = "first layer"
    SHAPE = "shape"
    TIME = "time"
    COST = "cost"

    @property
    def asked(self) -> str:
        """The question in full."""
        return _ASKED[self]


_ASKED = {
    Question.WHOLE: "Is the file whole?",
    Question.PRINTER: "Does it suit this printer?",
    Question.FILAMENT: "Does it suit this filament?",
    Question.FIRST_LAYER: "Will the first layer hold?",
    Question.SHAPE: "Can the shape be printed?",
    Question.TIME: "How long, and until when must somebody stay?",
    Question.COST: "What does it cost?",
}

BY_THEME = {
    "the file": Question.WHOLE,
    "the machine": Question.PRINTER,
    "the filament": Question.FILAMENT,
    "the first layer": Question.FIRST_LAYER,
    "the shape": Question.SHAPE,
    "time": Question.TIME,
}
"""The question that the checks of a theme answer, unless a check names another (`Check.question`)."""
