"""What a program has behind its last bead: something is switched off, or words say that this is the end."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

import numpy as np

from viewer.checks.evidence import ends_in, last_bead
from viewer.program import Program
from viewer.read.comments.dialect import fold, word_set
from viewer.read.homing import homings
from viewer.read.notes import DOUBTFUL


def is_heated(program: Program) -> bool:
    """Whether the program heats anything, itself or by the machine's start procedure.

    One that never does (a test of motion, a print begun by hand) has nothing to shut down.
    """
    return bool(np.any(program.state.targets.target_c > 0.0)) or bool(program.remarks.starts)


_LAST_COMMANDS: Final = (
    ("M", 84, "motors off"),
    ("M", 18, "motors off"),
    ("M", 2, "end"),
    ("M", 30, "end"),
    ("M", 112, "stop"),
)
_BEGIN_OTHERS: Final = (2, 30)
"""M2 may be half of M204, M30 of M300."""


def shut_down_signs(program: Program) -> Iterator[str]:
    """Return what nothing but a shut-down has after the last bead."""
    last = last_bead(program)
    after = -1 if last is None else last
    nozzle = program.state.targets.of("nozzle")
    ever_hot = np.cumsum(nozzle.target_c > 0.0) > 0
    if np.any(ever_hot & (nozzle.move > after) & (nozzle.target_c <= 0.0)):
        yield "nozzle off"
    if ends_in(program):
        yield "end procedure"
    if last is None and _is_nozzle_on(program):
        return  # motors off before the first bead, with a nozzle that heats up, is the beginning's
    for letter, code, name in _LAST_COMMANDS:
        rows = [
            row
            for row in program.events.rows(letter, code).tolist()
            if set(program.events.words(row)) != {"E"}
        ]
        if not rows or int(program.events.move[rows[-1]]) <= after:
            continue
        is_torn = program.tally.unterminated and int(program.events.line[rows[-1]]) == program.tally.lines
        if not (is_torn and code in _BEGIN_OTHERS and is_heated(program)):
            yield name


def homes_at_end(program: Program, last: int) -> bool:
    """Whether the axes are homed after the last bead; a homing that only waits for what follows is none."""
    rows = homings(program.events)
    return (
        bool(len(rows)) and int(program.events.move[rows[-1]]) > last and not _waits(program, int(rows[-1]))
    )


def plate_goes_off(program: Program) -> bool:
    """Whether the plate, once heated, is switched off after the last bead."""
    last, plate = last_bead(program), program.state.targets.of("plate")
    return last is not None and bool(np.any((plate.move > last) & (plate.target_c <= 0.0)))


LIFT_MM: Final = 5.0
"""No lift between two beads is that high (common practice, no source)."""


def parks_at_end(program: Program, last: int) -> bool:
    """Whether the nozzle ends well above the last bead."""
    z = program.moves.z_mm
    return bool(z[-1] >= z[last] + LIFT_MM)


def claims_at_end(program: Program, last: int) -> bool:
    """Whether the program says what it used behind its last bead."""
    return any(claim.line > int(program.moves.line[last]) for claim in program.remarks.claims)


def _waits(program: Program, homing: int) -> bool:
    """Whether a homing is the first step only: of some axes, as the last command, the nozzle still heated."""
    is_last = homing == len(program.events) - 1
    return is_last and bool(program.events.words(homing)) and _is_nozzle_on(program)


def _is_nozzle_on(program: Program) -> bool:
    """Whether the last target of any nozzle is above zero."""
    targets = program.state.targets.of("nozzle").target_c
    return len(targets) > 0 and bool(targets[-1] > 0.0)


_END_PHRASES: Final = tuple(
    frozenset(phrase.split())
    for phrase in (
        "end gcode",
        "end of gcode",
        "end code",
        "end of print",
        "print finished",
        "end of file",
        "the end",
    )
)
_END_WORDS: Final = word_set("end ende eof fin finish finished done")
"""A comment that consists of one of them (``;end``) says so, too."""


def words_of_end(program: Program, after: int) -> Iterator[str]:
    """Return comments after the last bead that say that this is the end (``;End of Gcode``)."""
    notes = program.notes
    shapes, counts = np.unique(notes.shape[notes.shape >= 0], return_counts=True)
    behind = np.isin(shapes, notes.shape[notes.move > after])
    for shape in shapes[behind & (counts == 1)].tolist():  # what ends every layer does not end the program
        words = frozenset(fold(notes.shape_text[shape]))
        said = not notes.shape_flags[shape] & DOUBTFUL and not words & {"filament", "machine", "custom"}
        phrase = len(words) <= 6 and any(phrase <= words for phrase in _END_PHRASES)
        if said and (phrase or (len(words) == 1 and words <= _END_WORDS)):
            yield "words"
            return
