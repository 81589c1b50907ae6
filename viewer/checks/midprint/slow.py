"""Lines that are commanded so slowly that they take minutes."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

import numpy as np

from viewer.arrays import F64, I64
from viewer.checks.evidence import counted, in_words, line_of
from viewer.checks.finding import Check, Finding, Outcome, Passed, Rule, Severity
from viewer.checks.midprint.span import part_span, where
from viewer.numerals import number_text
from viewer.program import Program

SLUG: Final = "slow-lines"
SLOW_MM_S: Final = 3.0
"""Slower than any usual speed across the plate: F180 (common practice, no source)."""
LINE_S: Final = 60.0
ALL_S: Final = 300.0
ALL_SHARE: Final = 0.1
"""Slow lines that take so long together, and such a share of the print, count also where each is short (no source)."""


@dataclass(frozen=True, slots=True)
class _Lines:
    """Slow lines of the program: (n,) each, in order."""

    rows: I64
    """(moves,) their moves."""
    line: I64
    seconds: F64

    @classmethod
    def of(cls, program: Program, rows: I64) -> _Lines:
        """Sum up moves by their lines."""
        line, owner = np.unique(program.moves.line[rows], return_inverse=True)
        seconds = np.bincount(owner, weights=program.timing.time_s[rows], minlength=len(line))
        return cls(rows, line.astype(np.int64), seconds.astype(np.float64))

    @property
    def longest_s(self) -> float:
        """Time of the longest, s."""
        return float(self.seconds.max(initial=0.0))

    @property
    def all_s(self) -> float:
        """Time of all, s."""
        return float(self.seconds.sum())


def _slow_lines(program: Program, rule: Rule) -> Iterator[Outcome]:
    span = part_span(program)
    if span is None:
        return
    rows, limit = _slow_moves(program), rule.limit or 0.0
    before, within = _Lines.of(program, rows[rows < span[0]]), _Lines.of(program, rows[rows >= span[0]])
    together = max(ALL_S, limit)
    if within.longest_s > limit:
        yield _one_line(program, rule, within, Severity.LOOK)
    elif within.all_s > together and within.all_s > ALL_SHARE * program.timing.moving_s:
        yield _all_lines(program, rule, within, together)
    elif before.longest_s > limit:
        yield _one_line(program, rule, before, Severity.NOTE)
    elif len(rows):
        longest = in_words(max(before.longest_s, within.longest_s))
        yield Passed(
            SLUG, f"Lines slower than {SLOW_MM_S:g} mm/s take {longest} each at the most, and {in_words(within.all_s)} "
            "in all from the first bead of the part on.",
        )  # fmt: skip
    else:
        yield Passed(SLUG, f"No line across the plate is commanded slower than {SLOW_MM_S:g} mm/s.")


def _slow_moves(program: Program) -> I64:
    """Return the moves that go more sideways than up, and are commanded slower than any usual speed."""
    moves, settings = program.moves, program.settings
    factor = settings.column("speed_factor")
    slowest = (SLOW_MM_S / np.where(factor > 0.0, factor, 1.0)).astype(np.float32)
    top = slowest[0] if len(slowest) == 1 else slowest[settings.of_move]
    rows = np.flatnonzero((moves.speed_mm_s < top) & (moves.speed_mm_s > 0.0) & (moves.length_mm > 0.0))
    up = np.abs(moves.z_mm[rows] - np.where(rows > 0, moves.z_mm[np.maximum(rows - 1, 0)], 0.0))
    return rows[up < 0.5 * moves.length_mm[rows]].astype(np.int64)


def _one_line(program: Program, rule: Rule, lines: _Lines, own: Severity) -> Finding:
    """Say how long the longest line takes, and how many take too long."""
    worst, limit = int(np.argmax(lines.seconds)), rule.limit or 0.0
    moves = lines.rows[program.moves.line[lines.rows] == lines.line[worst]]
    length, speed = float(program.moves.length_mm[moves].sum()), float(program.moves.speed_mm_s[moves[0]])
    said = (
        f"Line {lines.line[worst]} takes {in_words(lines.longest_s)} for {number_text(length)} mm: it is commanded at "
        f"{number_text(speed)} mm/s (F{number_text(60.0 * speed)})"
    )
    if (long := int((lines.seconds > limit).sum())) > 1:
        said += f"; {long:,} lines take more than {in_words(limit)} each"
    return _finding(program, rule.weigh(own), int(moves[0]), said, lines.longest_s, limit)


def _all_lines(program: Program, rule: Rule, lines: _Lines, limit: float) -> Finding:
    """Say how long the slow lines take together."""
    worst = int(np.argmax(lines.seconds))
    move = int(lines.rows[program.moves.line[lines.rows] == lines.line[worst]][0])
    said = (
        f"{counted(len(lines.line), 'line')} slower than {SLOW_MM_S:g} mm/s take {in_words(lines.all_s)} in all; the "
        f"longest, line {lines.line[worst]}, has F{number_text(60.0 * float(program.moves.speed_mm_s[move]))}"
    )
    return _finding(program, rule.weigh(Severity.LOOK), move, said, lines.all_s, limit)


def _finding(
    program: Program, severity: Severity, move: int, said: str, value: float, limit: float
) -> Finding:
    layer, place = where(program, move)
    return Finding(
        slug=SLUG,
        severity=severity,
        sentence=f"{said}.",
        lines=(line_of(program, move),),
        layer=layer,
        place_mm=place,
        value=value,
        limit=limit,
        unit="s",
        remedy="See whether its F was meant in mm/s (F counts mm a minute); a nozzle that creeps chars its filament and "
        "melts the part.",
        move=move,
    )


SLOW_CHECK: Final = Check(
    slug=SLUG, theme="the machine", title="Lines that take minutes",
    looks_at=f"Moves across the plate that are commanded slower than {SLOW_MM_S:g} mm/s (speed factor M220 included): "
    f"how long a line takes, and whether they take more than {ALL_S / 60.0:g} min and {100.0 * ALL_SHARE:g} % of the "
    "print together.",
    why="Speeds that were meant in mm/s are 60 times too slow: hours are lost, the filament chars in the nozzle and the "
    "part melts below it.",
    what_to_do="See which F was meant, or have the program made again.",
    cannot_see="Whether so slow a line is meant. Moves up and down and of the filament alone are left out: they are "
    "often slow.",
    severity=Severity.LOOK, limit=LINE_S, unit="s", run=_slow_lines,
)  # fmt: skip
"""The check of this module."""
