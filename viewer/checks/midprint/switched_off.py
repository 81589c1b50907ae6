"""What is switched off in the middle of a print: heaters, motors, the whole machine."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Final

import numpy as np

from viewer.checks.evidence import in_words, layer_of, line_of, middle_of_layer
from viewer.checks.finding import Check, Finding, Hazard, Outcome, Passed, Rule, Severity
from viewer.checks.midprint.span import bead_seconds, next_bead, part_span, rows_in
from viewer.checks.questions import Question
from viewer.program import Program
from viewer.read.homing import homed_axes, homings
from viewer.read.machine_state import Heater

SLUG: Final = "off-in-print"
COLD_C: Final = 40.0
"""Hand-warm: a lower target is as good as off (common practice, no source)."""
STILL_HOT_S: Final = 30.0
"""A nozzle that was switched off lays filament for about so long: it loses 1 to 2 degC/s (from memory)."""
PLATE_S: Final = 120.0
"""A plate that was switched off holds the part for at least so long: it loses 0.1 to 0.3 degC/s (from memory)."""
LAST_SHARE: Final = 0.1
"""The last tenth of the beads' time may be laid on a plate that cools: some programs end like that."""
LEAST_S: Final = 2.0
"""Beads that take less than this are the end of a change."""
MOTORS_OFF: Final = (840, 180)
HALT: Final = 1120


def _off_in_print(program: Program, rule: Rule) -> Iterator[Outcome]:
    span = part_span(program)
    if span is not None:
        yield from _heater_off(program, rule, "nozzle", span)
        yield from _heater_off(program, rule, "plate", span)
        yield from _motors_off(program, rule, span)
        yield from _halted(program, rule, span)
        yield from _stays_on(program, span)


def _stays_on(program: Program, span: tuple[int, int]) -> Iterator[Passed]:
    """Say how low the nozzle's target gets between the first bead of the part and its last; nothing where it goes off."""
    periods = program.state.periods("nozzle")
    inside = (periods.begin <= span[1]) & (periods.end > span[0])
    target = periods.target_c[inside & np.isfinite(periods.target_c)]
    if not len(target) or target.min() < COLD_C:
        return
    motors = "" if len(rows_in(program.events, span, "M", MOTORS_OFF)) else " and the motors stay on"
    first, last = (line_of(program, bead) for bead in span)
    yield Passed(
        SLUG, f"From the first bead of the part (line {first:,}) to its last (line {last:,}) the nozzle is set to "
        f"{float(target.min()):g} degC or more{motors}.",
    )  # fmt: skip


def _heater_off(program: Program, rule: Rule, heater: Heater, span: tuple[int, int]) -> Iterator[Finding]:
    """Say that the nozzle or the plate is switched off and beads follow: more than it lays or holds while it cools."""
    periods = program.state.periods(heater)
    off = periods.target_c < COLD_C
    hot_before = np.maximum.accumulate(periods.target_c >= COLD_C)
    rows = np.flatnonzero(off & ~np.append(False, off[:-1]) & hot_before & (periods.begin > span[0]))
    for row in rows[periods.begin[rows] <= span[1]].tolist():
        begin, on_again = int(periods.begin[row]), row + int(np.argmin(np.append(off[row:], False)))
        end = int(periods.begin[on_again]) if on_again < len(off) else span[1] + 1
        seconds = bead_seconds(program, begin, min(end, span[1] + 1))
        if seconds >= _least_s(program, heater, span):
            yield _heater_finding(program, rule, heater, int(periods.line[row]), begin, seconds)
            return


def _least_s(program: Program, heater: Heater, span: tuple[int, int]) -> float:
    if heater == "nozzle":
        return LEAST_S
    return max(LEAST_S, min(PLATE_S, LAST_SHARE * bead_seconds(program, span[0], span[1] + 1)))


def _heater_finding(
    program: Program, rule: Rule, heater: Heater, line: int, begin: int, seconds: float
) -> Finding:
    bead = next_bead(program, begin)
    layer = layer_of(program, bead)
    ends = heater == "nozzle" and seconds > STILL_HOT_S
    harm = "no filament comes out of a cold nozzle" if heater == "nozzle" else "a part comes off a cold plate"
    said = f"Line {line} switches the {heater} off"
    changes = np.flatnonzero(program.state.tools.move == begin)
    if heater == "nozzle" and len(changes) and line < int(program.state.tools.line[changes[-1]]):
        at, tool = int(program.state.tools.line[changes[-1]]), int(program.state.tools.tool[changes[-1]])
        said = f"Line {at} takes tool {tool}, whose nozzle line {line} has switched off"
        line = at
    remedy = {
        True: "Do not print it: the drive grinds the filament; have the program made again.",
        False: "See why it is switched off there; take the line out or have the program made again.",
    }
    return Finding(
        slug=SLUG,
        severity=rule.weigh(Severity.STOP if ends else Severity.LOOK),
        sentence=f"{said}, and {in_words(seconds)} of beads follow: {harm}.",
        lines=(line, line_of(program, bead)),
        layer=layer,
        place_mm=None if layer is None else middle_of_layer(program, layer),
        value=seconds,
        limit=LEAST_S if heater == "nozzle" else None,
        unit="s of beads",
        remedy=remedy[ends],
        hazard=Hazard.HEAT,
        move=bead,
    )


def _motors_off(program: Program, rule: Rule, span: tuple[int, int]) -> Iterator[Finding]:
    """Say that the motors of X, Y or Z are let go and beads follow."""
    events = program.events
    for row in rows_in(events, span, "M", MOTORS_OFF).tolist():
        words = events.words(row)
        axes = [axis for axis in "XYZ" if axis in words]
        if "S" in words or (not axes and "E" in words):
            continue  # S only sets a time of rest; the motor of the filament alone moves no axis
        if _homed_again(program, row, axes or list("XYZ")):
            continue
        yield _ended(
            program, rule, row,
            f"lets go of the motors{' of ' + ', '.join(axes) if axes else ''}, and beads follow: "
            "the machine no longer knows where its nozzle is",
            Hazard.MOVING_PARTS,
        )  # fmt: skip
        return


def _homed_again(program: Program, row: int, axes: Sequence[str]) -> bool:
    """Tell whether axes are homed between a command and the next bead: they know their place then."""
    events, bead = program.events, next_bead(program, int(program.events.move[row]))
    at = homings(events)
    at = at[(at > row) & (events.move[at] <= bead)]
    homed = frozenset[str]().union(*(homed_axes(events, one) for one in at.tolist()))
    return homed >= frozenset(axes)


def _halted(program: Program, rule: Rule, span: tuple[int, int]) -> Iterator[Finding]:
    """Say that the machine is told to halt (M112) and beads follow."""
    for row in rows_in(program.events, span, "M", (HALT,)).tolist():
        said = "is an emergency stop (M112), and beads follow: the machine halts there"
        yield _ended(program, rule, row, said, None)
        return


def _ended(program: Program, rule: Rule, row: int, said: str, hazard: Hazard | None) -> Finding:
    line = int(program.events.line[row])
    bead = next_bead(program, int(program.events.move[row]))
    layer = layer_of(program, bead)
    return Finding(
        slug=SLUG,
        severity=rule.weigh(Severity.STOP),
        sentence=f"Line {line} {said}.",
        lines=(line, line_of(program, bead)),
        layer=layer,
        place_mm=None if layer is None else middle_of_layer(program, layer),
        remedy="Do not print it: take the line out, or have the program made again.",
        hazard=hazard,
        move=bead,
    )


OFF_CHECK: Final = Check(
    slug=SLUG, theme="the machine", title="Switched off in mid-print",
    looks_at="Whether the nozzle or the plate is switched off (below "
    f"{COLD_C:g} degC), the motors of X, Y or Z are let go (M84, M18) and not homed again, or the machine is halted "
    f"(M112) before the last bead. A nozzle: a stop where more than {STILL_HOT_S:g} s of beads follow. A plate: where "
    f"more than {PLATE_S:g} s of beads, or a tenth of all, follow.",
    why="A cold nozzle lays nothing and grinds the filament, a part comes off a cold plate, and an axis without "
    "its motor loses its place.",
    what_to_do="Take the line out, or have the program made again.",
    cannot_see="What the machine's own procedures switch off, and whether a part would hold on a cold plate.",
    severity=Severity.STOP, limit=None, unit="", hazard=Hazard.HEAT, question=Question.WHOLE,
    run=_off_in_print,
)  # fmt: skip
"""The check of this module."""
