"""The columns that the scanner fills, as tuples with named fields, and its work space for one line.

The fields stand in the order of `Moves`, `Events`, `Notes` and `ModeChanges`; all columns of a tuple grow together.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
import numpy.typing as npt

_U8 = npt.NDArray[np.uint8]
_U16 = npt.NDArray[np.uint16]
_U64 = npt.NDArray[np.uint64]
_I32 = npt.NDArray[np.int32]
_I64 = npt.NDArray[np.int64]
_F32 = npt.NDArray[np.float32]
_F64 = npt.NDArray[np.float64]


class MoveColumns(NamedTuple):
    """One row a straight motion, filled from N_MOVES on."""

    x_mm: _F32
    y_mm: _F32
    z_mm: _F32
    length_mm: _F32
    fed_mm: _F32
    speed_mm_s: _F32
    line: _I32
    kind: _U8


class EventColumns(NamedTuple):
    """One row a command that is no motion, filled from N_EVENTS on, and its words, from N_WORDS on."""

    letter: _U8
    code: _I32
    line: _I32
    move: _I32
    first_word: _I32
    word_letter: _U8
    word_value: _F64


class NoteColumns(NamedTuple):
    """One row a comment, filled from N_NOTES on."""

    offset: _I64
    length: _I32
    line: _I32
    move: _I32
    flags: _U8
    shape: _U64
    exact: _U64
    first: _F64
    second: _F64


class ModeColumns(NamedTuple):
    """One row a line that changes a mode, filled from N_MODES on; see `modes.log_modes`."""

    line: _I32
    move: _I32
    modes: _U16
    speed_mm_s: _F64


class CommandCounts(NamedTuple):
    """How often each G, M and T command stands in the program, and where first: (3, TABLE), column = code."""

    met: _I64
    first_line: _I32


class LineWords(NamedTuple):
    """Work space for the words of one line: (MAX_WORDS,)."""

    letter: _U8  # in capitals
    value: _F64  # NaN: the letter stands alone
