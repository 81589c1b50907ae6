"""Which of the printers takes a program: each printer card with the program's filament.

Only what depends on the printer card is computed again: the time, and the checks of the printer. A part is moved
in thought to tell whether it would fit elsewhere on the plate; whether that can be done, whoever made the program knows.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import datetime
from typing import Final, NamedTuple

from viewer.cards import PrinterCard, list_cards, load_printer
from viewer.checks.evidence import first_bead
from viewer.checks.finding import Check, Finding, Severity
from viewer.checks.questions import Question
from viewer.checks.run import CHECKS, Report, question_of, run_checks
from viewer.errors import CardError
from viewer.figures.tables import Extent
from viewer.program import Program, with_cards
from viewer.shape.outside import Room, room_of
from viewer.timing import clock_time

OF_THE_PRINTER: Final[tuple[Check, ...]] = tuple(
    check
    for check in CHECKS
    if (check.answers is Question.PRINTER or check.slug == "made-for") and check.run is not None
)
"""The checks that judge the printer; `made-for` judges the filament, too."""
NEAR_ZERO_SHARE: Final = 0.1
"""A part whose middle is nearer to X 0 Y 0 than this share of its size is drawn about it."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Fit:
    """What one printer card makes of a program."""

    printer: PrinterCard
    fits: bool | None
    """Whether the part lies over the plate and below the height; None: the card does not say how large they are, or
    nothing is extruded."""
    nothing_extruded: bool
    """The program lays no bead: there is no part that could fit."""
    moved_mm: tuple[float, float] | None
    """Where it does not fit: by how much in X and Y it would have to be moved, the least that is enough; None: it
    fits, or would fit nowhere."""
    about_zero: bool
    """The part is drawn about X 0 Y 0, and the plate is not."""
    findings: tuple[Finding, ...]
    """Of the checks of the printer, the gravest first."""
    time_s: float
    cost: float | None
    """None: the filament card has no price."""
    currency: str
    start: datetime | None
    """When it begins; None: that was not said."""
    end: datetime | None
    """When it is done, where the start is known."""

    def count(self, severity: Severity) -> int:
        """Return how many findings are of one severity."""
        return sum(1 for finding in self.findings if finding.severity is severity)


class KnownPrinters(NamedTuple):
    """The printer cards of this computer."""

    cards: tuple[tuple[str, PrinterCard], ...]
    """What names a card (`--printer`), and the card; by name."""
    broken: tuple[str, ...]
    """A sentence for each card that cannot be read."""


def known_printers(diameter_mm: float | None = None) -> KnownPrinters:
    """Return all printer cards that can be read.

    Parameters
    ----------
    diameter_mm
        Of the filament, in place of what the cards say.

    Raises
    ------
    CardError
        The folder of the cards cannot be read.
    """
    cards, broken = [], []
    for entry in list_cards("printer"):
        try:
            cards.append((entry.slug, load_printer(entry.path).with_filament(diameter_mm)))
        except CardError as problem:
            broken.append(str(problem))
    return KnownPrinters(tuple(cards), tuple(broken))


def fits_of(
    program: Program, printers: Iterable[PrinterCard], start: datetime | None = None
) -> Iterator[Fit]:
    """Yield what each printer card makes of a program, in the order of the cards.

    Raises
    ------
    ReadError
        The file must be read again for a card whose reading differs, and is gone.
    """
    for printer in printers:
        there = program if printer == program.printer else with_cards(program, printer=printer)
        yield _fit(there, run_checks(there, start=start, checks=OF_THE_PRINTER), start)


def _fit(program: Program, report: Report, start: datetime | None) -> Fit:
    extent, room = program.totals.extent, room_of(program.printer)
    grave = any(one.slug == "off-plate" and one.severity is not Severity.NOTE for one in report.findings)
    known = room.has_edges and room.has_top
    empty = first_bead(program) is None
    figures = program.figures.filament
    total_s = program.timing.total_s
    return Fit(
        printer=program.printer,
        fits=None if empty else False if grave else True if known else None,
        nothing_extruded=empty,
        moved_mm=_moved(extent, room) if grave and extent is not None else None,
        about_zero=grave and extent is not None and _is_about_zero(extent),
        findings=tuple(one for one in report.findings if question_of(one) is Question.PRINTER),
        time_s=total_s,
        cost=figures.cost,
        currency=figures.currency,
        start=start,
        end=None if start is None else clock_time(start, total_s),
    )


def _moved(extent: Extent, room: Room) -> tuple[float, float] | None:
    """Return the least move in X and Y that brings the part over the plate; None where none does.

    On a round plate the box around the part must fit with its corners.
    """
    left, right, front, back, middle_x, middle_y, radius, top = room.bounds_mm.tolist()
    if extent.z[1] > top:
        return None
    if math.isfinite(radius):
        half = 0.5 * math.hypot(extent.x[1] - extent.x[0], extent.y[1] - extent.y[0])
        if half > radius:
            return None
        dx, dy = middle_x - 0.5 * sum(extent.x), middle_y - 0.5 * sum(extent.y)
        away = math.hypot(dx, dy)
        share = max(0.0, 1.0 - (radius - half) / away) if away > 0.0 else 0.0
        return share * dx, share * dy
    moved = [_along(*span, *side) for span, side in ((extent.x, (left, right)), (extent.y, (front, back)))]
    x, y = moved
    return None if x is None or y is None else (x, y)


def _along(low: float, high: float, least: float, most: float) -> float | None:
    """Return the least move that brings a span between two sides; None where it is too long."""
    if high - low > most - least:
        return None
    return max(least - low, 0.0) or min(most - high, 0.0)


def _is_about_zero(extent: Extent) -> bool:
    """Whether the part's middle lies at X 0 Y 0, as programs for plates with their zero in the middle have it."""
    return all(
        abs(0.5 * (low + high)) <= NEAR_ZERO_SHARE * (high - low) for low, high in (extent.x, extent.y)
    )
