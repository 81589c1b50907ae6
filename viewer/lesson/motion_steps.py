"""Steps about motion: travel and retraction, one line of the program, speeding up and braking."""

from __future__ import annotations

from typing import Final

import numpy as np

from viewer.arrays import I64
from viewer.figures.ways import Way, ways_of_layer
from viewer.layers.layers import INFILL, OUTLINE, SOLID
from viewer.lesson.facts import Facts, around
from viewer.lesson.questions import CLOSER, amount_question, choice_question
from viewer.lesson.rule import Rule
from viewer.lesson.say import spoken_length, spoken_speed, spoken_time, spoken_times
from viewer.lesson.sentence import move_said, stretch_at
from viewer.lesson.step import Question, StepView
from viewer.numerals import capital, count_text
from viewer.read.explain import explain_line
from viewer.read.modes import modes_at
from viewer.read.moves import BEAD
from viewer.why.ledger import limiters_of_program

WORTH_MM: Final = 4.0
"""Shorter ways leave no thread that anybody sees (common practice, no source)."""
SEEN_MM: Final = 5.0
"""Shorter beads are hard to find in the picture."""
SHORT_OF: Final = (0.9, 0.6, 0.3)
"""A bead that reaches less than one of these shares of the speed asked for is an example; a hash says which share."""


def _way(facts: Facts) -> Way | None:
    """Return a way of a layer in the middle: with filament pulled back or without, as a hash decides."""
    program, middle = facts.program, (facts.layers + 1) // 2
    for number in dict.fromkeys((middle, facts.layers, 1)):
        ways = [
            way for way in ways_of_layer(program.moves, program.layers, number) if way.length_mm >= WORTH_MM
        ]
        sorts = [[way for way in ways if (way.pulled_mm > 0.0) == pulled] for pulled in (True, False)]
        sorts = [one for one in sorts if one]
        if sorts:
            chosen = sorted(sorts[facts.turn("travel", len(sorts))], key=lambda way: way.length_mm)
            return chosen[len(chosen) // 2]
    return None


def _view_of_move(facts: Facts, move: int) -> StepView:
    program = facts.program
    x0, y0, _ = program.moves.start_xyz(move)
    x1, y1 = float(program.moves.x_mm[move]), float(program.moves.y_mm[move])
    number = int(program.layers.of_moves([move])[0])
    box = around((min(x0, x1), min(y0, y1), max(x0, x1), max(y0, y1)))
    return StepView(layer=min(max(number, 1), facts.layers) - 1, bead=move, box_mm=box)


def _travel_view(facts: Facts) -> StepView:
    way = facts.once(_way)
    assert way is not None
    return _view_of_move(facts, way.travel)


def _travel_says(facts: Facts) -> tuple[str, ...]:
    moves, path = facts.figures.moves, facts.figures.path
    first = (
        f"Between beads the nozzle travels: {spoken_times(moves['travels'])}, "
        f"{spoken_length(path['travel_mm'])} in all, without laying anything."
    )
    if moves["retracts"] > moves["wipes"]:
        return (
            first,
            f"{capital(spoken_times(moves['retracts']))} the filament is pulled back first, so that nothing drips.",
        )
    if moves["wipes"]:
        return (
            first,
            f"{capital(spoken_times(moves['wipes']))} the nozzle wipes along while filament is pulled back.",
        )
    return first, "The filament is never pulled back here: threads may hang between pieces."


def _travel_asks(facts: Facts) -> Question | None:
    way = facts.once(_way)
    assert way is not None
    number = int(facts.program.layers.of_moves([way.travel])[0])
    text = f"On layer {number} the nozzle travels {spoken_length(way.length_mm)}. Is filament pulled back on this way?"
    pulled = f"{spoken_length(way.pulled_mm)} of filament is" if way.pulled_mm > 0.0 else "No filament is"
    return choice_question(
        facts, "travel", text, ("yes", "no"), 0 if way.pulled_mm > 0.0 else 1,
        f"{pulled} pulled back on it.",
    )  # fmt: skip


def _plain_bead(facts: Facts) -> int | None:
    """Return a bead of usual length that one line of the program lays alone; None where no line does."""
    program = facts.program
    for role in (INFILL, SOLID, OUTLINE, None):
        number = _layer_for(facts, role)
        if number is None:
            continue
        rows = _lone_beads(facts, number, role)
        if len(rows):
            length = program.moves.length_mm[rows]
            return int(rows[np.argsort(length, kind="stable")[len(rows) // 2]])
    return None


def _layer_for(facts: Facts, role: int | None) -> int | None:
    if role is None:
        return (facts.layers + 1) // 2
    return facts.fill[0] if role == INFILL and facts.fill else facts.busiest_layer(role)


def _lone_beads(facts: Facts, number: int, role: int | None) -> I64:
    """Return the beads of a layer (from 1) and a role that are long enough to be seen and no part of an arc."""
    program = facts.program
    moves, own = program.moves, program.layers.moves_of(number)
    line = moves.line[own]
    alone = np.ones(len(line), np.bool_)
    alone[1:] &= line[1:] != line[:-1]
    alone[:-1] &= line[1:] != line[:-1]
    wanted = alone & (moves.kind[own] == BEAD) & (moves.length_mm[own] >= SEEN_MM)
    if role is not None:
        wanted &= program.roles[own] == role
    return np.asarray(own.start + np.flatnonzero(wanted), np.int64)


def _line_view(facts: Facts) -> StepView:
    move = facts.once(_plain_bead)
    assert move is not None
    return _view_of_move(facts, move)


def _line_says(facts: Facts) -> tuple[str, ...]:
    move = facts.once(_plain_bead)
    assert move is not None
    laid, _, speeds = move_said(facts.program, move).partition("; ")
    first = f"Line {count_text(int(facts.program.moves.line[move]))} {laid}."
    return (first, f"{capital(speeds)}.") if speeds else (first,)


def _line_asks(facts: Facts) -> Question | None:
    """Ask for the word that feeds filament, or where the line has none for the one that goes to the right."""
    program, move = facts.program, facts.once(_plain_bead)
    assert move is not None
    line = int(program.moves.line[move])
    said = [
        found
        for found in explain_line(program.texts.line(line), modes_at(program, line))
        if found.word[:1].upper() in "GXYZEF" and found.word[1:2] in "0123456789.-+ "
    ]
    for letter, asked in (("E", "feeds filament"), ("X", "says where to go to the left or right")):
        right = next((k for k, found in enumerate(said) if found.word[0].upper() == letter), None)
        if right is not None:
            choices = [found.word for found in said[:4]] if right < 4 else [said[0].word, said[right].word]
            reason = f"{said[right].word}: {said[right].meaning}."
            text = f"Which word of line {count_text(line)} {asked}?"
            return choice_question(facts, "line", text, choices, choices.index(said[right].word), reason)
    return None


def _slow_bead(facts: Facts) -> int | None:
    """Return the longest bead after layer 1 that is too short for the speed asked for; None where there is none."""
    program = facts.program
    moves, first = program.moves, int(program.layers.first_move[min(1, facts.layers - 1)])
    own = slice(first, int(program.layers.first_move[-1]))
    asked, reached = program.settings.commanded_mm_s(moves, own), program.timing.peak_mm_s[own]
    as_asked = (
        limiters_of_program(program).limiter[own] == 0
    )  # no axis and no drive is slower than what is asked for
    short = (moves.kind[own] == BEAD) & as_asked & (asked > 0.0)
    for share in SHORT_OF[facts.turn("speed", len(SHORT_OF)) :: -1]:
        length = np.where(short & (reached < share * asked), moves.length_mm[own], 0.0)
        if length.any():
            return first + int(np.argmax(length))
    return None


def _speed_view(facts: Facts) -> StepView:
    move = facts.once(_slow_bead)
    assert move is not None
    return _view_of_move(facts, move)


def _speed_says(facts: Facts) -> tuple[str, ...]:
    lost = facts.booked("speeding up and braking")
    return (
        "The head is heavy: it speeds up, and brakes again before each corner.",
        f"In this program that takes {spoken_time(lost)} while beads are laid.",
    )


def _speed_asks(facts: Facts) -> Question | None:
    move = facts.once(_slow_bead)
    assert move is not None
    bead = stretch_at(facts.program, move, move + 1)
    asked, reached = spoken_speed(bead.commanded_mm_s), spoken_speed(bead.reached_mm_s)
    return amount_question(
        facts, "speed",
        f"A bead is {spoken_length(bead.length_mm)} long and asks for {asked}. What does it reach?",
        bead.reached_mm_s, spoken_speed,
        f"{reached}: the way is too short, and the head must brake again before it gets to {asked}.",
        most=bead.commanded_mm_s, ladder=CLOSER,
    )  # fmt: skip


MOTION_STEPS: Final = (
    Rule(
        "travel", "Travel and retraction",
        applies=lambda facts: facts.figures.moves["travels"] > 0 and facts.once(_way) is not None,
        view=_travel_view,
        says=_travel_says,
        asks=_travel_asks,
        look_for="No threads hang between the pieces of the print.",
        caution="Axes move fast and without warning: keep hands and hair out.",
    ),
    Rule(
        "line", "One line of the program",
        applies=lambda facts: facts.once(_plain_bead) is not None,
        view=_line_view,
        says=_line_says,
        asks=_line_asks,
        look_for="Short lines come and go faster than anybody can read them.",
    ),
    Rule(
        "speed", "Speeding up and braking",
        applies=lambda facts: facts.booked("speeding up and braking") > 0.0 and facts.once(_slow_bead) is not None,
        view=_speed_view,
        says=_speed_says,
        asks=_speed_asks,
        look_for="On short beads the machine shakes; on long ones it glides.",
    ),
)  # fmt: skip
