"""Whether beads lie outside the printer's room, and what to say of it."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from viewer.checks.evidence import line_of, tuned, unknown_zero_mm
from viewer.checks.extents import beyond_edge
from viewer.checks.finding import Finding, Hazard, NotChecked, Outcome, Passed, Rule, Severity
from viewer.checks.holds import inside_plate
from viewer.program import Program
from viewer.shape.outside import NEAR_MM, Outside, Room, Side, find_outside, room_of

_EDGES: Final = {
    Side.LEFT: "the left edge",
    Side.RIGHT: "the right edge",
    Side.FRONT: "the front edge",
    Side.BACK: "the back edge",
    Side.ROUND: "the edge of the round plate",
}
_AXES: Final = {
    Side.LEFT: "X",
    Side.RIGHT: "X",
    Side.FRONT: "Y",
    Side.BACK: "Y",
    Side.ABOVE: "Z",
    Side.BELOW: "Z",
}
_ON_THE_RIM: Final = (
    "Purge lines are often laid on the rim on purpose: see whether this printer's rim is free there."
)
_FOR_ANOTHER_PLATE: Final = (
    "Have it made again for this printer, with its plate and its zero point; do not shift it by hand."
)


def find_off_plate(program: Program, rule: Rule) -> Iterator[Outcome]:
    """Compare every bead with the printer card's plate and height, side by side."""
    room, name = room_of(program.printer), program.printer.name
    if not room.has_edges:
        yield NotChecked("off-plate", f"The plate size of {name} is unknown: edges not checked.")
    if not room.has_top:
        yield NotChecked("off-plate", f"The height of {name} is unknown: not checked.")
    any_height = unknown_zero_mm(program) is not None  # told by first-layer-height
    for found in find_outside(program.shape_columns, room, max(NEAR_MM, rule.limit or 0.0)):
        if any_height and found.side in (Side.ABOVE, Side.BELOW):
            continue
        yield _finding(program, rule, found, room)
    if any_height:
        return
    whole, briefly = inside_plate(program, room)
    if whole:
        yield Passed("off-plate", whole, briefly)


def _finding(program: Program, rule: Rule, found: Outside, room: Room) -> Finding:
    edge = room.edge_mm(found.side)
    low = found.side in (Side.LEFT, Side.FRONT, Side.BELOW)
    first, worst = line_of(program, found.first_move), line_of(program, found.worst_move)
    return Finding(
        slug="off-plate",
        severity=rule.weigh(Severity.NOTE if found.is_purge else Severity.STOP),
        sentence=_sentence(program, found),
        lines=tuple(dict.fromkeys((first, worst))),
        layer=found.layer,
        place_mm=tuned(found.place_mm),
        value=edge - found.beyond_mm if low else edge + found.beyond_mm,
        limit=edge,
        unit="mm from the plate's centre" if found.side is Side.ROUND else f"mm in {_AXES[found.side]}",
        remedy=_ON_THE_RIM if found.is_purge else _FOR_ANOTHER_PLATE,
        hazard=None if found.is_purge else Hazard.MOVING_PARTS,
        move=found.first_move,
        extents=beyond_edge(program, found, room),
    )


def _sentence(program: Program, found: Outside) -> str:
    what = "Purge lines" if found.is_purge else "Beads"
    if found.side is Side.BELOW:
        return f"{what} are laid up to {found.beyond_mm:.2f} mm below the plate's surface: the nozzle would scrape it."
    if found.side is Side.ABOVE:
        return (
            f"{what} lie up to {found.beyond_mm:.2f} mm above the greatest height of {program.printer.name}."
        )
    return f"{what} lie up to {found.beyond_mm:.2f} mm beyond {_EDGES[found.side]} of {program.printer.name}."
