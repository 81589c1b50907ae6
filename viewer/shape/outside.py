"""Beads outside the printer's room: beyond the plate's edges, above its height, below its surface."""

from __future__ import annotations

from dataclasses import dataclass
from enum import IntEnum
from typing import Final

import numpy as np

from viewer.arrays import F64, I64, read_only
from viewer.beads.section import section_area, width_of
from viewer.cards import PrinterCard
from viewer.read.moves import PLACE
from viewer.shape.columns import ShapeColumns
from viewer.shape.kernels import outside as k

NEAR_MM: Final = 0.01
"""Programs write three decimals, and float32 keeps 0.00003 mm at 300 mm: less counts as inside."""
SIDES: Final = k.SIDES


class Side(IntEnum):
    """Where a bead leaves the room."""

    LEFT = k.LEFT
    RIGHT = k.RIGHT
    FRONT = k.FRONT
    BACK = k.BACK
    ROUND = k.ROUND  # the edge of a round plate
    ABOVE = k.ABOVE
    BELOW = k.BELOW


@dataclass(frozen=True, slots=True, eq=False)
class Room:
    """The space that a printer can print in."""

    bounds_mm: F64  # (8,) left, right, front, back, centre x, centre y, radius, top; infinite where unknown

    @property
    def has_edges(self) -> bool:
        """Whether the plate's size is known."""
        return bool(np.isfinite(self.bounds_mm[:4]).all() or np.isfinite(self.bounds_mm[6]))

    @property
    def has_top(self) -> bool:
        """Whether the printer's height is known."""
        return bool(np.isfinite(self.bounds_mm[7]))

    def edge_mm(self, side: Side) -> float:
        """Return where a side lies: X, Y or Z, mm; for a round plate its radius."""
        return 0.0 if side == Side.BELOW else float(self.bounds_mm[(0, 1, 2, 3, 6, 7)[side]])


def room_of(printer: PrinterCard) -> Room:
    """Return the room that a printer card describes."""
    plate = printer.plate
    bounds = np.array([-np.inf, np.inf, -np.inf, np.inf, 0.0, 0.0, np.inf, np.inf])
    if plate.shape == "circle" and plate.diameter_mm is not None:
        bounds[4:7] = plate.left_mm, plate.front_mm, 0.5 * plate.diameter_mm
    elif plate.shape == "rectangle":
        if plate.width_mm is not None:
            bounds[0:2] = plate.left_mm, plate.left_mm + plate.width_mm
        if plate.depth_mm is not None:
            bounds[2:4] = plate.front_mm, plate.front_mm + plate.depth_mm
    if printer.height_mm is not None:
        bounds[7] = printer.height_mm
    return Room(bounds)


@dataclass(frozen=True, slots=True)
class Outside:
    """The beads of the part, or those of the purge, that leave the room on one side."""

    side: Side
    is_purge: bool
    first_move: int
    worst_move: int
    beyond_mm: float  # how far the worst bead's edge (above and below: its middle line) lies beyond the side
    layer: int | None  # of the first, from 1; None: in no layer
    place_mm: tuple[
        float, float, float
    ]  # middle of what lies outside in that layer, or else in the whole program


def find_outside(columns: ShapeColumns, room: Room, near_mm: float = NEAR_MM) -> list[Outside]:
    """Return what lies outside of a room, by side: the part first, then the purge.

    A bead is outside where its middle line is, by more than ``near_mm``.
    """
    whole = _search(columns, slice(0, len(columns.moves)), room, near_mm)
    return [_outside(columns, row, whole, room, near_mm) for row in np.flatnonzero(whole.first >= 0).tolist()]


@dataclass(frozen=True, slots=True, eq=False)
class _Found:
    """What the kernel found: a row a side for the part's beads, then for the purge's."""

    first: I64  # (14,) moves, -1: none
    worst: I64  # (14,)
    amount_mm: F64  # (14,) of the worst
    box: F64  # (14, 6)


def _search(columns: ShapeColumns, span: slice, room: Room, near_mm: float) -> _Found:
    """Look for beads outside among some moves."""
    moves, rows = columns.moves, 2 * SIDES
    begin = max(span.start - 1, 0)  # a bead begins where the move before it ends
    first, worst = np.full(rows, -1, np.int64), np.full(rows, -1, np.int64)
    amount, box = np.zeros(rows), np.tile([np.inf, -np.inf], (rows, 3))
    kind = moves.kind[begin : span.stop]
    if span.start > 0:
        kind = kind.copy()
        kind[0] = PLACE
    x, y, z = (read_only(column[begin : span.stop]) for column in (moves.x_mm, moves.y_mm, moves.z_mm))
    roles = read_only(columns.roles[begin : span.stop])
    k.find_outside(read_only(kind), roles, x, y, z, room.bounds_mm, near_mm, first, worst, amount, box)
    return _Found(np.where(first < 0, -1, first + begin), np.where(worst < 0, -1, worst + begin), amount, box)


def _outside(columns: ShapeColumns, row: int, whole: _Found, room: Room, near_mm: float) -> Outside:
    """Describe one row; the place is the middle of what lies outside in the first layer that has any."""
    side, moves = Side(row % SIDES), columns.moves
    first, worst = int(whole.first[row]), int(whole.worst[row])
    layer = _layer_of(columns, first)
    own = _search(columns, columns.layers.moves_of(layer), room, near_mm) if layer else whole
    box, end = own.box[row], int(own.worst[row])
    x, y = float(0.5 * (box[0] + box[1])), float(0.5 * (box[2] + box[3]))
    if side == Side.ROUND:
        x, y = float(moves.x_mm[end]), float(moves.y_mm[end])
    # the middle line decides whether it is outside; what is told is the bead's edge
    half = 0.0 if side >= Side.ABOVE else 0.5 * _width_mm(columns, worst)
    return Outside(
        side=side, is_purge=row >= SIDES, first_move=first, worst_move=worst,
        beyond_mm=float(whole.amount_mm[row]) + half, layer=layer, place_mm=(x, y, float(moves.z_mm[first])),
    )  # fmt: skip


def _layer_of(columns: ShapeColumns, move: int) -> int | None:
    number = int(columns.layers.of_moves([move])[0])
    return number if 1 <= number <= len(columns.layers) else None


def _width_mm(columns: ShapeColumns, move: int) -> float:
    """Return the width of a bead."""
    moves, number = columns.moves, _layer_of(columns, move)
    t = float(columns.layers.thickness_mm[number - 1]) if number else float(moves.z_mm[move])
    area = section_area(moves.fed_mm[move], moves.length_mm[move], columns.filament_diameter_mm)
    return float(width_of(area, t))
