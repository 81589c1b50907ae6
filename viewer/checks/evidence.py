"""Where a finding lies: the line, layer and place of a move, and the settings of heat with their lines."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final, TypeVar

import numpy as np

from viewer.checks.subject import Subject
from viewer.read.comments.remarks import Procedure
from viewer.read.dialect_commands import TOOLS
from viewer.read.moves import BEAD
from viewer.read.notes import WORD_COMMAND

HEAT_CAUTION: Final = (
    "Nozzle and plate are hot enough to burn, hot plastic gives off fumes, and printers left alone have "
    "started fires: follow the machine's manual, the local rules and the place's own policy."
)
"""Added to the remedy of every finding about heat."""

_T = TypeVar("_T", bound=np.generic)


def layer_of(subject: Subject, move: int) -> int | None:
    """Return the layer (from 1) of a move; None before the first and after the last."""
    number = int(subject.layers.of_moves([move])[0])
    return number if 1 <= number <= len(subject.layers) else None


def line_of(subject: Subject, move: int) -> int:
    """Return the line (from 1) of a move."""
    return int(subject.moves.line[move])


def middle_of(subject: Subject, move: int) -> tuple[float, float, float]:
    """Return the middle of a move, mm."""
    moves = subject.moves
    x, y, z = moves.start_xyz(move)
    end = (float(moves.x_mm[move]), float(moves.y_mm[move]), float(moves.z_mm[move]))
    return tuned((0.5 * (x + end[0]), 0.5 * (y + end[1]), 0.5 * (z + end[2])))


def middle_of_layer(subject: Subject, number: int) -> tuple[float, float, float] | None:
    """Return the middle of a layer's beads in X and Y and the layer's height, mm; None where it has none."""
    own = subject.layers.moves_of(number)
    rows = np.flatnonzero(subject.moves.kind[own] == BEAD) + own.start
    if not len(rows):
        return None
    ends = np.unique(np.concatenate([np.maximum(rows - 1, 0), rows]))
    x, y = subject.moves.x_mm[ends], subject.moves.y_mm[ends]
    middle = (0.5 * float(x.min() + x.max()), 0.5 * float(y.min() + y.max()))
    return tuned((*middle, float(subject.layers.height_mm[number - 1])))


def tuned(place: tuple[float, float, float]) -> tuple[float, float, float]:
    """Return a place to 0.001 mm: float32 knows no more."""
    return (round(place[0], 3), round(place[1], 3), round(place[2], 3))


def first_bead_in(subject: Subject, layer: int) -> int:
    """Return the first bead of a layer (from 1)."""
    own = subject.layers.moves_of(layer)
    return int(own.start) + int(np.argmax(subject.moves.kind[own] == BEAD))


def first_bead(subject: Subject) -> int | None:
    """Return the first bead, purge too; None where there is none."""
    beads = subject.moves.kind == BEAD
    at = int(np.argmax(beads)) if len(beads) else 0
    return at if len(beads) and beads[at] else None


def last_bead(subject: Subject) -> int | None:
    """Return the last bead, purge too; None where there is none."""
    beads = subject.moves.kind[::-1] == BEAD
    at = int(np.argmax(beads)) if len(beads) else 0
    return len(beads) - 1 - at if len(beads) and beads[at] else None


@dataclass(frozen=True, slots=True)
class HeatSet:
    """One command that sets a temperature."""

    heater: str
    """``nozzle`` or ``plate``."""
    tool: int
    target_c: float
    line: int
    move: int
    """The next move."""


_HEATING: Final = {1040: "nozzle", 1090: "nozzle", 1400: "plate", 1900: "plate"}


def heat_sets(subject: Subject) -> list[HeatSet]:
    """Return all commands that set a nozzle's or the plate's temperature, in program order; some dozens.

    M104 and M109 without T are for the tool in use; G10 P S R sets a tool's. Word commands count with the
    line 0 where only their move is known.
    """
    events = subject.events
    wanted = (events.letter == ord("M")) & np.isin(events.code, (*_HEATING, 60))
    wanted |= (events.letter == ord("T")) | ((events.letter == ord("G")) & (events.code == 100))
    found: list[HeatSet] = []
    tool = 0
    for row in np.flatnonzero(wanted).tolist():
        letter, code, said = chr(events.letter[row]), int(events.code[row]), events.words(row)
        number = said.get("P" if letter == "G" or code == 60 else "T", np.nan)
        named = int(number) if 0 <= number < TOOLS else None
        if letter == "T":
            tool = code // 10 if 0 <= code // 10 < TOOLS else tool
            continue
        if letter == "M" and code == 60:
            tool = tool if named is None else named
            continue
        if letter == "G" and named is None:
            continue
        target = said.get("S", said.get("R", np.nan))
        heater = _HEATING.get(code, "nozzle") if letter == "M" else "nozzle"
        if np.isfinite(target):
            whose = 0 if heater == "plate" else tool if named is None else named
            found.append(HeatSet(heater, whose, float(target), int(events.line[row]), int(events.move[row])))
    return sorted([*found, *_by_words(subject)], key=lambda entry: (entry.move, entry.line))


@dataclass(frozen=True, slots=True)
class HeatPeriod:
    """A stretch of moves for which the target of the nozzle in use, or of the plate, holds."""

    target_c: float
    """NaN: never set until then."""
    line: int
    """Of the command that set it; 0: none."""
    begin: int
    end: int
    """Moves `begin` to `end`, exclusive."""


def heat_periods(subject: Subject, heater: str) -> list[HeatPeriod]:
    """Return the periods of one heater, in order; the nozzle's follow the tool in use, by line."""
    one_nozzle = subject.printer.tools == 1
    steps: list[tuple[int, int, HeatSet | int]] = [
        (entry.move, entry.line, entry) for entry in heat_sets(subject) if entry.heater == heater
    ]
    if heater == "nozzle" and not one_nozzle:
        steps += _tool_changes(subject)
    targets: dict[int, tuple[float, int]] = {}
    tool = 0
    periods: list[HeatPeriod] = []
    begin, holds = 0, (np.nan, 0)
    for move, _, step in sorted(steps, key=lambda step: step[:2]):
        if isinstance(step, HeatSet):
            targets[0 if one_nozzle else step.tool] = (step.target_c, step.line)
        else:
            tool = step
        now = targets.get(tool, (np.nan, 0))
        if now != holds and move > begin:
            periods.append(HeatPeriod(*holds, begin, move))
            begin = move
        holds = now
    return [*periods, HeatPeriod(*holds, begin, len(subject.moves))]


def _tool_changes(subject: Subject) -> list[tuple[int, int, HeatSet | int]]:
    """Return (next move, line, tool) of every T word that names a tool."""
    events = subject.events
    rows = np.flatnonzero((events.letter == ord("T")) & (events.code >= 0) & (events.code < 10 * TOOLS))
    return [(int(events.move[r]), int(events.line[r]), int(events.code[r]) // 10) for r in rows.tolist()]


def _by_words(subject: Subject) -> Iterator[HeatSet]:
    """Return what word commands set: their line is that of the word command before the same move."""
    rows = np.flatnonzero((subject.notes.flags & WORD_COMMAND) > 0)
    for move, _, stated in subject.remarks.limits:
        own = rows[subject.notes.move[rows] == move]
        line = int(subject.notes.line[own[-1]]) if len(own) else 0
        for heater in ("nozzle", "plate"):
            if f"{heater}_c" in stated:
                yield HeatSet(heater, 0, stated[f"{heater}_c"], line, move)


def ends_in(subject: Subject) -> list[Procedure]:
    """Return the machine's own procedures that end the print, after the last bead."""
    last = last_bead(subject)
    return [found for found in subject.remarks.ends if last is None or found.move > last]


def counted(count: int, word: str) -> str:
    """Return ``1 line``, ``3 lines``."""
    return f"{count} {word}" if count == 1 else f"{count:,} {word}s"


def in_words(seconds: float) -> str:
    """Return a time that is measured, in words: ``12 s``, ``4 min``, ``1 h 05 min``."""
    if seconds < 1.0:
        return f"{seconds:.1f} s"
    if seconds < 100.0:
        return f"{seconds:.0f} s"
    minutes = round(seconds / 60.0)
    return f"{minutes} min" if minutes < 60 else f"{minutes // 60} h {minutes % 60:02d} min"
