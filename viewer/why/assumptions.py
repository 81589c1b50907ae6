"""Which assumptions reproduce a stated time: no acceleration, no heating, the limits that the program states itself."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any, Final

import msgspec
import numpy as np

from viewer.arrays import F64
from viewer.cards.printer import Axes, PrinterCard
from viewer.program import Program
from viewer.timing import CAUSES, plan_time
from viewer.timing.ledger import WAITS_FROM
from viewer.timing.limiters import GROUPS, Limiters
from viewer.why.inputs import UNLIMITED
from viewer.why.ledger import limiters_of_program

FITS: Final = 0.03
"""An assumption reproduces a stated time within this share of it."""
ROUNDED_S: Final = 30.0
"""A time that is a whole number of minutes may be rounded by half a minute."""

PARTS: Final = (
    "as commanded",
    "held back",
    "speeding up and braking",
    "travel",
    "retract and prime",
    "height changes",
    *CAUSES[WAITS_FROM:],
)
"""What a time is made of: beads as commanded, what limits and ramps add to them, other moves, and waits."""

Parts = dict[str, float]
"""Seconds of each of `PARTS`."""


@dataclass(frozen=True, slots=True)
class Assumption:
    """One way to come to a time."""

    name: str
    words: str
    """Stands behind "is what comes out"."""
    parts: Callable[[Program, Limiters], Parts | None]
    """None: it cannot be tried, because the program states nothing of the kind."""


@dataclass(frozen=True, slots=True)
class Tried:
    """What comes out under one assumption."""

    name: str
    words: str
    total_s: float
    parts_s: Parts


def parts_of(program: Program, limiters: Limiters) -> Parts:
    """Return what the time of a program is made of; the sum is its time in all."""
    motion = _motion(limiters.commanded, limiters.held.sum(axis=1), limiters.ramps.sum(axis=(1, 2)))
    waits = program.timing.ledger.by_cause
    return motion | {cause: float(waits[k]) for k, cause in enumerate(CAUSES) if k >= WAITS_FROM}


def _motion(commanded: F64, held: F64, ramps: F64) -> Parts:
    """Return the parts of motion from seconds by group; waits are 0."""
    whole = commanded + held + ramps
    beads = (float(commanded[0]), float(held[0]), float(ramps[0]))
    seconds = [*beads, *(float(whole[g]) for g in range(1, len(GROUPS)))]
    return dict.fromkeys(PARTS, 0.0) | dict(zip(PARTS, seconds, strict=False))


def _no_heating(program: Program, limiters: Limiters) -> Parts:
    return parts_of(program, limiters) | {"heating": 0.0}


def _moves_alone(_program: Program, limiters: Limiters) -> Parts:
    return _motion(limiters.commanded, limiters.held.sum(axis=1), limiters.ramps.sum(axis=(1, 2)))


def _no_acceleration(_program: Program, limiters: Limiters) -> Parts:
    none = np.zeros(len(GROUPS))
    return _motion(limiters.commanded, limiters.held.sum(axis=1), none)


def _commanded_alone(_program: Program, limiters: Limiters) -> Parts:
    none = np.zeros(len(GROUPS))
    return _motion(limiters.commanded, none, none)


def _beads_alone(_program: Program, limiters: Limiters) -> Parts:
    none = np.zeros(len(GROUPS))
    beads = np.arange(len(GROUPS)) == 0
    return _motion(np.where(beads, limiters.commanded, 0.0), none, none)


def _on_card(program: Program, card: PrinterCard) -> Parts:
    """Return the parts of the moves alone, planned on another card."""
    timing = plan_time(
        program.moves, program.events, program.state, program.settings, program.layers, program.roles, card
    )
    seconds = timing.ledger.by_cause.tolist()
    return dict.fromkeys(PARTS, 0.0) | dict(zip(PARTS[:6], seconds[:6], strict=True))


def _own_limits(program: Program, _limiters: Limiters) -> Parts | None:
    card = own_card(program)
    return None if card is None else _on_card(program, card)


def _stated_limits(program: Program, _limiters: Limiters) -> Parts | None:
    """Return the parts under nothing but the limits that commands of the program state."""
    stated = [name for name in ("accel_print_mm_s2", "accel_x_mm_s2") if _states(program, name)]
    if not stated:
        return None
    return _on_card(program, _unlimited(program.printer))


def _states(program: Program, field: str) -> bool:
    return bool(np.any(program.settings.column(field) > 0.0))


def _unlimited(card: PrinterCard) -> PrinterCard:
    """Return a card that limits speeds and accelerations by nothing of its own; its corner rule stays."""
    wide = Axes(x=UNLIMITED, y=UNLIMITED, z=UNLIMITED, e=UNLIMITED)
    return msgspec.structs.replace(
        card, max_speed_mm_s=wide, max_acceleration_mm_s2=wide, print_acceleration_mm_s2=UNLIMITED,
        travel_acceleration_mm_s2=UNLIMITED, retract_acceleration_mm_s2=UNLIMITED, min_segment_time_s=0.0,
        obeys_program_limits=True,
    )  # fmt: skip


def own_card(program: Program) -> PrinterCard | None:
    """Return the card with the machine limits that settings in the program's comments state; None: they state none.

    Of a list the first value counts: that of the usual mode.
    """
    stated: dict[str, float] = {}
    for statement in program.remarks.statements:
        if isinstance(statement.values[0], float):
            stated.setdefault(statement.quantity, statement.values[0])
    changes: dict[str, Any] = {}
    for kind in ("print", "travel", "retract"):
        if f"accel_{kind}_mm_s2" in stated:
            changes[f"{kind}_acceleration_mm_s2"] = stated[f"accel_{kind}_mm_s2"]
    for key, field in (("max_speed_mm_s", "max_{}_mm_s"), ("max_acceleration_mm_s2", "accel_{}_mm_s2")):
        axes = {axis: stated[field.format(axis)] for axis in "xyze" if field.format(axis) in stated}
        if axes:
            changes[key] = msgspec.structs.replace(getattr(program.printer, key), **axes)
    jerks = {axis: stated[f"jerk_{axis}_mm_s"] for axis in "xyze" if f"jerk_{axis}_mm_s" in stated}
    if len(jerks) == len("xyze"):
        changes["corner"] = msgspec.structs.replace(
            program.printer.corner, rule="jerk", jerk_mm_s=Axes(**jerks)
        )
    if not changes:
        return None
    return msgspec.structs.replace(program.printer, min_segment_time_s=0.0, planner_buffer_moves=0, **changes)


ASSUMPTIONS: Final[tuple[Assumption, ...]] = (
    Assumption("card", "on this machine, waits and all", parts_of),
    Assumption("no heating", "on this machine without waits for heat", _no_heating),
    Assumption("moves alone", "on this machine without any waits", _moves_alone),
    Assumption(
        "own limits", "on the machine whose limits its own comments state, without waits", _own_limits
    ),
    Assumption(
        "stated limits", "under the limits alone that its own commands state, without waits", _stated_limits
    ),
    Assumption(
        "no acceleration", "without acceleration and waits, within this machine's top speeds", _no_acceleration
    ),
    Assumption("commanded speeds", "at the commanded speeds, without acceleration, limits and waits", _commanded_alone),
    Assumption("beads alone", "for the beads alone at the commanded speeds", _beads_alone),
)  # fmt: skip
"""Those that are tried; of two that come equally close the first counts."""


def try_assumptions(program: Program, limiters: Limiters | None = None) -> tuple[Tried, ...]:
    """Return what comes out under each assumption that can be tried."""
    limiters = limiters or limiters_of_program(program)
    found = []
    for one in ASSUMPTIONS:
        parts = one.parts(program, limiters)
        if parts is not None:
            found.append(Tried(one.name, one.words, float(sum(parts.values())), parts))
    return tuple(found)


def closest(tried: tuple[Tried, ...], expected_s: float) -> Tried:
    """Return the assumption whose time is closest to an expected one."""
    return min(tried, key=lambda one: abs(one.total_s - expected_s))


def fits(tried: Tried, expected_s: float) -> bool:
    """Tell whether an assumption reproduces an expected time, within `FITS` or what whole minutes are rounded by."""
    rounding = ROUNDED_S if expected_s % 60.0 == 0.0 else 0.0
    return abs(tried.total_s - expected_s) <= max(FITS * expected_s, rounding)
