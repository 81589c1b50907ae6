"""How far findings reach: beads, regions and measures (`viewer.checks.extent`), from moves, places and hulls."""

from __future__ import annotations

import math
from typing import Final

import numpy as np
import numpy.typing as npt

from viewer.beads.section import Beads
from viewer.checks.evidence import layer_of, line_of, tuned
from viewer.checks.extent import BeadRun, Extent, Measure, Region
from viewer.program import Program
from viewer.read.moves import BEAD
from viewer.shape.outside import NEAR_MM, Outside, Room, Side
from viewer.shape.spots import Spot

MAX_RUNS: Final = 200
"""Runs of beads told of one finding: a picture of one layer needs no more."""

Polygon = tuple[tuple[float, float], ...]


def bead_run(program: Program, first: int, last: int | None = None) -> tuple[Extent, ...]:
    """Return the run from one move to another, all along; () where it lies in no layer."""
    last = first if last is None else last
    layer = layer_of(program, first)
    if layer is None:
        return ()
    length = float(program.moves.length_mm[first : last + 1].sum(dtype=np.float64))
    return (BeadRun(layer, first, last, 0.0, length, (line_of(program, first), line_of(program, last))),)


def bead_runs(program: Program, moves: npt.NDArray[np.integer]) -> tuple[Extent, ...]:
    """Return runs of the moves that follow each other, `MAX_RUNS` at most."""
    rows = np.unique(moves)
    if not len(rows):
        return ()
    runs = np.split(rows, np.flatnonzero(np.diff(rows) > 1) + 1)[:MAX_RUNS]
    return tuple(one for run in runs for one in bead_run(program, int(run[0]), int(run[-1])))


def whole_layer(program: Program, number: int) -> tuple[Extent, ...]:
    """Return the run of all moves of a layer (from 1)."""
    own = program.layers.moves_of(number)
    return bead_run(program, own.start, own.stop - 1) if own.stop > own.start else ()


def box_of(spot: Spot) -> Region:
    """Return the box around a place of the shape."""
    left, front, right, back = (round(mm, 3) for mm in spot.box_mm)
    return Region(spot.layer, (((left, front), (right, front), (right, back), (left, back)),))


def outlines(beads: Beads) -> tuple[Polygon, ...]:
    """Return each bead as the rectangle that it covers, without its round ends."""
    x0, y0, x1, y1 = (
        column.astype(np.float64) for column in (beads.x0_mm, beads.y0_mm, beads.x1_mm, beads.y1_mm)
    )
    length = np.maximum(np.hypot(x1 - x0, y1 - y0), 1e-9)
    half = 0.5 * beads.width_mm.astype(np.float64)
    aside, along = -(y1 - y0) / length * half, (x1 - x0) / length * half
    corners = np.stack(
        [x0 + aside, y0 + along, x1 + aside, y1 + along, x1 - aside, y1 - along, x0 - aside, y0 - along],
        axis=1,
    )
    return tuple(
        tuple((x, y) for x, y in zip(row[::2], row[1::2], strict=True))
        for row in np.round(corners, 3).tolist()
    )


def measure_along(
    program: Program, move: int, place_mm: tuple[float, float, float], length_mm: float, across: bool = False
) -> Measure:
    """Return a measure about a place, along a move or across it."""
    x, y, _ = program.moves.start_xyz(move)
    dx, dy = float(program.moves.x_mm[move]) - x, float(program.moves.y_mm[move]) - y
    whole = math.hypot(dx, dy) or 1.0
    ux, uy = (-dy / whole, dx / whole) if across else (dx / whole, dy / whole)
    dx, dy, (middle_x, middle_y, z) = 0.5 * length_mm * ux, 0.5 * length_mm * uy, place_mm
    start, end = tuned((middle_x - dx, middle_y - dy, z)), tuned((middle_x + dx, middle_y + dy, z))
    text = f"{length_mm:.2f} mm" if across else f"{length_mm:.1f} mm"
    return Measure(layer_of(program, move), start, end, text)


def beyond_edge(program: Program, found: Outside, room: Room) -> tuple[Extent, ...]:
    """Return the beads outside in the first layer that has any, and the measure from the side to the furthest edge."""
    moves, worst = program.moves, found.worst_move
    end = (float(moves.x_mm[worst]), float(moves.y_mm[worst]), float(moves.z_mm[worst]))
    edge, text = room.edge_mm(found.side), f"{found.beyond_mm:.2f} mm"
    if found.side is Side.ROUND:
        middle = room.bounds_mm[4:6].tolist()
        away = math.hypot(end[0] - middle[0], end[1] - middle[1]) or 1.0
        ux, uy = (end[0] - middle[0]) / away, (end[1] - middle[1]) / away
        inner, outer = (
            (middle[0] + radius * ux, middle[1] + radius * uy, end[2])
            for radius in (edge, edge + found.beyond_mm)
        )
    else:
        axis = {Side.LEFT: 0, Side.RIGHT: 0, Side.FRONT: 1, Side.BACK: 1}.get(found.side, 2)
        out = -1.0 if found.side in (Side.LEFT, Side.FRONT, Side.BELOW) else 1.0
        inner, outer = (_with(end, axis, at) for at in (edge, edge + out * found.beyond_mm))
    measure = Measure(layer_of(program, worst), tuned(inner), tuned(outer), text)
    return (*bead_runs(program, _outside_in(program, found, room)), measure)


def _outside_in(program: Program, found: Outside, room: Room) -> npt.NDArray[np.integer]:
    """Return the beads of the finding's layer that end beyond its side; where none does, the first one outside."""
    first = np.array([found.first_move])
    if found.layer is None:
        return first
    own = program.layers.moves_of(found.layer)
    moves, edge = program.moves, room.edge_mm(found.side)
    x, y, z = (column[own].astype(np.float64) for column in (moves.x_mm, moves.y_mm, moves.z_mm))
    middle_x, middle_y = room.bounds_mm[4:6].tolist()
    beyond = {
        Side.LEFT: edge - x, Side.RIGHT: x - edge, Side.FRONT: edge - y, Side.BACK: y - edge,
        Side.ROUND: np.hypot(x - middle_x, y - middle_y) - edge, Side.ABOVE: z - edge, Side.BELOW: edge - z,
    }[found.side]  # fmt: skip
    rows = own.start + np.flatnonzero((beyond > NEAR_MM) & (moves.kind[own] == BEAD))
    return rows if len(rows) else first


def _with(place: tuple[float, float, float], axis: int, value: float) -> tuple[float, float, float]:
    x, y, z = (value if number == axis else mm for number, mm in enumerate(place))
    return x, y, z


def foot_and_centre(
    layer: int, hull_xy_mm: npt.NDArray[np.floating], centre_mm: tuple[float, float, float]
) -> tuple[Extent, ...]:
    """Return the hull of a foot, and the height of the centre of mass above it."""
    hull: Polygon = tuple((x, y) for x, y in np.round(hull_xy_mm.astype(np.float64), 3).tolist())
    x, y, z = centre_mm
    height = Measure(layer, tuned((x, y, 0.0)), tuned(centre_mm), f"centre of mass {z:.1f} mm high")
    return Region(layer, (hull,)), height
