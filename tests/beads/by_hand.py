"""Programs of a few beads, laid by hand, for the tests of beads, first layer and standing."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from viewer.beads.section import Beads
from viewer.layers.layers import SOLID, Layers
from viewer.read.moves import BEAD, TRAVEL, Moves

Point = tuple[float, float]


@dataclass(frozen=True)
class Run:
    """Beads one after another through some points, after a travel to the first."""

    points: Sequence[Point]
    top: float = 0.2
    width: float = 0.4
    thickness: float = 0.2
    role: int = SOLID
    object: int = 0


def filament_for(width: float, thickness: float, length: float, diameter: float = 1.75) -> float:
    """Return the filament of a bead, from the section drawn as a rectangle and two half discs."""
    section = (width - thickness) * thickness + math.pi * (thickness / 2) ** 2
    return section * length / (math.pi * (diameter / 2) ** 2)


def program_of(runs: Sequence[Run], prelude: Sequence[Run] = ()) -> tuple[Moves, Layers, NDArray[np.uint8]]:
    """Return moves, layers and roles; a new layer begins where height or object changes."""
    rows: list[tuple[float, ...]] = []
    roles: list[int] = []
    starts: list[int] = []
    kept: list[Run] = []
    for number, run in enumerate([*prelude, *runs]):
        new = not kept or (run.top, run.object) != (kept[-1].top, kept[-1].object)
        if number >= len(prelude) and new:
            starts.append(len(rows))
            kept.append(run)
        rows.append((*run.points[0], run.top, 0.0, 0.0, TRAVEL))
        for (ax, ay), (bx, by) in zip(run.points[:-1], run.points[1:], strict=True):
            length = math.hypot(bx - ax, by - ay)
            rows.append((bx, by, run.top, length, filament_for(run.width, run.thickness, length), BEAD))
        roles += [run.role] * len(run.points)
    table = np.array(rows)
    columns = [np.ascontiguousarray(table[:, k], dtype=np.float32) for k in range(5)]
    moves = Moves(
        *columns,
        speed_mm_s=np.full(len(rows), 50.0, np.float32),
        line=np.arange(1, len(rows) + 1, dtype=np.int32),
        kind=table[:, 5].astype(np.uint8),
    )
    owners = [run.object for run in kept]
    layers = Layers(
        first_move=np.array([*starts, len(rows)], np.int32),
        height_mm=np.array([run.top for run in kept]),
        thickness_mm=np.array([run.thickness for run in kept]),
        object=np.array(owners, np.int32),
        is_first=np.array([k == 0 or owners[k] != owners[k - 1] for k in range(len(kept))]),
        spiral=np.zeros(len(kept), np.bool_),
    )
    return moves, layers, np.array(roles, np.uint8)


def beads_of(rows: Sequence[tuple[float, float, float, float, float]], thickness: float = 0.2) -> Beads:
    """Return beads from (x0, y0, x1, y1, width)."""
    table = np.array(rows, dtype=np.float32).reshape(-1, 5)
    columns = (np.ascontiguousarray(table[:, k]) for k in range(5))
    return Beads(*columns, np.full(len(table), thickness, np.float32), np.arange(len(table), dtype=np.int32))


def rectangle(left: float, front: float, wide: float, deep: float) -> list[Point]:
    """Return a closed path around a rectangle."""
    right, back = left + wide, front + deep
    return [(left, front), (right, front), (right, back), (left, back), (left, front)]


def hatching(left: float, front: float, wide: float, deep: float, spacing: float) -> list[list[Point]]:
    """Return level lines that fill a rectangle, without the turns between them."""
    count = round(deep / spacing)
    return [
        [(left, front + (k + 0.5) * spacing), (left + wide, front + (k + 0.5) * spacing)]
        for k in range(count)
    ]
