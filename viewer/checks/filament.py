"""Theme: the filament. Whether the program suits what is on the spool, as the filament card describes it."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

import numpy as np

from viewer.arrays import F64, I64, Bool
from viewer.cards.filament import Window
from viewer.checks.evidence import (
    first_bead,
    in_words,
    layer_of,
    line_of,
    middle_of,
)
from viewer.checks.extents import bead_run
from viewer.checks.finding import Check, Finding, Hazard, NotChecked, Outcome, Passed, Rule, Severity
from viewer.checks.holds import joined, spool_holds
from viewer.checks.midprint import COLD_C as OFF_C
from viewer.checks.midprint import part_span
from viewer.checks.midprint.span import first_bead_words
from viewer.numerals import capital, told_apart
from viewer.program import Program
from viewer.read.machine_state import Heater, HeatPeriods
from viewer.timing import nozzle_before
from viewer.timing.demand import seconds_by_period
from viewer.units import MM3_PER_CM3, filament_area_mm2

FILAMENT: Final = "the filament"

COLD_C: Final = 170.0
"""Below this most machines refuse to push filament (common practice, no source), unless the card's window is lower."""
ON_THE_WAY_C: Final = 20.0
"""A nozzle that lacks less than this is as good as there: the card's rates are no truer (no source)."""
MIN_BEADS_S: Final = 2.0
"""Beads at a wrong temperature for less than this (or half of all) are the end of a change (no source)."""


def _wrong_heat(program: Program, rule: Rule) -> Iterator[Outcome]:
    bead = first_bead(program)
    if bead is None:
        return
    layers = program.layers
    first_layer = slice(*layers.first_move[:2].tolist()) if len(layers) else slice(0, len(program.moves))
    whole = slice(0, len(program.moves))
    windows: tuple[tuple[Heater, Window | None, slice], ...] = (
        ("nozzle", program.filament.nozzle_c, whole),
        ("plate", program.filament.plate_c, first_layer),
    )
    for heater, window, span in windows:
        if window is None:
            yield NotChecked(
                "wrong-heat", f"The {heater} window of {program.filament.name} is unknown: not checked."
            )
        else:
            yield from _outside_window(program, rule, heater, window, span)
    yield from _not_waited_for(program, rule, bead)
    held = [
        (heater, window, text)
        for heater, window, span in windows
        if window is not None and (text := _held_heat(program, heater, span))
    ]
    if held:
        name = program.filament.name
        text = joined(
            f"{heater} at {at} degC ({name} wants {w.low:g} to {w.high:g})" for heater, w, at in held
        )
        briefly = ", ".join(f"{heater} {at} degC" for heater, _, at in held)
        yield Passed(
            "wrong-heat",
            f"{capital(text)}.",
            f"{capital(briefly)}, as {name} wants",
        )


def _held_heat(program: Program, heater: Heater, span: slice) -> str:
    """Say at which targets beads are laid, degC; "" where the program sets none."""
    periods = program.state.periods(heater)
    _, first = seconds_of(program, periods, span)
    target = periods.target_c[(first >= 0) & np.isfinite(periods.target_c)]
    if not len(target):
        return ""
    low, high = float(target.min()), float(target.max())
    return f"{low:g}" if low == high else f"{low:g} to {high:g}"


def _not_waited_for(program: Program, rule: Rule, bead: int) -> Iterator[Outcome]:
    """Say that the first bead comes while the nozzle is still on its way to its target."""
    if any(start.move <= bead for start in program.remarks.starts):
        return  # the machine's own procedure may wait
    heat = nozzle_before(
        bead, program.events, program.state, program.timing.progress.moving_before, program.printer
    )
    if heat.is_c >= heat.target_c - ON_THE_WAY_C:
        return
    sets = program.state.targets.of("nozzle")
    last = sets.stated_line[sets.move <= bead][-1:].tolist()
    if set_at := _set_with_tool(program, bead):
        yield NotChecked(
            "wrong-heat", f"The nozzle's temperature is a setting of its tool (G10, line {set_at}): whether the "
            "machine waits for it when the tool is taken is not in the program and was not checked.",
        )  # fmt: skip
        return
    lines = (*last, line_of(program, bead))
    yield Finding(
        slug="wrong-heat",
        severity=rule.weigh(Severity.LOOK),
        sentence=f"The {first_bead_words(program, bead)} does not wait for the nozzle (M109): by the printer card it has "
        f"some {heat.is_c:.0f} degC of {heat.target_c:g} by then.",
        lines=lines,
        layer=layer_of(program, bead),
        place_mm=middle_of(program, bead),
        value=heat.is_c,
        limit=heat.target_c,
        unit="degC",
        remedy="Heat the nozzle by hand before the print, or have it made again: cold filament is ground off or the "
        "machine stops.",
        hazard=Hazard.HEAT,
        move=bead,
    )


def _set_with_tool(program: Program, bead: int) -> int:
    """Return the line of the G10 that gave the nozzle its last target before a bead, and a T behind it; 0: none did.

    Machines that are set so may wait at T by themselves (common practice, no source).
    """
    events, sets = program.events, program.state.targets.of("nozzle")
    event = sets.event[sets.move <= bead][-1:]
    stated = int(sets.stated_line[sets.move <= bead][-1]) if len(event) else 0
    by_setting = stated in events.line[events.rows("G", 10)].tolist()
    taken = (events.letter == ord("T")) & (events.line >= stated) & (events.move <= bead)
    return stated if by_setting and bool(taken.any()) else 0


def _outside_window(
    program: Program, rule: Rule, heater: Heater, window: Window, span: slice
) -> Iterator[Outcome]:
    """Compare the targets while beads are laid with the window; the plate's in the first layer."""
    periods = program.state.periods(heater)
    seconds, first = seconds_of(program, periods, span)
    target = periods.target_c
    least = min(MIN_BEADS_S, 0.5 * float(seconds.sum()))
    never = np.isnan(target) & (first >= 0)
    if never.any() and seconds[never].sum() >= least:
        yield from _never_set(program, rule, heater, window, int(first[never].min()))
    slack = rule.limit or 0.0
    too_low = (target < window.low - slack) & ~_off_in_print(program, periods)
    for low, wrong in ((True, too_low), (False, target > window.high + slack)):
        rows = np.flatnonzero(wrong & (first >= 0))
        lasts = float(seconds[rows].sum())
        if len(rows) and lasts >= least:
            worst = int(rows[np.argmin(target[rows]) if low else np.argmax(target[rows])])
            found = _Wrong(
                heater=heater,
                window=window,
                low=low,
                line=int(periods.line[rows[0]]),
                move=int(first[rows[0]]),
                target_c=float(target[worst]),
                lasts_s=lasts,
            )
            yield _wrong_target(program, rule, found)


def _off_in_print(program: Program, periods: HeatPeriods) -> Bool:
    """Tell of each period whether the heater was switched off in mid-print: `viewer.checks.midprint` says so."""
    span = part_span(program)
    was_hot = np.maximum.accumulate(np.nan_to_num(periods.target_c)) >= OFF_C
    began = span is not None and periods.begin > span[0]
    return np.asarray((periods.target_c < OFF_C) & was_hot & began)


def seconds_of(program: Program, periods: HeatPeriods, span: slice) -> tuple[F64, I64]:
    """Return the beads' seconds in each period and its first bead (-1: none), within a span of moves."""
    begin, end = np.maximum(periods.begin, span.start), np.minimum(periods.end, span.stop)
    return seconds_by_period(program.moves, program.timing, np.stack([begin, end], axis=1))


@dataclass(frozen=True, slots=True)
class _Wrong:
    """What is wrong with a target."""

    heater: str
    window: Window
    low: bool
    line: int
    """Of the first of them."""
    move: int
    """Its first bead."""
    target_c: float
    """The worst."""
    lasts_s: float


def _wrong_target(program: Program, rule: Rule, found: _Wrong) -> Finding:
    window, target = found.window, found.target_c
    cold = found.low and found.heater == "nozzle" and target < min(COLD_C, window.low)
    said = (
        f"Beads are laid for {in_words(found.lasts_s)} with the {found.heater} set to {target:g} degC; "
        f"{program.filament.name} wants {window.low:g} to {window.high:g} degC."
    )
    remedy = "See which filament the program was made for; change the filament, or have it made again."
    if cold:
        said = f"{said[:-1]}, and filament that cold is not pushed through."
        remedy = (
            "Do not print it: the drive grinds the filament, or the machine refuses; see whether the nozzle's "
            "temperature is set before the first bead."
        )
    return Finding(
        slug="wrong-heat",
        severity=rule.weigh(Severity.STOP if cold else Severity.LOOK),
        sentence=said,
        lines=(found.line, line_of(program, found.move)),
        layer=layer_of(program, found.move),
        place_mm=middle_of(program, found.move),
        value=target,
        limit=window.low if found.low else window.high,
        unit="degC",
        remedy=remedy,
        hazard=Hazard.HEAT,
        move=found.move,
    )


def _never_set(program: Program, rule: Rule, heater: str, window: Window, move: int) -> Iterator[Outcome]:
    """Say that beads are laid before the program ever sets a heater."""
    if start := next((one for one in program.remarks.starts if one.move <= move), None):
        yield NotChecked(
            "wrong-heat", f"Line {start.line} leaves the beginning to the machine's own {start.name}: "
            f"the "
            f"{heater}'s temperature is not in the program and was not checked.",
        )  # fmt: skip
        return
    if heater == "plate" and window.low <= program.printer.heat.room_c:
        return
    yield Finding(
        slug="wrong-heat",
        severity=rule.weigh(Severity.LOOK),
        sentence=f"The program lays beads without ever setting the "
        f"{heater}'s "
        f"temperature; {program.filament.name} wants {window.low:g} to {window.high:g} degC.",
        lines=(line_of(program, move),),
        layer=layer_of(program, move),
        place_mm=middle_of(program, move),
        limit=window.low,
        unit="degC",
        remedy="Heat the machine by hand before the print, or have it made again.",
        hazard=Hazard.HEAT,
        move=move,
    )


def _abrasive(program: Program, rule: Rule) -> Iterator[Outcome]:
    if program.filament.abrasive and not program.printer.nozzle_hardened:
        yield Finding(
            slug="abrasive",
            severity=rule.severity,
            sentence=f"{program.filament.name} carries a filler that wears nozzles, and the nozzle of "
            f"{program.printer.name} is "
            "not hardened.",
            value=1.0,
            limit=0.0,
            unit="abrasive through a plain nozzle",
            remedy="Fit a hardened nozzle, or print it on a printer that has one; fine filler also makes "
            "harmful dust "
            "when such parts are sanded.",
        )
        return
    plain = f"{program.filament.name} carries no filler that wears nozzles"
    hard = f"The nozzle of {program.printer.name} is hardened"
    yield Passed("abrasive", f"{hard if program.filament.abrasive else plain}.")


def run_out_move(program: Program, tool: int, left_g: float) -> int | None:
    """Return the move in which a tool has drawn so much filament, g; None where it never does.

    Filament counts as drawn where its running sum exceeds its highest value so far: retract and prime cancel.
    """
    g_per_mm = filament_area_mm2(program.filament_diameter_mm) * program.filament.density_g_cm3 / MM3_PER_CM3
    tools = program.state.tools
    own = np.ones(len(program.moves), np.bool_)
    if len(program.totals.drawn_by_tool_mm) > 1:
        before = np.searchsorted(tools.move, np.arange(len(own)), side="right") - 1
        of_move = np.where(before >= 0, tools.tool[np.maximum(before, 0)], 0)
        own = np.asarray(of_move == tool)
    run = np.cumsum(np.where(own, program.moves.fed_mm, 0.0), dtype=np.float64)
    drawn = np.maximum.accumulate(run) * g_per_mm
    return int(np.argmax(drawn >= left_g)) if len(drawn) and drawn[-1] >= left_g else None


def _spool_short(program: Program, rule: Rule) -> Iterator[Outcome]:
    left = program.filament.spool_left_g
    if left is None:
        unknown = "What is left on the spool is unknown: not checked (weigh it and give it, as 250 g)."
        yield NotChecked("spool-short", unknown)
        return
    by_tool = program.figures.filament.by_tool
    tool = max(by_tool, key=lambda name: by_tool[name]["g"], default=None)
    if tool is None:
        return
    needed, margin = by_tool[tool]["g"], 1.0 + (rule.limit or 0.0) / 100.0
    if needed * margin <= left:
        yield Passed("spool-short", spool_holds(program, needed, left))
        return
    whose = f"Tool {tool} needs" if len(by_tool) > 1 else "The program needs"
    short = needed > left
    takes, there = told_apart(needed, left)
    sentence = f"{whose} {takes} g of filament, and {there} g are left on the spool"
    sentence += "." if short else f": less than {100.0 * (margin - 1.0):g} % more than it takes."
    ends = run_out_move(program, int(tool), left) if short else None
    if ends is not None:
        layer, after = layer_of(program, ends), in_words(float(program.timing.progress.time_at_move(ends)[0]))
        where = f"in layer {layer}" if layer is not None else f"in line {line_of(program, ends):,}"
        sentence = f"{sentence[:-1]}: it runs out {where}, after {after}."
    yield Finding(
        slug="spool-short",
        severity=rule.weigh(Severity.LOOK if short else Severity.NOTE),
        sentence=sentence,
        value=needed,
        limit=left,
        unit="g",
        move=ends,
        extents=() if ends is None else bead_run(program, ends),
        remedy="Take a fuller spool, or stay near to change it; weigh the spool, less the empty one.",
    )


FILAMENT_CHECKS: Final = (
    Check(
        slug="wrong-heat", theme=FILAMENT, title="Wrong temperature for the filament",
        looks_at="The targets of the nozzle while beads are laid, and of the plate during the first layer, "
        "against "
        f"the filament card's windows; a nozzle below {COLD_C:g} degC (and below the window) is a stop. "
        "Whether the first bead, purge too, waits until the nozzle is hot.",
        why="Too cold and layers do not join, or nothing comes out; too hot and the filament strings, "
        "chars and fumes.",
        what_to_do="See which filament the program was made for.",
        hazard=Hazard.HEAT,
        cannot_see="True temperatures: how quickly the nozzle heats is the printer card's; the maker's data sheet goes "
        "before the "
        "card.",
        severity=Severity.STOP, limit=0.0, unit="degC outside the window",
        limit_source="the filament card; its windows are common practice, no source", run=_wrong_heat,
    ),
    Check(
        slug="abrasive", theme=FILAMENT, title="Abrasive filament",
        looks_at="Whether the filament card says abrasive while the printer card says that the nozzle is "
        "not hardened.",
        why="Fibres, glitter and glow powder grind a brass nozzle out within a few hundred grams.",
        what_to_do="Fit a hardened nozzle.",
        cannot_see="The filament and the nozzle themselves: the cards speak for them.",
        severity=Severity.LOOK, limit=None, unit="", run=_abrasive,
    ),
    Check(
        slug="spool-short", theme=FILAMENT, title="Not enough on the spool",
        looks_at="The filament drawn in all, purge too, against what the filament card says is left, with "
        "a margin. "
        "With several tools, the one that needs most.",
        why="A spool that runs out hours later spoils the part.",
        what_to_do="Take a fuller spool.",
        cannot_see="Which spool is loaded, tangles, and the rest that cannot be drawn.",
        severity=Severity.LOOK, limit=5.0, unit="% margin", run=_spool_short,
    ),
)  # fmt: skip
"""The checks of this theme."""
