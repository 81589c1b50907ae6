"""Theme: the machine. Whether the program suits this printer, as its card describes it."""

# mypy: allow-untyped-calls

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import Final

import numpy as np

from viewer.arrays import F64, I64, read_only
from viewer.checks.evidence import (
    HEAT_CAUTION,
    counted,
    ends_in,
    first_bead,
    in_words,
    layer_of,
    line_of,
    middle_of,
)
from viewer.checks.finding import Check, Finding, NotChecked, Outcome, Rule, Severity
from viewer.checks.kernels import moves as k
from viewer.checks.outside import find_off_plate
from viewer.checks.subject import Subject
from viewer.numerals import number_text, share_text, told_apart
from viewer.read.machine_state import CHAMBER, PLATE, Heater
from viewer.timing.limits import LIMIT_FIELDS, limits_for
from viewer.units import filament_area_mm2

MACHINE: Final = "the machine"


def _not_homed(subject: Subject, rule: Rule) -> Iterator[Outcome]:
    bead = first_bead(subject)
    if bead is None:
        return
    events = subject.events
    homed: set[str] = set()
    rows = [row for row in events.rows("G", 28).tolist() if int(events.move[row]) <= bead]
    for row in rows:
        named = set(events.words(row)) & set("XYZ")
        homed |= named or set("XYZ")
    missing = [axis for axis in "XYZ" if axis not in homed]
    if not missing:
        return
    if start := next((one for one in subject.remarks.starts if one.move <= bead), None):
        yield NotChecked(
            "not-homed", f"Line {start.line} leaves the beginning to the machine's own {start.name}: "
            f"what it "
            "does, homing too, is not in the program and was not checked.",
        )  # fmt: skip
        return
    if subject.tally.oddities["conditional_blocks"].count and homed:
        yield NotChecked(
            "not-homed", f"Homing of {' and '.join(missing)} may stand in a block that is run only under a "
            f"condition: "
            "not checked.",
        )  # fmt: skip
        return
    axes = "any axis" if len(missing) == 3 else " and ".join(missing)
    were = "were" if len(missing) == 2 else "was"
    yield Finding(
        "not-homed", rule.severity, f"The first bead is laid before {axes} {were} homed (G28).",
        (line_of(subject, bead),), layer_of(subject, bead), middle_of(subject, bead), 3.0 - len(missing), 3.0,
        "axes homed", "Have it made again with a beginning that homes the machine: without it the machine "
        "does not "
        "know where its nozzle is and may drive it into the plate or the frame.", bead,
    )  # fmt: skip


def _too_hot(subject: Subject, rule: Rule) -> Iterator[Outcome]:
    heat = subject.printer.heat
    limits: tuple[tuple[Heater, float | None], ...] = (
        ("nozzle", rule.limit_or(heat.nozzle_max_c)),
        ("plate", heat.plate_max_c),
    )
    for heater, top in limits:
        if top is None:
            yield NotChecked(
                "too-hot-for-machine",
                f"{subject.printer.name}'s limit for the {heater}'s temperature is unknown: not checked.",
            )
            continue
        targets = subject.state.targets.of(heater)
        hot = targets.rows(targets.target_c > top)
        if len(hot):
            most = int(np.argmax(hot.target_c))
            hottest, lines = float(hot.target_c[most]), hot.stated_line[[0, most]].tolist()
            yield Finding(
                "too-hot-for-machine", rule.severity,
                f"The {heater} is set to {hottest:g} degC; {subject.printer.name}'s limit is {top:g} degC.",
                tuple(dict.fromkeys(lines)), None, None, hottest, top, "degC",
                f"Do not print it on this printer. {HEAT_CAUTION}", min(int(hot.move[0]), len(subject.moves) - 1),
            )  # fmt: skip


def _left_on(subject: Subject, rule: Rule) -> Iterator[Outcome]:
    limit = rule.limit or 0.0
    last = subject.state.last_targets()
    still = last.rows((last.target_c > limit) & (last.heater != CHAMBER))
    if not len(still):
        return
    if ends := ends_in(subject):
        yield NotChecked(
            "heaters-left-on", f"Line {ends[-1].line} leaves the end to the machine's own {ends[-1].name}: "
            f"whether that "
            "switches the heaters off is not in the program and was not checked.",
        )  # fmt: skip
        return
    pairs = zip(still.heater.tolist(), still.target_c.tolist(), strict=True)
    names = " and ".join(
        f"the {_heater_name(subject, heater)} at {target_c:g} degC" for heater, target_c in pairs
    )
    yield Finding(
        "heaters-left-on", rule.severity,
        f"The program ends with {names}: {'that is its' if len(still) == 1 else 'those are their'} last target.",
        tuple(still.stated_line[np.argsort(-still.target_c, kind="stable")].tolist()), None, None,
        float(still.target_c.max()), limit, "degC at the end",
        f"Have somebody there at the end to switch the heaters off, or have it made again. {HEAT_CAUTION}",
    )  # fmt: skip


def _heater_name(subject: Subject, heater: int) -> str:
    """Name a heater, with its tool where the printer has several nozzles."""
    if heater == PLATE:
        return "plate"
    return "nozzle" if subject.state.one_nozzle else f"nozzle of tool {heater}"


MIN_OVER_S: Final = 1.0
"""Beads that need too much for less than this in all are lost in the melt's own delay (common practice, no source)."""
MIN_BEAD_S: Final = 0.05


def _beyond_flow(subject: Subject, rule: Rule) -> Iterator[Outcome]:
    known = [v for v in (subject.printer.melt_mm3_s, subject.filament.melt_mm3_s) if v is not None]
    limit = rule.limit_or(min(known, default=None))
    if limit is None:
        yield NotChecked("beyond-flow", "What the hot end and the filament melt is unknown: not checked.")
        return
    begin = int(subject.layers.first_move[0]) if len(subject.layers) else 0
    places, sums = _flow_beyond(subject, begin, float(limit))
    is_purge = sums[0] < MIN_OVER_S or places[0] < 0
    if is_purge and begin:
        places, sums = _flow_beyond(subject, 0, float(limit))
    if sums[0] < MIN_OVER_S or places[0] < 0:
        return
    first, worst = int(places[0]), int(places[1])
    # of the commanded speed: what was reached may be less by braking alone
    percent = math.floor(100.0 * limit / sums[3])
    on_machine = f" (on the machine, at {percent} % speed or less)" if percent else ""
    not_reached = (
        f"; {sums[3]:.1f} by the speeds commanded, which are not reached" if sums[3] > 1.05 * sums[1] else ""
    )
    yield Finding(
        "beyond-flow", rule.weigh(Severity.NOTE if is_purge else Severity.LOOK),
        f"{'Before the first layer, for' if is_purge else 'For'} {in_words(sums[0])} in all "
        f"({counted(int(sums[2]), 'bead')}) up to {sums[1]:.1f} mm3/s of filament are asked for (line "
        f"{line_of(subject, worst)}{not_reached}), where the hot end melts {limit:g} mm3/s.",
        tuple(dict.fromkeys((line_of(subject, first), line_of(subject, worst)))), layer_of(subject, first),
        middle_of(subject, first), float(sums[1]), float(limit), "mm3/s",
        f"Print it slower{on_machine}, or have it made with less flow; too little comes out otherwise.", first,
    )  # fmt: skip


def _flow_beyond(subject: Subject, begin: int, limit: float) -> tuple[I64, F64]:
    """Look for flow beyond a limit from a move on; places and sums as `k.find_flow` has them."""
    places, sums = np.full(2, -1, np.int64), np.zeros(4)
    moves, timing = subject.moves, subject.timing
    kind, fed, length, speed, peak, time = (
        read_only(column[begin:])
        for column in (
            moves.kind, moves.fed_mm, moves.length_mm, moves.speed_mm_s, timing.peak_mm_s, timing.time_s,
        )
    )  # fmt: skip
    area = filament_area_mm2(subject.filament_diameter_mm)
    k.find_flow(kind, fed, length, speed, peak, time, area, limit, MIN_BEAD_S, places, sums)
    return np.where(places < 0, -1, places + begin), sums


def _speed_cut(subject: Subject, rule: Rule) -> Iterator[Outcome]:
    limits = limits_for(subject.settings, subject.printer)
    fields = ("max_x_mm_s", "max_y_mm_s", "max_z_mm_s", "max_e_mm_s", "max_path_mm_s", "speed_factor")
    tops = np.ascontiguousarray(limits[:, [LIMIT_FIELDS.index(field) for field in fields]])
    places, sums = np.full(2, -1, np.int64), np.zeros(4)
    moves = subject.moves
    k.find_held_back(
        read_only(moves.kind),
        read_only(moves.x_mm),
        read_only(moves.y_mm),
        read_only(moves.z_mm),
        read_only(moves.length_mm),
        read_only(moves.fed_mm),
        read_only(moves.speed_mm_s),
        read_only(subject.timing.time_s),
        read_only(subject.settings.of_move),
        tops,
        places,
        sums,
    )
    share = float(sums[0] / sums[1]) if sums[1] > 0.0 else 0.0
    if places[0] < 0 or rule.limit is None or 100.0 * share <= rule.limit:
        return
    asked, possible = told_apart(float(sums[2]), float(sums[3]))
    first, worst = int(places[0]), int(places[1])
    yield Finding(
        "speed-cut", rule.severity,
        f"For {share_text(share)} of the beads' time more speed is commanded than the axes reach: at worst "
        f"{asked} mm/s where {possible} mm/s are possible.",
        tuple(dict.fromkeys((line_of(subject, first), line_of(subject, worst)))), layer_of(subject, first),
        middle_of(subject, first), 100.0 * share, rule.limit, "% of the beads' time",
        "Expect it to take longer than its own estimate, as the machine goes no faster than it can; see whether it was "
        "made for this printer.", first,
    )  # fmt: skip


NARROWEST: Final = 0.8
"""In nozzle diameters: a bead that is narrower than the bore is stretched thin."""


def _nozzle_mismatch(subject: Subject, rule: Rule) -> Iterator[Outcome]:
    if not len(subject.layers) or rule.limit is None:
        return
    path = np.zeros(k.WIDTH_BINS)
    moves, layers = subject.moves, subject.layers
    k.spread_widths(
        read_only(moves.kind),
        read_only(subject.roles),
        read_only(moves.fed_mm),
        read_only(moves.length_mm),
        read_only(layers.first_move),
        read_only(layers.thickness_mm),
        filament_area_mm2(subject.filament_diameter_mm),
        path,
    )
    if not path.sum() > 0.0:
        return
    median = (float(np.searchsorted(np.cumsum(path), 0.5 * path.sum())) + 0.5) * k.WIDTH_BIN_MM
    nozzle = subject.printer.nozzle_mm
    low, high = NARROWEST * nozzle, rule.limit * nozzle
    if low <= median <= high:
        return
    word, limit = ("narrow", low) if median < low else ("wide", high)
    yield Finding(
        "nozzle-mismatch", rule.severity,
        f"Half of the path is beads of {told_apart(median, limit)[0]} mm or {'less' if median < low else 'more'}, too "
        f"{word} for a nozzle of {nozzle:g} mm, which lays {number_text(low)} to {number_text(high)} mm.",
        (), None, None, median, limit, "mm",
        "See which nozzle is fitted and for which one the program was made; correct the card or have it "
        "made again.",
    )  # fmt: skip


def _more_tools(subject: Subject, rule: Rule) -> Iterator[Outcome]:
    used = sorted(tool for tool, drawn_mm in subject.totals.drawn_by_tool_mm.items() if drawn_mm > 0.0)
    limit = rule.limit_or(float(subject.printer.tools))
    changes = subject.state.tools
    if limit is None or len(used) <= limit or not len(changes):
        return
    move = min(int(changes.move[0]), len(subject.moves) - 1)
    there, times = subject.printer.tools, "once" if len(changes) == 1 else f"{len(changes):,} times"
    yield Finding(
        "more-tools", rule.severity,
        f"The program uses {len(used)} tools ({', '.join(f'T{tool}' for tool in used)}), and "
        f"{subject.printer.name} has {there}.",
        (int(changes.line[0]),), None, None, float(len(used)), limit, "tools",
        f"It is for another machine, or somebody must be there to change the filament by hand, {times}.", move,
    )  # fmt: skip


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
        run=find_off_plate,
    ),
    Check(
        slug="not-homed", theme=MACHINE, title="Not homed",
        looks_at="Whether each axis was homed (G28) before the first bead.",
        why="A machine that was not homed does not know where its nozzle is.",
        what_to_do="Have the program made again with a beginning that homes the machine.",
        cannot_see="What the machine's own start procedure does, where the program only calls it by name; "
        "and homing "
        "done by hand before the print.",
        severity=Severity.LOOK, limit=None, unit="", run=_not_homed,
    ),
    Check(
        slug="too-hot-for-machine", theme=MACHINE, title="Too hot for the machine",
        looks_at="Every target of nozzle and plate against the hottest that the printer card allows.",
        why="A hot end with a lining of plastic gives off harmful fumes and fails above its rating; a "
        "plate may lose "
        "its wiring or its surface.",
        what_to_do=f"Do not print it on this printer. {HEAT_CAUTION}",
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
        what_to_do=f"Have somebody there at the end, or have it made again. {HEAT_CAUTION}",
        cannot_see="What the machine does by itself at the end of a program.",
        severity=Severity.LOOK, limit=40.0, unit="degC at the end", run=_left_on,
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
        slug="nozzle-mismatch", theme=MACHINE, title="Beads of another nozzle",
        looks_at="The median width of the part's beads, by length, computed from filament, path and layer "
        f"thickness. Below {NARROWEST:g} or above 2 diameters of the nozzle it does not fit; a card moves the 2.",
        why="A wide bead from a narrow nozzle or a narrow bead from a wide one does not hold its shape.",
        what_to_do="See which nozzle is fitted.",
        cannot_see="Which nozzle is fitted: the card says so. With the wrong filament diameter all widths "
        "are wrong.",
        severity=Severity.LOOK, limit=2.0, unit="nozzle diameters", run=_nozzle_mismatch,
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
