"""Where a finding lies: the line, layer and place of a move, and the settings of heat with their lines."""

from __future__ import annotations

from typing import Final, TypeVar

import numpy as np

from viewer.program import Program
from viewer.read.comments.remarks import Procedure
from viewer.read.machine_state import CHAMBER, PLATE
from viewer.read.moves import BEAD

_T = TypeVar("_T", bound=np.generic)


MAX_FIRST_MM: Final = 3.0
"""No first layer is thicker, the foot of a raft neither (common practice, no source)."""


def unknown_zero_mm(program: Program) -> float | None:
    """Return how high the lowest layer lies by the program's own Z, mm, where no nozzle lays that on a plate.

    Z counts from another place than the plate then, or the print begins on something: heights above the plate are
    not known. None where the lowest layer may lie on the plate.
    """
    if not len(program.layers):
        return None
    lowest = float(program.layers.height_mm.min())
    return lowest if lowest > max(MAX_FIRST_MM, 2.0 * program.printer.nozzle_mm) else None


def layer_of(program: Program, move: int) -> int | None:
    """Return the layer (from 1) of a move; None before the first and after the last."""
    number = int(program.layers.of_moves([move])[0])
    return number if 1 <= number <= len(program.layers) else None


def line_of(program: Program, move: int) -> int:
    """Return the line (from 1) of a move."""
    return int(program.moves.line[move])


def middle_of(program: Program, move: int) -> tuple[float, float, float]:
    """Return the middle of a move, mm."""
    moves = program.moves
    x, y, z = moves.start_xyz(move)
    end = (float(moves.x_mm[move]), float(moves.y_mm[move]), float(moves.z_mm[move]))
    return tuned((0.5 * (x + end[0]), 0.5 * (y + end[1]), 0.5 * (z + end[2])))


def middle_of_layer(program: Program, number: int) -> tuple[float, float, float] | None:
    """Return the middle of a layer's beads in X and Y and the layer's height, mm; None where it has none."""
    own = program.layers.moves_of(number)
    rows = np.flatnonzero(program.moves.kind[own] == BEAD) + own.start
    if not len(rows):
        return None
    ends = np.unique(np.concatenate([np.maximum(rows - 1, 0), rows]))
    x, y = program.moves.x_mm[ends], program.moves.y_mm[ends]
    middle = (0.5 * float(x.min() + x.max()), 0.5 * float(y.min() + y.max()))
    return tuned((*middle, float(program.layers.height_mm[number - 1])))


def tuned(place: tuple[float, float, float]) -> tuple[float, float, float]:
    """Return a place to 0.001 mm: float32 knows no more."""
    return (round(place[0], 3), round(place[1], 3), round(place[2], 3))


def first_bead_in(program: Program, layer: int) -> int:
    """Return the first bead of a layer (from 1)."""
    own = program.layers.moves_of(layer)
    return int(own.start) + int(np.argmax(program.moves.kind[own] == BEAD))


def first_bead(program: Program) -> int | None:
    """Return the first bead, purge too; None where there is none."""
    beads = program.moves.kind == BEAD
    at = int(np.argmax(beads)) if len(beads) else 0
    return at if len(beads) and beads[at] else None


def last_bead(program: Program) -> int | None:
    """Return the last bead, purge too; None where there is none."""
    beads = program.moves.kind[::-1] == BEAD
    at = int(np.argmax(beads)) if len(beads) else 0
    return len(beads) - 1 - at if len(beads) and beads[at] else None


def ends_in(program: Program) -> list[Procedure]:
    """Return the machine's own procedures that end the print, after the last bead."""
    last = last_bead(program)
    return [found for found in program.remarks.ends if last is None or found.move > last]


def heaters_on_at_end(program: Program, limit_c: float = 0.0) -> str:
    """Return the heaters whose last target is above a limit, in words; "" where there are none, without the chamber."""
    last = program.state.last_targets()
    still = last.rows((last.target_c > limit_c) & (last.heater != CHAMBER))
    pairs = zip(still.heater.tolist(), still.target_c.tolist(), strict=True)
    return " and ".join(
        f"the {heater_name(program, heater)} at {target_c:g} degC" for heater, target_c in pairs
    )


def hottest_at_end(program: Program) -> float:
    """Return the highest last target of nozzles and plate, degC; 0: all are off."""
    last = program.state.last_targets()
    return float(last.target_c[last.heater != CHAMBER].max(initial=0.0))


def heater_name(program: Program, heater: int) -> str:
    """Return a heater's name, with its tool where the printer has several nozzles."""
    if heater == PLATE:
        return "plate"
    return "nozzle" if program.state.one_nozzle else f"nozzle of tool {heater}"


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
