"""Waits and pauses between the first bead of the part and its last, with the hot nozzle on the part."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

import numpy as np

from viewer.arrays import F64, I64, Bool
from viewer.checks.evidence import counted, in_words, line_of, tuned
from viewer.checks.finding import Check, Finding, Hazard, Outcome, Passed, Rule, Severity, with_rest
from viewer.checks.midprint.span import bead_distance_mm, part_span, where
from viewer.program import Program
from viewer.read.moves import BEAD
from viewer.timing.clock import DWELL, HEATING, PAUSE

SLUG: Final = "stands-still"
STANDS_S: Final = 5.0
"""A hot nozzle that stands longer in one place leaves a blob and melts what lies below it (no source)."""
NEAR_MM: Final = 1.0
"""Sideways, and above: further off the nozzle touches nothing (no source)."""
ALL_S: Final = 300.0
ALL_SHARE: Final = 0.1
"""Dwells that take so long in all, and such a share of the print, are worth a note (no source)."""
MAX_FINDINGS: Final = 100
PARKS: Final = (6000, 6010)
"""M600 and M601 park the nozzle beside the part by themselves (common practice, no source)."""


@dataclass(frozen=True, slots=True)
class _Stands:
    """Standstills before moves within the print: (n,) each, in order."""

    move: I64
    seconds: F64
    event: I64
    """Of the first wait of each, a row of `Events`."""
    pauses: Bool
    """Somebody must answer."""


def _stands_still(program: Program, rule: Rule) -> Iterator[Outcome]:
    span = part_span(program)
    if span is None:
        return
    stands, limit = _stands(program, span), rule.limit or 0.0
    long = np.flatnonzero(stands.seconds > limit)
    worst = long[np.argsort(-stands.seconds[long], kind="stable")][:MAX_FINDINGS]
    found = [
        _finding(program, rule, stands, row) for row in worst.tolist() if _on_the_part(program, stands, row)
    ]
    yield from with_rest(found, len(found), "standstill")
    dwells = list(_many_dwells(program, rule, span))
    yield from dwells
    if not found and not dwells:
        yield Passed(SLUG, _what_holds(stands, limit))


def _stands(program: Program, span: tuple[int, int]) -> _Stands:
    """Return all standstills behind the first bead of the part and before its last; waits at one place are one.

    Where the tool is changed the machine moves by its own procedure: those are left out.
    """
    waits = program.timing.waits
    inside = (waits.move > span[0]) & (waits.move <= span[1]) & np.isin(waits.cause, (DWELL, HEATING, PAUSE))
    by_machine = np.isin(program.events.code[waits.event], PARKS) | np.isin(
        waits.move, program.state.tools.move
    )
    rows = np.flatnonzero(inside & ~by_machine)
    move, first, owner = np.unique(waits.move[rows], return_index=True, return_inverse=True)
    seconds = np.bincount(owner, weights=waits.seconds[rows], minlength=len(move)).astype(np.float64)
    pauses = np.bincount(owner, weights=waits.cause[rows] == PAUSE, minlength=len(move)) > 0.0
    return _Stands(move.astype(np.int64), seconds, waits.event[rows][first].astype(np.int64), pauses)


def _on_the_part(program: Program, stands: _Stands, row: int) -> bool:
    """Whether the nozzle stands on what was laid in this layer and the one below, or just above."""
    move, moves = int(stands.move[row]), program.moves
    x, y, z = moves.start_xyz(move)
    layer = int(program.layers.of_moves([move - 1])[0])
    begin = int(program.layers.first_move[max(layer - 2, 0)])
    laid = np.flatnonzero(moves.kind[begin:move] == BEAD)
    if not len(laid) or z - float(moves.z_mm[begin + laid[-1]]) > NEAR_MM:
        return False
    return bead_distance_mm(program, (begin, move - 1), x, y) <= NEAR_MM


def _finding(program: Program, rule: Rule, stands: _Stands, row: int) -> Finding:
    move, event = int(stands.move[row]), int(stands.event[row])
    seconds, limit = float(stands.seconds[row]), rule.limit or 0.0
    line = int(program.events.line[event])
    layer, _ = where(program, move - 1)
    lasts = f"stands still for {in_words(seconds)}"
    if stands.pauses[row]:
        lasts = "waits for somebody"
    return Finding(
        slug=SLUG,
        severity=rule.severity,
        sentence=f"At line {line} the nozzle {lasts} on the part: it drips, leaves a blob and melts what lies "
        "below it.",
        lines=(line, line_of(program, move)),
        layer=layer,
        place_mm=tuned(program.moves.start_xyz(move)),
        value=seconds,
        limit=limit,
        unit="s",
        remedy="See whether the wait is meant; have it made again with the nozzle moved off the part before it.",
        hazard=Hazard.HEAT,
        move=move,
    )


def _many_dwells(program: Program, rule: Rule, span: tuple[int, int]) -> Iterator[Finding]:
    """Note that short waits (G4) add up."""
    waits = program.timing.waits
    own = np.flatnonzero((waits.move > span[0]) & (waits.move <= span[1]) & (waits.cause == DWELL))
    seconds = float(waits.seconds[own].sum())
    least = max(ALL_S, ALL_SHARE * program.timing.total_s)
    if seconds <= least:
        return
    line, move = int(program.events.line[waits.event[own[0]]]), int(waits.move[own[0]])
    yield Finding(
        slug=SLUG,
        severity=rule.weigh(Severity.NOTE),
        sentence=f"{counted(len(own), 'wait')} (G4) between the beads, the first at line {line}, take "
        f"{in_words(seconds)} of {in_words(program.timing.total_s)} in all.",
        lines=(line, line_of(program, move)),
        value=seconds,
        limit=least,
        unit="s",
        remedy="See whether they are meant: filament drips from a hot nozzle while it waits.",
        hazard=Hazard.HEAT,
        move=move,
    )


def _what_holds(stands: _Stands, limit: float) -> str:
    if not len(stands.move):
        return "Between the first bead of the part and its last nothing makes the nozzle wait."
    count, total = counted(len(stands.move), "wait"), in_words(float(stands.seconds.sum()))
    longest = in_words(float(stands.seconds.max()))
    return (
        f"{count} between the first bead of the part and its last, {total} in all, the longest {longest}; none of more "
        f"than {limit:g} s with the nozzle on the part."
    )


STANDSTILL_CHECK: Final = Check(
    slug=SLUG, theme="the machine", title="Stands still on the part",
    looks_at="Waits (G4), waits for heat, and pauses (M0, M1, M25, M226) between the first bead of the part and its last:"
    f" whether the nozzle stands on the part, within {NEAR_MM:g} mm of what was just laid. And whether many short waits "
    f"(G4) take more than {ALL_S / 60.0:g} min and {100.0 * ALL_SHARE:g} % of the print in all: a note.",
    why="A hot nozzle that stands on the part drips, leaves a blob and melts what lies below it; the next layer hits the "
    "blob.",
    what_to_do="Have the program made again with the nozzle lifted and moved off the part before it waits.",
    cannot_see="Whether the machine lifts and parks the nozzle by itself when it pauses (M600 and M601 are taken to), "
    "and how much drips. How long people take to answer is the printer card's.",
    severity=Severity.LOOK, limit=STANDS_S, unit="s", hazard=Hazard.HEAT, run=_stands_still,
)  # fmt: skip
"""The check of this module."""
