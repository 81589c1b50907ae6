"""How many lines a program says it has, beside how many there are."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from viewer.program import Program
from viewer.read.comments.dialect import fold, word_set
from viewer.read.notes import DOUBTFUL, MESSAGE, OWN_LINE, WORD_COMMAND

_COUNTED: Final = word_set("total number count num nr")
_ALLOWED: Final = _COUNTED | word_set("line of in the this code gcode g program file command has is no all")


@dataclass(frozen=True, slots=True)
class StatedLines:
    """A number of lines that the program states about itself."""

    stated: int
    there: int
    line: int
    """Where it is stated, from 1."""

    @property
    def agrees(self) -> bool:
        """Whether all are there: a writer counts line ends or lines, so one less is all, too."""
        return self.stated in (self.there, self.there - 1)

    @property
    def is_short(self) -> bool:
        """Whether lines are missing. More lines than stated prove nothing: somebody may have added some."""
        return self.stated > self.there


def stated_lines(program: Program) -> StatedLines | None:
    """Return the number of lines that a comment states; None where none does, or several that differ.

    A number in the last line counts only where that line has its end: it may have lost digits.
    """
    notes, there = program.notes, program.tally.lines
    shapes = {
        number
        for number, (text, flags) in enumerate(zip(notes.shape_text, notes.shape_flags, strict=True))
        if flags & OWN_LINE and not flags & (WORD_COMMAND | DOUBTFUL | MESSAGE) and _counts_lines(text)
    }
    found: dict[int, int] = {}
    for row, shape in enumerate(notes.shape.tolist() if shapes else ()):
        value, line = float(notes.first[row]), int(notes.line[row])
        is_torn = program.tally.unterminated and line == there
        if shape in shapes and value.is_integer() and value > 0.0 and not is_torn:
            found.setdefault(int(value), line)
    if len(found) != 1:
        return None
    ((stated, line),) = found.items()
    return StatedLines(stated, there, line)


def _counts_lines(text: str) -> bool:
    """Whether a comment counts the lines of the program (``total lines: 4711``, ``4711 lines in this file``)."""
    if len(text) > 60 or sum(1 for part in text.replace(",", "").split() if any(map(str.isdigit, part))) != 1:
        return False
    words = frozenset(fold(text))
    return "line" in words and words <= _ALLOWED and bool(words & (_COUNTED | {"file", "program"}))
