"""The lines that a view shows: fetched from the file around what is in view, and kept for the next painting."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Final

from viewer.errors import ReadError
from viewer.read.texts import LINES_APART, SHOWN_BYTES, Texts
from viewer.read.words import Word, split_line

KEPT_BLOCKS: Final = 32
"""Blocks of 128 lines that are kept: some hundred kB."""
ELLIPSIS: Final = " …"


@dataclass(slots=True)
class Line:
    """One line as it is shown: text and words have the same places."""

    text: str
    """Control characters as a middle dot, at most 4096 characters and an ellipsis."""
    words: tuple[Word, ...]


@dataclass(slots=True)
class LineSource:
    """Lines of one program by number."""

    texts: Texts
    problem: str = ""
    """Why lines cannot be fetched, a sentence; "" while they can."""
    _blocks: dict[int, list[str]] = field(default_factory=dict)
    _lines: dict[int, Line] = field(default_factory=dict)

    @property
    def count(self) -> int:
        """How many lines there are."""
        return self.texts.lines

    def raw(self, number: int) -> str:
        """Return one line as the file has it (at most 4096 bytes), "" where there is none or it cannot be read."""
        block = self._block((number - 1) // LINES_APART)
        row = (number - 1) % LINES_APART
        return block[row] if 1 <= number <= self.count and row < len(block) else ""

    def line(self, number: int) -> Line:
        """Return one line ready to be painted."""
        found = self._lines.get(number)
        if found is None:
            raw = self.raw(number)
            found = Line(shown_text(raw), split_line(raw))
            if self.problem:
                return found
            if len(self._lines) > KEPT_BLOCKS * LINES_APART:
                self._lines.clear()
            self._lines[number] = found
        return found

    def _block(self, number: int) -> list[str]:
        found = self._blocks.get(number)
        if found is not None:
            return found
        if self.problem:  # a drive that is gone is not asked again at each painting
            return []
        try:
            found = self.texts.fetch(number * LINES_APART + 1, LINES_APART)
        except ReadError as problem:
            self.problem = str(problem)
            return []
        if len(self._blocks) >= KEPT_BLOCKS:
            del self._blocks[next(iter(self._blocks))]
        self._blocks[number] = found
        return found


def shown_text(raw: str) -> str:
    """Return a line with every character one column wide, and an ellipsis where it was clipped."""
    text = "".join([" " if c == "\t" else "·" if not c.isprintable() else c for c in raw])
    clipped = len(raw) >= SHOWN_BYTES or len(raw.encode("utf-8", "replace")) >= SHOWN_BYTES
    return text + ELLIPSIS if clipped else text
