"""The beads of a program as bodies: what the pictures of the whole part are drawn from."""

# mypy: allow-untyped-calls
from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from viewer.arrays import F32, I32, U8, columns_of, freeze
from viewer.beads.section import Beads, range_beads
from viewer.layers.layers import PURGE, Layers
from viewer.part.kernels import columns as c
from viewer.part.view import Point3
from viewer.read.moves import Moves


@dataclass(frozen=True, slots=True, eq=False)
class Part:
    """All beads of a program, one row each in program order: 16 bytes a bead beside the columns of the moves.

    `start` and `end` are rows of the moves: where a bead starts and where it ends.
    """

    x_mm: F32  # (moves,) of the program: nothing is copied
    y_mm: F32
    z_mm: F32
    roles: U8  # (moves,)
    start: I32  # (n,) -1: from the origin
    end: I32  # (n,) the move that lays the bead
    width_mm: F32  # (n,)
    thickness_mm: F32  # (n,)
    low: Point3
    """Least corner of the box about the part; purged filament counts only where there is nothing else."""
    high: Point3
    lowest: Point3
    """Least corner of the box about all beads."""
    highest: Point3

    def __len__(self) -> int:
        """Return the number of beads."""
        return len(self.end)

    @property
    def rows(self) -> I32:
        """All beads: 0, 1, ..., made when asked for."""
        return np.arange(len(self), dtype=np.int32)

    @property
    def columns(self) -> c.Solid:
        """The columns for the kernels."""
        return columns_of(c.Solid, self)


def part_of(moves: Moves, layers: Layers, roles: U8, filament_diameter_mm: float) -> Part:
    """Return all beads of a program as bodies.

    Parameters
    ----------
    moves, layers
        The program's columns.
    roles
        (moves,) the role of each move.
    filament_diameter_mm
        That the widths are computed with.
    """
    return part_from(moves, roles, range_beads(moves, layers, 0, len(moves), filament_diameter_mm))


def part_from(moves: Moves, roles: U8, beads: Beads) -> Part:
    """Return some beads as bodies."""
    start = beads.move - np.int32(1)
    freeze(start)
    lowest, highest = _box(moves, beads, np.ones(len(beads), np.bool_))
    own = roles[beads.move] != PURGE
    low, high = _box(moves, beads, own) if own.any() else (lowest, highest)
    return Part(
        moves.x_mm, moves.y_mm, moves.z_mm, roles, start, beads.move, beads.width_mm, beads.thickness_mm,
        low, high, lowest, highest,
    )  # fmt: skip


def _box(
    moves: Moves, beads: Beads, own: np.ndarray[tuple[int, ...], np.dtype[np.bool_]]
) -> tuple[Point3, Point3]:
    """Return the corners of the box about some beads; (0, 0, 0) twice about none."""
    if not own.any():
        return (0.0, 0.0, 0.0), (0.0, 0.0, 0.0)
    half = 0.5 * beads.width_mm
    x0, x1, y0, y1 = beads.x0_mm, beads.x1_mm, beads.y0_mm, beads.y1_mm
    z = moves.z_mm[beads.move]
    least = (np.minimum(x0, x1) - half, np.minimum(y0, y1) - half, z - beads.thickness_mm)
    most = (np.maximum(x0, x1) + half, np.maximum(y0, y1) + half, z)
    low, high = [float(one[own].min()) for one in least], [float(one[own].max()) for one in most]
    return (low[0], low[1], low[2]), (high[0], high[1], high[2])
