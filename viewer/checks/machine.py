"""Theme: the machine. Whether the program suits this printer, as its card describes it."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import Final

import numpy as np

from viewer.checks.evidence import (
    counted,
    ends_in,
    first_bead,
    heaters_on_at_end,
    in_words,
    layer_of,
    line_of,
    middle_of,
)
from viewer.checks.extents import bead_runs
from viewer.checks.finding import Check, Finding, Hazard, NotChecked, Outcome, Passed, Rule, Severity
from viewer.checks.holds import hottest as hottest_text
from viewer.checks.holds import last_targets
from viewer.checks.midprint.span import first_bead_words
from viewer.checks.outside import find_off_plate
from viewer.checks.questions import Question
from viewer.checks.widths import find_mismatch
from viewer.numerals import share_text, told_apart
from viewer.program import Program
from viewer.read.homing import AXES, homed_axes, homings
from viewer.read.machine_state import CHAMBER, Heater
from viewer.shape.widths import MIN_WIDTH
from viewer.timing.demand import FlowBeyond, flow_beyond, held_back
from viewer.units import filament_area_mm2

MACHINE: Final = "the machine"


def _not_homed(program: Program, rule: Rule) -> Iterator[Outcome]:
    bead = first_bead(program)
    if bead is None:
        return
    events = program.events
    homed: set[str] = set()
    rows = [row for row in homings(events).tolist() if int(events.move[row]) <= bead]
    for row in rows:
        homed |= homed_axes(events, row)
    missing = [axis for axis in AXES if axis not in homed]
    if not missing:
        lines = f"first in line {int(events.line[rows[0]]):,}, that bead in line {line_of(program, bead):,}"
        yield Passed(
            "not-homed", f"X, Y and Z are homed before the {first_bead_words(program, bead)}: {lines}."
        )
        return
    if start := next((one for one in program.remarks.starts if one.move <= bead), None):
        yield NotChecked(
            "not-homed", f"Line {start.line} leaves the beginning to the machine's own {start.name}: "
            f"what it "
            "does, homing too, is not in the program and was not checked.",
        )  # fmt: skip
        return
    if program.tally.oddities["conditional_blocks"].count and homed:
        yield NotChecked(
            "not-homed", f"Homing of {' and '.join(missing)} may stand in a block that is run only under a "
            f"condition: "
            "not checked.",
        )  # fmt: skip
        return
    axes = "any axis" if len(missing) == 3 else " and ".join(missing)
    were = "were" if len(missing) == 2 else "was"
    yield Finding(
        slug="not-homed",
        severity=rule.severity,
        sentence=f"The {first_bead_words(program, bead)} is laid before {axes} {were} homed (G28).",
        lines=(line_of(program, bead),),
        layer=layer_of(program, bead),
        place_mm=middle_of(program, bead),
        value=3.0 - len(missing),
        limit=3.0,
        unit="axes homed",
        remedy="Have it made again with a beginning that homes the machine: without it the machine "
        "does not "
        "know where its nozzle is and may drive it into the plate or the frame.",
        hazard=Hazard.MOVING_PARTS,
        move=bead,
    )


def _too_hot(program: Program, rule: Rule) -> Iterator[Outcome]:
    heat = program.printer.heat
    limits: tuple[tuple[Heater, float | None], ...] = (
        ("nozzle", rule.limit_or(heat.nozzle_max_c)),
        ("plate", heat.plate_max_c),
    )
    for heater, top in limits:
        if top is None:
            yield NotChecked(
                "too-hot-for-machine",
                f"{program.printer.name}'s limit for the {heater}'s temperature is unknown: not checked.",
            )
            continue
        targets = program.state.targets.of(heater)
        hot = targets.rows(targets.target_c > top)
        if len(hot):
            most = int(np.argmax(hot.target_c))
            hottest, lines = float(hot.target_c[most]), hot.stated_line[[0, most]].tolist()
            yield Finding(
                slug="too-hot-for-machine",
                severity=rule.severity,
                sentence=f"The {heater} is set to {hottest:g} degC; {program.printer.name}'s limit is "
                f"{top:g} degC.",
                lines=tuple(dict.fromkeys(lines)),
                value=hottest,
                limit=top,
                unit="degC",
                remedy="Do not print it on this printer.",
                hazard=Hazard.HEAT,
                move=min(int(hot.move[0]), len(program.moves) - 1),
            )
    yield Passed("too-hot-for-machine", hottest_text(program))


def _left_on(program: Program, rule: Rule) -> Iterator[Outcome]:
    limit = rule.limit or 0.0
    last = program.state.last_targets()
    still = last.rows((last.target_c > limit) & (last.heater != CHAMBER))
    if not len(still):
        if said := last_targets(program, limit):
            yield Passed("heaters-left-on", said)
        return
    if ends := ends_in(program):
        yield NotChecked(
            "heaters-left-on", f"Line {ends[-1].line} leaves the end to the machine's own {ends[-1].name}: "
            f"whether that "
            "switches the heaters off is not in the program and was not checked.",
        )  # fmt: skip
        return
    names = heaters_on_at_end(program, limit)
    yield Finding(
        slug="heaters-left-on",
        severity=rule.severity,
        sentence=f"The program ends with {names}: {'that is its' if len(still) == 1 else 'those are their'} last target.",
        lines=tuple(still.stated_line[np.argsort(-still.target_c, kind="stable")].tolist()),
        value=float(still.target_c.max()),
        limit=limit,
        unit="degC at the end",
        remedy="Have somebody there at the end to switch the heaters off, or have it made again.",
        hazard=Hazard.HEAT,
    )


MIN_OVER_S: Final = 1.0
"""Beads that need too much for less than this in all are lost in the melt's own delay (common practice, no source)."""
MIN_BEAD_S: Final = 0.05


def _beyond_flow(program: Program, rule: Rule) -> Iterator[Outcome]:
    known = [v for v in (program.printer.melt_mm3_s, program.filament.melt_mm3_s) if v is not None]
    limit = rule.limit_or(min(known, default=None))
    if limit is None:
        yield NotChecked("beyond-flow", "What the hot end and the filament melt is unknown: not checked.")
        return
    begin = int(program.layers.first_move[0]) if len(program.layers) else 0
    found = _flow_beyond(program, float(limit), begin)
    is_purge = found.seconds < MIN_OVER_S or found.first_move is None
    if is_purge and begin:
        found = _flow_beyond(program, float(limit), 0)
    first, worst = found.first_move, found.worst_move
    if found.seconds < MIN_OVER_S or first is None or worst is None:
        most = _flow_beyond(program, 0.0, begin).highest_mm3_s
        brief = f" (above that for {in_words(found.seconds)} in all)" if most > limit else ""
        needed, melted = told_apart(most, float(limit))
        yield Passed(
            "beyond-flow", f"Beads need up to {needed} mm3/s of filament, and {melted} are melted{brief}."
        )
        return
    # of the commanded speed: what was reached may be less by braking alone
    percent = math.floor(100.0 * limit / found.commanded_mm3_s)
    on_machine = f" (on the machine, at {percent} % speed or less)" if percent else ""
    highest, commanded = found.highest_mm3_s, found.commanded_mm3_s
    not_reached = (
        f"; {commanded:.1f} by the speeds commanded, which are not reached"
        if commanded > 1.05 * highest
        else ""
    )
    yield Finding(
        slug="beyond-flow",
        severity=rule.weigh(Severity.NOTE if is_purge else Severity.LOOK),
        sentence=f"{'Before the first layer, for' if is_purge else 'For'} {in_words(found.seconds)} in all "
        f"({counted(found.beads, 'bead')}) up to {highest:.1f} mm3/s of filament are asked for (line "
        f"{line_of(program, worst):,}{not_reached}), where the hot end melts {limit:g} mm3/s.",
        lines=tuple(dict.fromkeys((line_of(program, first), line_of(program, worst)))),
        layer=layer_of(program, first),
        place_mm=middle_of(program, first),
        value=highest,
        limit=float(limit),
        unit="mm3/s",
        remedy=f"Print it slower{on_machine}, or have it made with less flow; too little comes out otherwise.",
        move=first,
        extents=bead_runs(program, np.array([first, worst])),
    )


def _flow_beyond(program: Program, limit: float, begin: int) -> FlowBeyond:
    area = filament_area_mm2(program.filament_diameter_mm)
    return flow_beyond(program.moves, program.timing, area, limit, MIN_BEAD_S, begin)


def _speed_cut(program: Program, rule: Rule) -> Iterator[Outcome]:
    found = held_back(program.moves, program.timing, program.settings, program.printer)
    first, worst = found.first_move, found.worst_move
    if first is None or worst is None or rule.limit is None or 100.0 * found.share <= rule.limit:
        enough = f"; {100.0 - rule.limit:g} % is enough" if rule.limit is not None else ""
        share = share_text(1.0 - found.share)
        yield Passed(
            "speed-cut", f"The axes reach the speed commanded for {share} of the beads' time{enough}."
        )
        return
    asked, possible = told_apart(found.commanded_mm_s, found.possible_mm_s)
    yield Finding(
        slug="speed-cut",
        severity=rule.severity,
        sentence=f"For {share_text(found.share)} of the beads' time more speed is commanded than the axes reach: at "
        f"worst {asked} mm/s where {possible} mm/s are possible.",
        lines=tuple(dict.fromkeys((line_of(program, first), line_of(program, worst)))),
        layer=layer_of(program, first),
        place_mm=middle_of(program, first),
        value=100.0 * found.share,
        limit=rule.limit,
        unit="% of the beads' time",
        remedy="Expect it to take longer than its own estimate, as the machine goes no faster than it can; see whether "
        "it was made for this printer.",
        move=first,
        extents=bead_runs(program, np.array([first, worst])),
    )


def _more_tools(program: Program, rule: Rule) -> Iterator[Outcome]:
    used = sorted(tool for tool, drawn_mm in program.totals.drawn_by_tool_mm.items() if drawn_mm > 0.0)
    limit = rule.limit_or(float(program.printer.tools))
    changes = program.state.changes
    if limit is None or len(used) <= limit or not len(changes):
        has = f"{program.printer.name} has {program.printer.tools}"
        yield Passed("more-tools", f"The program uses {counted(len(used), 'tool')}, and {has}.")
        return
    move = min(int(changes.move[0]), len(program.moves) - 1)
    there, times = program.printer.tools, "once" if len(changes) == 1 else f"{len(changes):,} times"
    yield Finding(
        slug="more-tools",
        severity=rule.severity,
        sentence=f"The program uses {len(used)} tools ({', '.join(f'T{tool}' for tool in used)}), and "
        f"{program.printer.name} has {there}.",
        lines=(int(changes.line[0]),),
        value=float(len(used)),
        limit=limit,
        unit="tools",
        remedy=f"It is for another machine, or somebody must be there to change the filament by hand, {times}.",
        move=move,
    )


MACHINE_CHECKS: Final = (
    Check(
        slug="off-plate", theme=MACHINE, title="Beads off the plate",
        looks_at="Whether the middle line of every bead lies over the plate and below the printer's "
        "height, and none "
        "below the plate's surface. Purge lines are told apart: they give a note.",
        why="What lies beside the plate is printed into the air, or the nozzle runs into the frame.",
        what_to_do="Have the program made again for this printer.",
        cannot_see="Clips and screws on the plate, travel beside it, and half a bead's width that hangs "
        "over the edge.",
        severity=Severity.STOP, limit=0.0, unit="mm beyond the edge", limit_source="the printer card's plate",
        hazard=Hazard.MOVING_PARTS, run=find_off_plate,
    ),
    Check(
        slug="not-homed", theme=MACHINE, title="Not homed",
        looks_at="Whether each axis was homed (G28, G161, G162) before the first bead, purge too.",
        why="A machine that was not homed does not know where its nozzle is.",
        what_to_do="Have the program made again with a beginning that homes the machine.",
        cannot_see="What the machine's own start procedure does, where the program only calls it by name; "
        "and homing "
        "done by hand before the print.",
        severity=Severity.LOOK, limit=None, unit="", hazard=Hazard.MOVING_PARTS, run=_not_homed,
    ),
    Check(
        slug="too-hot-for-machine", theme=MACHINE, title="Too hot for the machine",
        looks_at="Every target of nozzle and plate against the hottest that the printer card allows.",
        why="A hot end with a lining of plastic gives off harmful fumes and fails above its rating; a "
        "plate may lose "
        "its wiring or its surface.",
        what_to_do="Do not print it on this printer.",
        hazard=Hazard.HEAT,
        cannot_see="The true temperature: sensors can be wrong, and the card can be, too. The machine's "
        "manual has "
        "the last word.",
        severity=Severity.STOP, limit=None, unit="degC (nozzle)",
        limit_source="the printer card (nozzle_max_c, plate_max_c)", run=_too_hot,
    ),
    Check(
        slug="heaters-left-on", theme=MACHINE, title="Heaters left on",
        looks_at="The last target of every nozzle and of the plate; 40 degC is hand-warm.",
        why="A heater that stays on with nobody there bakes the filament in the nozzle and can start a fire.",
        what_to_do="Have somebody there at the end, or have it made again.",
        hazard=Hazard.HEAT,
        cannot_see="What the machine does by itself at the end of a program.",
        severity=Severity.LOOK, limit=40.0, unit="degC at the end", question=Question.WHOLE, run=_left_on,
    ),
    Check(
        slug="beyond-flow", theme=MACHINE, title="More flow than is melted",
        looks_at="The flow of every bead (its cross-section times the speed it reaches, braking and all) "
        "against the "
        "lesser of the printer card's and the filament card's melt rate. In all it must last 1 s.",
        why="The drive slips, too little filament comes out, and the part gets weak without looking so.",
        what_to_do="Print it slower, or have it made with thinner, narrower or slower beads.",
        cannot_see="How the melt rate changes with temperature and wear; filament cards give it for a 0.4 "
        "mm nozzle.",
        severity=Severity.LOOK, limit=None, unit="mm3/s", limit_source="the printer and filament cards "
        "(melt_mm3_s)",
        run=_beyond_flow,
    ),
    Check(
        slug="speed-cut", theme=MACHINE, title="Faster than the axes go",
        looks_at="The commanded speed of every bead against the top speeds of the axes, filament too: the "
        "card's, and "
        "the program's own where the machine obeys them.",
        why="The print takes longer than planned, and was perhaps made for another machine.",
        what_to_do="Nothing need be done; see whether the program was made for this printer.",
        cannot_see="Acceleration: most short beads never reach their speed anyway.",
        severity=Severity.NOTE, limit=5.0, unit="% of the beads' time", run=_speed_cut,
    ),
    Check(
        slug="nozzle-mismatch", theme=MACHINE, title="Beads of another nozzle, filament or flow",
        looks_at="The median width of the part's beads, by length, computed from filament, path and layer "
        f"thickness: below {MIN_WIDTH:g} or above 2 diameters of the nozzle it does not fit; a card moves the 2. The "
        "distance of beads that touch tells what is off: the nozzle where it agrees with the filament fed, the "
        "filament's diameter where 1.75 or 2.85 to 3 mm would make it agree, else the flow. A diameter of the other kind "
        "that comments, or a claimed length and volume, tell of is always said.",
        why="A wide bead from a narrow nozzle or a narrow bead from a wide one does not hold its shape. With filament of "
        "another diameter 2.7 times too much or too little comes out, and mass and cost are wrong by as much.",
        what_to_do="See which nozzle and which filament are fitted, and compute with them.",
        cannot_see="What is fitted: the cards say so. Flow that is off by less than 1.4 times, and where no beads touch "
        "(a spiral, sparse infill alone) whether nozzle, filament or flow is off.",
        severity=Severity.LOOK, limit=2.0, unit="nozzle diameters", run=find_mismatch,
    ),
    Check(
        slug="more-tools", theme=MACHINE, title="More tools than there are",
        looks_at="How many tools draw filament, against the printer card's.",
        why="A printer with one nozzle goes on with the filament that is in it, or waits until somebody changes it.",
        what_to_do="Have somebody there at every change, or print it on the machine that it was made for.",
        cannot_see="Whether a change of tool waits for somebody: the machine's own procedure says so.",
        severity=Severity.LOOK, limit=None, unit="tools", limit_source="the printer card (tools)", run=_more_tools,
    ),
)  # fmt: skip
"""The checks of this theme."""
