"""Homing and probing between the first bead of the part and its last."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from viewer.cards.printer import Plate
from viewer.checks.evidence import line_of
from viewer.checks.finding import Check, Finding, Hazard, Outcome, Passed, Rule, Severity, with_rest
from viewer.checks.midprint.span import bead_distance_mm, next_bead, part_span, rows_in, where
from viewer.numerals import number_text
from viewer.program import Program
from viewer.read.homing import HOMING_CODES, homed_axes

SLUG: Final = "homed-in-print"
PROBING: Final = (290, 300)
"""G29 probes the plate, G30 one point."""
TO_THE_TOP: Final = 1620
LOW_MM: Final = 1.0
"""What lies lower on the plate, a purge line or a first layer, stops no nozzle (no source)."""
REACH_MM: Final = 5.0
"""A place as near to the middle line of a bead lies on the part: its infill has gaps (no source)."""
MAX_FINDINGS: Final = 100


def _homed_in_print(program: Program, rule: Rule) -> Iterator[Outcome]:
    span = part_span(program)
    if span is None:
        return
    rows = rows_in(program.events, span, "G", (*HOMING_CODES, *PROBING)).tolist()
    if rows:
        found = [_finding(program, rule, row) for row in rows[:MAX_FINDINGS]]
        yield from with_rest(found, len(rows), "line")
    else:
        yield Passed(
            SLUG, "Between the first bead of the part and its last nothing homes and nothing probes."
        )


def _finding(program: Program, rule: Rule, row: int) -> Finding:
    events = program.events
    code, line = int(events.code[row]), int(events.line[row])
    bead = next_bead(program, int(events.move[row]))
    layer, place = where(program, bead)
    laid_mm = _laid_mm(program, bead)
    probes = code in PROBING
    axes = [] if probes else sorted(homed_axes(events, row))
    down = probes or ("Z" in axes and code != TO_THE_TOP and not _homes_up(program))
    drives = down and laid_mm > LOW_MM and _over_the_part(program, row, bead)
    what = "probes" if probes else f"homes {', '.join(axes)}"
    if drives:
        part = "probe or the nozzle" if probes else "nozzle or its probe"
        said = f"while {number_text(laid_mm)} mm of part stand on the plate: the {part} may drive into it"
    elif "Z" in axes or probes:
        said = "between the beads: heights after it fit those before only as well as the end stop or the probe repeats"
    else:
        said = (
            "between the beads: the hot nozzle goes right across the part, and layers may be offset after it"
        )
    return Finding(
        slug=SLUG,
        severity=rule.weigh(Severity.STOP if drives else Severity.LOOK),
        sentence=f"Line {line} {what} {said}.",
        lines=(line, line_of(program, bead)),
        layer=layer,
        place_mm=place,
        value=laid_mm if down else None,
        limit=LOW_MM if down else None,
        unit="mm of part below" if down else "",
        remedy="Do not print it: take the line out, or have the program made again."
        if drives
        else "See whether it is meant; take the line out or have the program made again.",
        hazard=Hazard.MOVING_PARTS,
        move=bead,
    )


def _over_the_part(program: Program, row: int, bead: int) -> bool:
    """Tell whether the part lies where Z is homed or probed.

    That is where the nozzle stands, or, where X and Y are homed before, at the card's home or the middle of the plate;
    probing the plate goes everywhere.
    """
    code, move = int(program.events.code[row]), int(program.events.move[row])
    if code == PROBING[0]:
        return True
    x, y, _ = program.moves.start_xyz(move)
    places = [(x, y)]
    if code in HOMING_CODES and homed_axes(program.events, row) >= {"X", "Y"}:
        places = [(program.printer.homing.x_mm, program.printer.homing.y_mm)]
        middle = _middle(program.printer.plate)
        places += [] if middle is None else [middle]
    span = (int(program.layers.first_move[0]), bead - 1)
    return any(bead_distance_mm(program, span, *place) <= REACH_MM for place in places)


def _middle(plate: Plate) -> tuple[float, float] | None:
    """Return the middle of the plate; None where the card does not know it."""
    if plate.shape == "circle":
        return (plate.left_mm, plate.front_mm)
    if plate.box_mm is None:
        return None
    left, front, right, back = plate.box_mm
    return (0.5 * (left + right), 0.5 * (front + back))


def _laid_mm(program: Program, bead: int) -> float:
    """Return how high the beads before a bead reach, mm."""
    layer, _ = where(program, bead)
    heights = program.layers.height_mm[: (layer or 1) - 1]
    return float(heights.max(initial=0.0))


def _homes_up(program: Program) -> bool:
    """Whether the printer card says that Z is homed at the top."""
    printer = program.printer
    return printer.homing.z_mm > 0.5 * (printer.height_mm or float("inf"))


HOMED_CHECK: Final = Check(
    slug=SLUG, theme="the machine", title="Homing or probing in mid-print",
    looks_at="Homing (G28, G161, G162) and probing (G29, G30) between the first bead of the part and its last. Where Z "
    f"is homed down or a probe goes down on more than {LOW_MM:g} mm of part (where the nozzle stands; after X and Y are "
    "homed at the card's home or the middle of the plate), that is a stop.",
    why="The nozzle or the probe drives into the part, breaks it off or bends something; what is homed sideways crosses "
    "the part, and seldom meets the same place to a hundredth of a millimetre.",
    what_to_do="Take the line out, or have the program made again.",
    cannot_see="Where the machine homes Z, whether the part lies there, and whether it lifts the nozzle first; what the "
    "machine's own procedures home.",
    severity=Severity.STOP, limit=None, unit="", hazard=Hazard.MOVING_PARTS, run=_homed_in_print,
)  # fmt: skip
"""The check of this module."""
