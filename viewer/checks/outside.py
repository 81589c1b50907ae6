"""Beads outside the printer's room: beyond the plate's edges, above its height, below its surface."""

# mypy: allow-untyped-calls
from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

import numpy as np

from viewer.arrays import F64, I64, read_only
from viewer.beads.section import section_area, width_of
from viewer.checks.evidence import layer_of, line_of, tuned
from viewer.checks.finding import Finding, NotChecked, Outcome, Rule, Severity
from viewer.checks.kernels import moves as k
from viewer.checks.subject import Subject
from viewer.read.moves import PLACE

NEAR_MM: Final = 0.01
"""Programs write three decimals, and float32 keeps 0.00003 mm at 300 mm: less is no matter."""
_SIDES: Final = (
    "the left edge", "the right edge", "the front edge", "the back edge", "the edge of the round plate",
)  # fmt: skip


def _room(subject: Subject) -> F64:
    """Return the bounds for the kernel: left right front back, centre and radius, top; infinite where unknown."""
    plate = subject.printer.plate
    room = np.array([-np.inf, np.inf, -np.inf, np.inf, 0.0, 0.0, np.inf, np.inf])
    if plate.shape == "circle" and plate.diameter_mm is not None:
        room[4:7] = plate.left_mm, plate.front_mm, 0.5 * plate.diameter_mm
    elif plate.shape == "rectangle":
        if plate.width_mm is not None:
            room[0:2] = plate.left_mm, plate.left_mm + plate.width_mm
        if plate.depth_mm is not None:
            room[2:4] = plate.front_mm, plate.front_mm + plate.depth_mm
    if subject.printer.height_mm is not None:
        room[7] = subject.printer.height_mm
    return room


def find_off_plate(subject: Subject, rule: Rule) -> Iterator[Outcome]:
    """Compare every bead with the printer card's plate and height, side by side."""
    room = _room(subject)
    if not np.isfinite(room[:4]).all() and not np.isfinite(room[6]):
        yield NotChecked(
            "off-plate", f"The plate size of {subject.printer.name} is unknown: edges not checked."
        )
    if not np.isfinite(room[7]):
        yield NotChecked("off-plate", f"The height of {subject.printer.name} is unknown: not checked.")
    near = max(NEAR_MM, rule.limit or 0.0)
    whole = _find_outside(subject, slice(0, len(subject.moves)), room, near)
    for row in np.flatnonzero(whole.first >= 0).tolist():
        yield _outside(subject, rule, row, whole, room, near)


@dataclass(frozen=True, slots=True, eq=False)
class _Outside:
    """What lies beyond each side, as `k.find_outside` says it: the part's beads by side, then the purge's."""

    first: I64  # (14,) moves, -1: none
    worst: I64  # (14,)
    amount_mm: F64  # (14,) of the worst
    box: F64  # (14, 6)


def _find_outside(subject: Subject, span: slice, room: F64, near_mm: float) -> _Outside:
    """Look for beads outside among some moves."""
    moves, rows = subject.moves, 2 * k.SIDES
    begin = max(span.start - 1, 0)  # a bead begins where the move before it ends
    first, worst = np.full(rows, -1, np.int64), np.full(rows, -1, np.int64)
    amount, box = np.zeros(rows), np.tile([np.inf, -np.inf], (rows, 3))
    kind = moves.kind[begin : span.stop]
    if span.start > 0:
        kind = kind.copy()
        kind[0] = PLACE
    x, y, z = (read_only(column[begin : span.stop]) for column in (moves.x_mm, moves.y_mm, moves.z_mm))
    roles = read_only(subject.roles[begin : span.stop])
    k.find_outside(read_only(kind), roles, x, y, z, room, near_mm, first, worst, amount, box)
    return _Outside(
        np.where(first < 0, -1, first + begin), np.where(worst < 0, -1, worst + begin), amount, box
    )


def _outside(subject: Subject, rule: Rule, row: int, whole: _Outside, room: F64, near_mm: float) -> Finding:
    """Say what lies beyond one side; the place is the middle of what lies outside in the first layer that does."""
    side, is_purge = row % k.SIDES, row >= k.SIDES
    first, worst, amount = int(whole.first[row]), int(whole.worst[row]), float(whole.amount_mm[row])
    layer = layer_of(subject, first)
    own = _find_outside(subject, subject.layers.moves_of(layer), room, near_mm) if layer else whole
    box, end = own.box[row], int(own.worst[row])
    xy = (float(0.5 * (box[0] + box[1])), float(0.5 * (box[2] + box[3])))
    if side == k.ROUND:
        xy = (float(subject.moves.x_mm[end]), float(subject.moves.y_mm[end]))
    half = 0.0 if side >= k.ABOVE else 0.5 * _width_of(subject, worst)
    amount += half  # the middle line decides whether it is outside; what is told is the bead's edge
    edge = float(room[(0, 1, 2, 3, 6, 7)[side]]) if side != k.BELOW else 0.0
    value = edge - amount if side in (k.LEFT, k.FRONT, k.BELOW) else edge + amount
    axis = "X" if side in (k.LEFT, k.RIGHT) else "Y" if side in (k.FRONT, k.BACK) else "Z"
    unit = "mm from the plate's centre" if side == k.ROUND else f"mm in {axis}"
    return Finding(
        "off-plate", rule.weigh(Severity.NOTE if is_purge else Severity.STOP),
        _outside_sentence(subject, side, is_purge, amount),
        tuple(dict.fromkeys((line_of(subject, first), line_of(subject, worst)))), layer,
        tuned((*xy, float(subject.moves.z_mm[first]))), value, edge, unit,
        _ON_THE_RIM if is_purge else _FOR_ANOTHER_PLATE, first,
    )  # fmt: skip


_ON_THE_RIM: Final = (
    "Purge lines are often laid on the rim on purpose: see whether this printer's rim is free there."
)
_FOR_ANOTHER_PLATE: Final = (
    "Have it made again for this printer, with its plate and its zero point; do not shift it by hand."
)


def _outside_sentence(subject: Subject, side: int, is_purge: bool, amount: float) -> str:
    what = "Purge lines" if is_purge else "Beads"
    if side == k.BELOW:
        return f"{what} are laid up to {amount:.2f} mm below the plate's surface: the nozzle would scrape it."
    if side == k.ABOVE:
        return f"{what} lie up to {amount:.2f} mm above the greatest height of {subject.printer.name}."
    return f"{what} lie up to {amount:.2f} mm beyond {_SIDES[side]} of {subject.printer.name}."


def _width_of(subject: Subject, move: int) -> float:
    """Return the width of a bead, mm."""
    number, thickness = layer_of(subject, move), subject.layers.thickness_mm
    t = float(thickness[number - 1]) if number else float(subject.moves.z_mm[move])
    area = section_area(
        subject.moves.fed_mm[move], subject.moves.length_mm[move], subject.filament_diameter_mm
    )
    return float(width_of(area, t))
