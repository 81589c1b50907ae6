"""What checks are made of: `Finding`, `NotChecked`, `Check` and the `Rule` that a check runs under.

A check is data: a slug, its documentation (written once; `beadline explain`, the window and
the manual read it here) and a function::

    def _find(program: Program, rule: Rule) -> Iterator[Finding | NotChecked]:
        if program.printer.melt_mm3_s is None:
            yield NotChecked("beyond-flow", "The melt rate of the hot end is unknown: not checked.")
            return
        ...
        yield Finding(slug="beyond-flow", severity=rule.severity, sentence="...", lines=(282,), layer=4, ...)

Checks of the shape have a function that takes what was measured as well: the runner measures once
(`viewer.shape.shape_of`) for all of them.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from enum import StrEnum
from typing import TYPE_CHECKING

from viewer.checks.extent import Extent
from viewer.checks.questions import BY_THEME, Question

if TYPE_CHECKING:  # not at run time: the window's start imports findings, but need not wait for the engine
    from viewer.program import Program
    from viewer.shape import ShapeFigures


class Severity(StrEnum):
    """How much a finding matters; `rank` sorts the gravest first."""

    STOP = "stop"
    """It will surely fail or do harm."""
    LOOK = "look"
    """It may fail, or is seldom meant so."""
    NOTE = "note"
    """It does no harm."""

    @property
    def means(self) -> str:
        """What a keeper should do, in the same words everywhere."""
        return {"stop": "do not print this", "look": "look at it first", "note": "good to know"}[self.value]

    @property
    def rank(self) -> int:
        """0 for stop, 1 for look, 2 for note."""
        return ("stop", "look", "note").index(self.value)


class Hazard(StrEnum):
    """What can hurt people or start a fire; the faces add the usual caution (`viewer.shown.finding_text`)."""

    HEAT = "heat"
    """Hot nozzle and plate, fumes, fire."""
    MOVING_PARTS = "moving parts"
    """Axes that move where nobody expects them."""


@dataclass(frozen=True, slots=True)
class Place:
    """One of the places of a finding that holds at several."""

    sentence: str
    """What was found there."""
    layer: int | None
    place_mm: tuple[float, float, float] | None
    line: int | None
    """The telling line, from 1."""
    value: float | None
    """What was measured there, in the finding's unit."""
    move: int | None
    """The move to show."""
    extents: tuple[Extent, ...] = ()
    """What to draw there."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Finding:
    """One thing a keeper should know before printing, with its evidence."""

    slug: str
    severity: Severity
    sentence: str
    """What was found, in one sentence with its figures."""
    lines: tuple[int, ...] = ()
    """Lines of the program, from 1, the telling one first; a few, not all."""
    layer: int | None = None
    """From 1; None: no layer's matter."""
    place_mm: tuple[float, float, float] | None = None
    value: float | None = None
    """What was measured, in `unit`."""
    limit: float | None = None
    """What it was measured against, in `unit`."""
    unit: str = ""
    remedy: str = ""
    """What to do, in one sentence, without the caution that belongs to the hazard."""
    hazard: Hazard | None = None
    """What it is about that calls for caution; None: nothing that does."""
    move: int | None = None
    """The move to show."""
    alike: str = ""
    """What it is one of, as ``place``: findings of one check and severity with the same word become one; "": it
    stands for itself."""
    unlisted: int = 0
    """How many more of that kind there are for which no finding was made."""
    places: tuple[Place, ...] = ()
    """Where several alike became one (`viewer.checks.alike`): all of them, the worst first; else ()."""
    question: Question | None = None
    """The question that it bears on, where it is not the one of its check."""
    extents: tuple[Extent, ...] = ()
    """What to draw where it lies (`viewer.checks.extent`); of a finding with `places` that of the worst one."""

    @property
    def order(self) -> tuple[int, int, int]:
        """How findings are sorted: the gravest first, then by layer (the whole program's first), then by line."""
        return self.severity.rank, self.layer or 0, self.lines[0] if self.lines else 0


def with_rest(findings: Sequence[Finding], total: int, what: str) -> Iterator[Finding]:
    """Yield findings of alike places, marked so that those of one severity become one finding (`viewer.checks.alike`).

    Parameters
    ----------
    total
        How many places there are in all; the last finding carries how many of them have none of their own.
    what
        What the findings are, as ``place`` or ``part``.
    """
    ordered = sorted(findings, key=lambda finding: finding.order)
    for number, finding in enumerate(ordered, 1):
        rest = total - len(ordered) if number == len(ordered) else 0
        yield replace(finding, alike=what.removeprefix("such "), unlisted=max(rest, 0))


@dataclass(frozen=True, slots=True)
class NotChecked:
    """A check, or a part of it, that could not or should not be made, and why."""

    slug: str
    sentence: str
    failed: bool = False
    """The check met an error of its own, and `sentence` says to whom to send what."""
    also: tuple[str, ...] = ()
    """Further checks that the same sentence holds for."""

    @property
    def slugs(self) -> tuple[str, ...]:
        """All checks that it holds for."""
        return (self.slug, *self.also)

    @property
    def told(self) -> str:
        """The sentence, and the further checks that it holds for."""
        if not self.also:
            return self.sentence
        *most, last = self.also
        return f"{self.sentence} It holds for {', '.join(most)}{' and ' if most else ''}{last}, too."


@dataclass(frozen=True, slots=True)
class Passed:
    """A check that was made and found nothing, with its evidence."""

    slug: str
    sentence: str
    """What holds, with what was measured and its limit: ``Nozzle at 205 to 210 °C; PLA wants 185 to 230 °C.``"""
    brief: str = ""
    """The same in few words, no sentence, for where there is little room; "": it is not wanted there."""


Outcome = Finding | NotChecked | Passed


@dataclass(frozen=True, slots=True)
class Rule:
    """What one check runs under: its own defaults with the workshop card's word applied."""

    severity: Severity
    """The check's, or the workshop card's."""
    limit: float | None
    """The check's, or the workshop card's, in the check's unit."""
    severity_is_set: bool = False
    """Whether the workshop card named the severity: it then holds for every finding of the check."""
    limit_is_set: bool = False
    """Whether the workshop card named the limit: it then counts in place of a printer or filament card's."""
    start: datetime | None = None
    """When the print starts, if that is known."""

    def weigh(self, own: Severity) -> Severity:
        """Return the severity of one kind of finding: its `own` unless the workshop card names one."""
        return self.severity if self.severity_is_set else own

    def limit_or(self, other: float | None) -> float | None:
        """Return the workshop card's limit if it names one, else the `other` (a printer's or filament's)."""
        return self.limit if self.limit_is_set else other


Run = Callable[["Program", Rule], Iterator[Outcome]]
Judge = Callable[["Program", "ShapeFigures", Rule], Iterator[Outcome]]


@dataclass(frozen=True, slots=True, kw_only=True)
class Check:
    """One check and its documentation, written once."""

    slug: str
    theme: str
    """the file, the machine, the filament, the first layer, the shape, time."""
    title: str
    """A few words."""
    looks_at: str
    why: str
    what_to_do: str
    cannot_see: str
    severity: Severity
    """Of its gravest finding, unless the workshop card says otherwise."""
    limit: float | None
    """The default; None: the limit comes from a card, or there is nothing to move."""
    unit: str
    """Of `limit` and of the value that is compared with it; "" where there is no limit."""
    limit_source: str = "common practice, no source"
    """Where the default limit comes from."""
    hazard: Hazard | None = None
    """What calls for caution in what it is about; that of a finding is the finding's own."""
    run: Run | None = None
    judge: Judge | None = None
    """Instead of `run`: judges the shape, which is measured once for all checks that have this."""
    question: Question | None = None
    """The question that it helps to answer, where it is not the one of its theme; `answers` has it for every check."""

    @property
    def answers(self) -> Question:
        """The question that it helps to answer."""
        return self.question or BY_THEME[self.theme]

    def __post_init__(self) -> None:
        if (self.run is None) == (self.judge is None):
            raise ValueError(f"check {self.slug} needs either `run` or `judge`")
