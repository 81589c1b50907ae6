"""The `Notes` columns: where comments and word commands stand; what they mean is looked up once a shape."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from viewer.arrays import F64, I32, I64, U8

OWN_LINE = 1
"""The comment stands on a line of its own."""
WORD_COMMAND = 2
"""A line ``NAME KEY=VALUE ...``."""
DOUBTFUL = 4
"""Text that lost its comment mark: not executed."""
MESSAGE = 8
"""What M117 or M118 shows."""


@dataclass(frozen=True, slots=True, eq=False)
class Notes:
    """One row a comment, word command or message.

    A comment behind a command that repeats the one before it is not stored again. Texts that differ
    only in case and digits have one `shape`.
    """

    offset: I64  # (n,) of the text in the plain file, bytes
    length: I32  # (n,) of the text, bytes
    line: I32  # (n,) from 1
    move: I32  # (n,) index of the next move
    flags: U8  # (n,) OWN_LINE ...
    shape: I32  # (n,) number of its shape
    exact: npt.NDArray[np.uint64]  # (n,) hash of the text itself
    first: F64  # (n,) first number in the text, NaN: none
    second: F64  # (n,) second number
    shape_text: tuple[str, ...]  # one text of each shape
    shape_flags: tuple[int, ...]

    @classmethod
    def empty(cls) -> Notes:
        """Return the notes of a program that has none."""
        none = np.zeros(0, np.int32)
        return cls(
            offset=np.zeros(0, np.int64),
            length=none,
            line=none,
            move=none,
            flags=np.zeros(0, np.uint8),
            shape=none,
            exact=np.zeros(0, np.uint64),
            first=np.zeros(0),
            second=np.zeros(0),
            shape_text=(),
            shape_flags=(),
        )

    def __len__(self) -> int:
        """Return the number of rows."""
        return len(self.line)
