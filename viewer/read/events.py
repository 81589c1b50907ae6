"""The `Events` columns: what happens between moves (heat, fan, dwell, homing, limits, tool, message ...)."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from viewer.arrays import F64, I32, U8


@dataclass(frozen=True, slots=True, eq=False)
class Events:
    """One row a command that is neither a motion nor a pure change of modes (G90, G92, M83 ...).

    The words of row ``i`` are ``word_letter[first_word[i]:first_word[i + 1]]`` and the same slice of
    ``word_value``. A letter without a value has the value NaN.
    """

    letter: U8  # (n,) ord of "G", "M" or "T"
    code: I32  # (n,) ten times the number: M104 -> 1040, G29.2 -> 292, T1 -> 10
    line: I32  # (n,) from 1
    move: I32  # (n,) index of the next move: the event comes before it
    first_word: I32  # (n + 1,)
    word_letter: U8  # (words,)
    word_value: F64  # (words,) as written (no unit conversion)

    @classmethod
    def empty(cls) -> Events:
        """Return the events of a program that has none."""
        return cls(
            letter=np.zeros(0, np.uint8),
            code=np.zeros(0, np.int32),
            line=np.zeros(0, np.int32),
            move=np.zeros(0, np.int32),
            first_word=np.zeros(1, np.int32),
            word_letter=np.zeros(0, np.uint8),
            word_value=np.zeros(0),
        )

    def __len__(self) -> int:
        """Return the number of rows."""
        return len(self.code)

    def rows(self, letter: str, number: float) -> npt.NDArray[np.intp]:
        """Return the row numbers of one command, e.g. ``rows("M", 104)``."""
        wanted = (self.letter == ord(letter)) & (self.code == round(number * 10))
        return np.flatnonzero(wanted)

    def words(self, row: int) -> dict[str, float]:
        """Return the words of one row: letter to value (NaN where none); the first of a doubled letter wins."""
        lo, hi = int(self.first_word[row]), int(self.first_word[row + 1])
        found: dict[str, float] = {}
        for k in range(lo, hi):
            found.setdefault(chr(self.word_letter[k]), float(self.word_value[k]))
        return found

    def values(self, letter: str, rows: npt.NDArray[np.intp]) -> F64:
        """Return the value of one word for many rows, NaN where the word is missing: (len(rows),)."""
        result = np.full(len(self), np.nan)
        hits = np.flatnonzero(self.word_letter == ord(letter))[
            ::-1
        ]  # reversed: the first of a doubled letter wins
        owners = np.searchsorted(self.first_word, hits, side="right") - 1
        result[owners] = self.word_value[hits]
        return result[rows]
