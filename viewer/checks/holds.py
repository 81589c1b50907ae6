"""What holds, in words, where a check of the file, the machine or the filament found nothing: value and limit."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import Final

import numpy as np

from viewer.arrays import I64
from viewer.checks.evidence import counted, ends_in, heater_name, last_bead, line_of
from viewer.layers.layers import PURGE
from viewer.numerals import capital, number_text, told_apart
from viewer.program import Program
from viewer.read.machine_state import Heater
from viewer.read.moves import BEAD
from viewer.shape.outside import Room

_MOTORS_OFF: Final = (840, 180)


def joined(words: Iterable[str]) -> str:
    """Return ``a``, ``a and b``, ``a, b and c``."""
    *most, last = words
    return f"{', '.join(most)} and {last}" if most else last


def the_end(program: Program) -> str:
    """Say where the machine is switched off behind the last bead, or what else makes the end."""
    off = dict(_switched_off(program))
    if off:
        first, last = min(off.values()), max(off.values())
        lines = f"line {first:,}" if first == last else f"lines {first:,} to {last:,}"
        names = joined(off)
        go = "goes" if len(off) == 1 and "motors" not in off else "go"
        return f"{capital(names)} {go} off in {lines}, behind the last bead"
    if ends := ends_in(program):
        return f"Line {ends[-1].line:,} leaves the end to the machine's own {ends[-1].name}"
    last_line = line_of(program, last_bead(program) or 0)
    return (
        f"The last bead is laid in line {last_line:,} of {program.tally.lines:,}, and what follows is whole"
    )


def the_end_briefly(program: Program) -> str:
    """Return `the_end` in few words."""
    off = dict(_switched_off(program))
    if off:
        text = f"{', '.join(off)} off by line {max(off.values()):,}"
    elif ends := ends_in(program):
        text = f"line {ends[-1].line:,} leaves the end to the machine"
    else:
        last = line_of(program, last_bead(program) or 0)
        text = f"last bead in line {last:,} of {program.tally.lines:,}"
    return capital(text)


def _switched_off(program: Program) -> Iterator[tuple[str, int]]:
    last = last_bead(program)
    after = -1 if last is None else last
    heaters: tuple[Heater, ...] = ("nozzle", "plate")
    for heater in heaters:
        lasting = program.state.lasting_targets(after).of(heater)
        lines = lasting.stated_line[(lasting.move > after) & (lasting.target_c <= 0.0)]
        if len(lines):
            yield heater, int(lines.max())
    events = program.events
    motors = (events.letter == ord("M")) & np.isin(events.code, _MOTORS_OFF) & (events.move > after)
    if motors.any():
        yield "motors", int(events.line[motors][-1])


def inside_plate(program: Program, room: Room) -> tuple[str, str]:
    """Say how far inside of the plate's edges what is printed lies, and how much of the height it takes: whole, briefly.

    Skirt and brim count, purge lines do not. Both are "" without beads.
    """
    own = np.flatnonzero((program.moves.kind == BEAD) & (program.roles != PURGE))
    if not len(own):
        return "", ""
    edge, top = _nearest_edge(program, own, room), float(program.moves.z_mm[own].max())
    high = number_text(float(room.bounds_mm[7]))
    whole = (
        f"What is printed lies {number_text(edge)} mm or more inside the plate and is {number_text(top)} mm high; "
        f"{program.printer.name} takes {high} mm."
    )
    return whole, f"{number_text(edge)} mm inside the plate, {number_text(top)} of {high} mm high"


def _nearest_edge(program: Program, own: I64, room: Room) -> float:
    """Return how near the middle lines of some beads come to the plate's edge, mm; below 0: they lie beyond it."""
    ends = np.unique(np.concatenate([np.maximum(own - 1, 0), own]))
    x, y = program.moves.x_mm[ends].astype(np.float64), program.moves.y_mm[ends].astype(np.float64)
    left, right, front, back, middle_x, middle_y, radius, _ = room.bounds_mm.tolist()
    sides = (x.min() - left, right - x.max(), y.min() - front, back - y.max())
    return float(min(*sides, radius - np.hypot(x - middle_x, y - middle_y).max()))


def hottest(program: Program) -> str:
    """Say how hot nozzle and plate are set, against what the printer card allows."""
    heat = program.printer.heat
    said = []
    limits: tuple[tuple[Heater, float | None], ...] = (
        ("nozzle", heat.nozzle_max_c),
        ("plate", heat.plate_max_c),
    )
    for heater, top in limits:
        targets = program.state.targets.of(heater).target_c
        if len(targets):
            said.append(f"{heater} at most {float(targets.max()):g} of {top or 0.0:g} degC")
    if not said:
        return f"The program sets no heater; {program.printer.name} has limits of its own."
    text = joined(said)
    return f"{capital(text)} that {program.printer.name} takes."


def last_targets(program: Program, limit_c: float) -> str:
    """Say how hot each heater is left."""
    last = program.state.last_targets()
    pairs = sorted(zip(last.heater.tolist(), last.target_c.tolist(), strict=True))
    named = [f"{heater_name(program, heater)} {target:g} degC" for heater, target in pairs if heater >= -1]
    return f"The last targets: {joined(named)}; {limit_c:g} degC is hand-warm." if named else ""


def mismatch_free(program: Program, limit: float, least: float) -> str:
    """Say how wide the beads are, against what the nozzle lays; "" where no bead has a width."""
    median, nozzle = program.widths.computed_mm, program.printer.nozzle_mm
    if median is None:
        return ""
    return (
        f"Half of the path is beads of {number_text(median)} mm or more; a nozzle of {nozzle:g} mm lays "
        f"{number_text(least * nozzle)} to {number_text(limit * nozzle)} mm."
    )


def made_for_cards(program: Program) -> str:
    """Say what the file states that the cards say, too; "" where it states nothing."""
    said = program.made_for
    parts = [] if said.material is None else [said.material.value]
    if said.nozzle is not None:
        parts.append(f"a nozzle of {number_text(said.nozzle.value)} mm")
    if said.filament_diameter is not None:
        parts.append(f"filament of {number_text(said.filament_diameter.value)} mm")
    return f"The file says {joined(parts)}, and so do the cards." if parts else ""


def spool_holds(program: Program, needed_g: float, left_g: float) -> str:
    """Say how much of the spool is needed."""
    takes, there = told_apart(needed_g, left_g)
    return f"It takes {takes} g of the {there} g that are left on the spool."


def all_commands(program: Program) -> str:
    """Say how many commands there are."""
    return f"All {counted(sum(program.tally.commands.values()), 'command')} are known here."
