"""Theme: the machine. Whether the program says that it was made for something else than the cards describe."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import replace

from viewer.cards.printer import Plate
from viewer.checks.endings.motion_test import motion_test
from viewer.checks.finding import Check, Finding, Hazard, NotChecked, Outcome, Passed, Rule, Severity
from viewer.checks.holds import made_for_cards
from viewer.checks.questions import Question
from viewer.checks.widths import DIAMETER_MM, is_other_kind
from viewer.figures.made_for import Stated
from viewer.numerals import number_text, told_apart
from viewer.program import Program
from viewer.read.comments.statements import material_of

NOZZLE_MM = 0.04
"""Bores are sold in steps of 0.05 mm and more (common practice, no source)."""
PLATE_MM = 10.0
"""Plates of one kind are stated with and without their rims (common practice, no source)."""


def _made_for(program: Program, rule: Rule) -> Iterator[Outcome]:
    said = program.made_for
    if motion_test(program) is not None:
        yield from _other_machine(program, rule, said.printer)
        return
    if said.material is None and said.nozzle is None and said.filament_diameter is None:
        yield NotChecked(
            "made-for", "The program does not say for which filament and nozzle it was made: not compared."
        )
    yield from _other_diameter(program, rule, said.filament_diameter)
    yield from _other_material(program, rule, said.material)
    yield from _other_nozzle(program, rule, said.nozzle)
    yield from _larger_plate(program, rule, said.plate)
    if agrees := made_for_cards(program):
        yield Passed("made-for", agrees)


def _other_machine(program: Program, rule: Rule, stated: Stated[str] | None) -> Iterator[Outcome]:
    """Compare the printer that a test of motion is for with the card: it drives along all of that room."""
    ours = program.printer.name
    if stated is None or stated.value.strip().casefold() == ours.casefold():
        return
    yield replace(
        _finding(
            rule, Severity.STOP, stated, None, None, "",
            f"The file says that this test of motion is for {stated.value.strip()}; the card is {ours}.",
            f"Do not run it on {ours}: have a test made for that printer.",
            Question.PRINTER,
        ),
        hazard=Hazard.MOVING_PARTS,
    )  # fmt: skip


def _other_diameter(program: Program, rule: Rule, stated: Stated[float] | None) -> Iterator[Outcome]:
    """Compare the diameters, where `nozzle-mismatch` does not say so: it does where beads have a width."""
    ours = program.filament_diameter_mm
    if stated is not None and is_other_kind(stated.value, ours) and program.widths.computed_mm is not None:
        return
    if stated is None or abs(stated.value - ours) <= DIAMETER_MM:
        return
    theirs, computed = told_apart(stated.value, ours)
    times = (stated.value / ours) ** 2
    factor, way = (times, "small") if times > 1.0 else (1.0 / times, "large")
    wrong = f"{number_text(factor, 2)} times too {way}"
    yield _finding(
        rule, Severity.LOOK, stated, stated.value, ours, "mm",
        f"The file says filament of {theirs} mm; the cards say {computed} mm. If the file is right, mass, cost, flow and "
        f"bead widths here are {wrong}.",
        "See which filament is on the printer; correct the card, or have it made again.",
    )  # fmt: skip


def _other_material(program: Program, rule: Rule, stated: Stated[str] | None) -> Iterator[Outcome]:
    ours = material_of(program.filament.name)
    if stated is None or not ours or stated.value == ours:
        return
    yield _finding(
        rule, Severity.LOOK, stated, None, None, "",
        f"The file says {stated.value}; the card is {program.filament.name}.",
        f"Use a card of {stated.value} if that is on the spool; otherwise have it made again for "
        f"{program.filament.name}.",
    )  # fmt: skip


def _other_nozzle(program: Program, rule: Rule, stated: Stated[float] | None) -> Iterator[Outcome]:
    ours = program.printer.nozzle_mm
    if stated is None or abs(stated.value - ours) <= NOZZLE_MM:
        return
    yield _finding(
        rule, Severity.LOOK, stated, stated.value, ours, "mm",
        f"The file says a nozzle of {number_text(stated.value)} mm; that of {program.printer.name} has "
        f"{number_text(ours)} mm.",
        "See which nozzle is fitted; correct the card, or have it made again.",
        Question.PRINTER,
    )  # fmt: skip


def plate_holds(plate: Plate, width_mm: float, depth_mm: float) -> bool:
    """Whether a plate is as large as a stated rectangle but for its rim; True where the card does not say how large.

    On a round plate the corners of the rectangle must lie on it, unless it is the square around the plate, as which
    round plates are stated, too (common practice, no source).
    """
    if plate.diameter_mm is not None:
        around = max(abs(side - plate.diameter_mm) for side in (width_mm, depth_mm))
        return around <= PLATE_MM or math.hypot(width_mm, depth_mm) <= plate.diameter_mm + PLATE_MM
    if plate.width_mm is None or plate.depth_mm is None:
        return True
    return width_mm <= plate.width_mm + PLATE_MM and depth_mm <= plate.depth_mm + PLATE_MM


def _larger_plate(
    program: Program, rule: Rule, stated: Stated[tuple[float, float]] | None
) -> Iterator[Outcome]:
    plate = program.printer.plate
    if stated is None or plate_holds(plate, *stated.value):
        return
    width, depth = stated.value
    if plate.diameter_mm is not None:
        value, limit, has = (
            math.hypot(width, depth),
            plate.diameter_mm,
            f"a diameter of {number_text(plate.diameter_mm)}",
        )
    else:
        ours_x, ours_y = plate.width_mm or 0.0, plate.depth_mm or 0.0  # both known: see `plate_holds`
        value, limit, has = (
            max(width, depth),
            max(ours_x, ours_y),
            f"{number_text(ours_x)} x {number_text(ours_y)}",
        )
    yield _finding(
        rule, Severity.NOTE, stated, value, limit, "mm",
        f"The file says a plate of {number_text(width)} x {number_text(depth)} mm; that of {program.printer.name} has "
        f"{has} mm.",
        "See whether it was made for another printer.",
        Question.PRINTER,
    )  # fmt: skip


def _finding(
    rule: Rule,
    severity: Severity,
    stated: Stated[float] | Stated[str] | Stated[tuple[float, float]],
    value: float | None,
    limit: float | None,
    unit: str,
    sentence: str,
    remedy: str,
    question: Question | None = None,
) -> Finding:
    return Finding(
        slug="made-for", severity=rule.weigh(severity), sentence=sentence, lines=(stated.line,), value=value, limit=limit,
        unit=unit, remedy=remedy, question=question,
    )  # fmt: skip


MADE_FOR_CHECKS = (
    Check(
        slug="made-for", theme="the machine", title="Made for something else",
        looks_at="What settings in the comments state (material, nozzle, filament diameter, plate) against the cards. "
        f"Filament counts as another one from {DIAMETER_MM:g} mm, a nozzle from {NOZZLE_MM:g} mm of difference on; a "
        "plate only where it is larger than the card's.",
        why="A program made for other filament feeds it wrongly and heats it wrongly; and with a wrong card all that is "
        "computed here is wrong too.",
        what_to_do="Look at the spool and the nozzle, and choose the card that describes them.",
        cannot_see="Settings in words that are not known, settings that contradict each other, and whether the settings "
        "were changed after the program was made.",
        severity=Severity.LOOK, limit=None, unit="", limit_source="common practice, no source",
        question=Question.FILAMENT, run=_made_for,
    ),
)  # fmt: skip
"""The checks of this module."""
