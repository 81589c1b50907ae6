"""What one move, or one line of a program, does: a sentence with its figures, before all details."""

from __future__ import annotations

from typing import Final

from viewer.figures.stretch import Stretch, stretch_of, stretches_of_line
from viewer.layers.layers import ROLE_NAMES
from viewer.lesson.say import spoken_length, spoken_time
from viewer.numerals import capital, number_text
from viewer.program import Program
from viewer.read.moves import BEAD, PLACE, PRIME, RETRACT, TRAVEL

_NEARLY: Final = 0.99
"""From this share of the commanded speed on, it counts as reached."""
_OF: Final = {"solid": "solid bead", "unlabelled": "bead", "purge": "purge bead", "hold-down": "hold-down"}
"""How the beads of a role are called, where it is not the role's own name."""


def move_said(program: Program, move: int) -> str:
    """Return what a move does, by its row in ``program.moves``, as a verb with all that belongs to it.

    Returns
    -------
    str
        Such as ``lays 34 mm of infill, 0.45 mm wide, in 0.6 s; it asks for 80 mm/s and reaches 62``. No capital, no
        full stop; no width where it is not known.

    Raises
    ------
    IndexError
        There is no such move.
    """
    if not 0 <= move < len(program.moves):
        raise IndexError(f"move {move} of {len(program.moves)}")
    return _said(program, move, move + 1)


def line_said(program: Program, line: int) -> str:
    """Return what a line of a program does, as `move_said`; all moves of an arc together. Empty: it moves nothing."""
    parts = [_said(program, first, end) for first, end in stretches_of_line(program.moves, line)]
    return "; then it ".join(part for part in parts if part)


def as_sentence(subject: str, said: str) -> str:
    """Return a sentence of a subject and what it does: capital first, full stop last.

    >>> as_sentence("it", "goes up 0.2 mm in 0.05 s")
    'It goes up 0.2 mm in 0.05 s.'
    """
    return f"{capital(subject)} {said}."


def stretch_at(program: Program, first: int, end: int) -> Stretch:
    """Return the figures of the moves ``first`` to ``end`` (exclusive), which are of one kind."""
    return stretch_of(
        program.moves, program.layers, program.settings, program.timing, first, end,
        program.filament_diameter_mm,
    )  # fmt: skip


def _said(program: Program, first: int, end: int) -> str:
    kind = int(program.moves.kind[first])
    if kind == PLACE:
        return "sets the position: the machine has found its zero"
    one = stretch_at(program, first, end)
    if kind == BEAD:
        known = one.width_mm is not None and program.widths.is_known
        width = f", {spoken_length(one.width_mm or 0.0)} wide" if known else ""
        role = ROLE_NAMES[int(program.roles[first])]
        laid = f"lays {spoken_length(one.length_mm)} of {_OF.get(role, role)}{width}"
        return f"{laid}, in {spoken_time(one.seconds)}{_speeds(one)}"
    if kind in (RETRACT, PRIME):
        way = "pulls {} of filament back" if kind == RETRACT else "pushes {} of filament forward"
        return f"{way.format(spoken_length(abs(one.fed_mm)))}, in {spoken_time(one.seconds)}"
    if kind == TRAVEL:
        return f"{_travelled(one)}, in {spoken_time(one.seconds)}{_speeds(one)}"
    back = spoken_length(abs(one.fed_mm))
    return f"wipes along {spoken_length(one.length_mm)} and pulls {back} of filament back, in {spoken_time(one.seconds)}"


def _travelled(one: Stretch) -> str:
    """Say where travel goes: up or down alone, else its length."""
    if one.length_mm > 0.0 and abs(one.rise_mm) >= _NEARLY * one.length_mm:
        return f"goes {'up' if one.rise_mm > 0.0 else 'down'} {spoken_length(one.length_mm)}"
    return f"travels {spoken_length(one.length_mm)} without laying a bead"


def _speeds(one: Stretch) -> str:
    """Say which speed is asked for and which is reached."""
    asked, reached = one.commanded_mm_s, one.reached_mm_s
    if asked <= 0.0:
        return f"; it reaches {number_text(reached, 2)} mm/s"
    if reached >= _NEARLY * asked:
        return f"; it reaches the {number_text(asked, 2)} mm/s that it asks for"
    return f"; it asks for {number_text(asked, 2)} mm/s and reaches {number_text(reached, 2)}"
