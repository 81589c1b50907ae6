"""From moves to beads: cross-section, width and flow, and the columns of the beads of a layer.

A bead's cross-section is an oblong of thickness t: a rectangle with half a disc at either side::

      .-----------.
     (             )  t        A = (w - t) t + pi t^2/4
      '-----------'
            w

Conservation of volume gives A = (filament fed x pi d^2/4) / path length; the width follows. A bead with less
than a full disc of the layer's thickness, A < pi t^2/4, does not fill the layer's height: it is taken as a
round bead of that area, w = sqrt(4 A/pi). Where the two cases meet, w = t.
"""

# mypy: allow-untyped-calls
from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, fields
from typing import TypeVar

import numpy as np
import numpy.typing as npt

from viewer.arrays import F32, F64, I32, U8, columns_of, freeze, read_only
from viewer.beads.kernels import columns as c
from viewer.beads.kernels import section as k
from viewer.layers.layers import Layers
from viewer.read.moves import BEAD, Moves
from viewer.units import filament_area_mm2

_T = TypeVar("_T", bound=np.generic)
_XY = TypeVar("_XY", float, F64)

USUAL_FILAMENT_MM = 1.75
"""Common practice, no source."""


@dataclass(frozen=True, slots=True, eq=False)
class Beads:
    """One row a bead, in program order: a segment and the width of its oblong footprint.

    ``width_mm`` is that of the section's oblong. Only where it comes out above twenty thicknesses (filament
    primed into a bead that is much too short for it) the bead is a blob: its volume is spread at the layer's
    thickness over a footprint that includes the round ends, w L + pi w^2/4 = V/t.
    """

    x0_mm: F32  # (n,) where it starts
    y0_mm: F32  # (n,)
    x1_mm: F32  # (n,) where it ends
    y1_mm: F32  # (n,)
    width_mm: F32  # (n,)
    thickness_mm: F32  # (n,) its layer's; in the prelude its height above the plate
    move: I32  # (n,) row in `Moves`

    def __len__(self) -> int:
        """Return the number of beads."""
        return len(self.move)

    def where(self, chosen: npt.NDArray[np.bool_] | npt.NDArray[np.intp]) -> Beads:
        """Return some of the beads, by a mask (n,) or by row numbers."""
        return Beads(
            _finished(self.x0_mm[chosen]), _finished(self.y0_mm[chosen]),
            _finished(self.x1_mm[chosen]), _finished(self.y1_mm[chosen]),
            _finished(self.width_mm[chosen]), _finished(self.thickness_mm[chosen]),
            _finished(self.move[chosen]),
        )  # fmt: skip

    def turned(self, angle_rad: float) -> Beads:
        """Return the beads turned counterclockwise about the origin."""
        ends = ((self.x0_mm, self.y0_mm), (self.x1_mm, self.y1_mm))
        turned = (turned_xy(x.astype(np.float64), y.astype(np.float64), angle_rad) for x, y in ends)
        x0, y0, x1, y1 = (_finished(one.astype(np.float32)) for pair in turned for one in pair)
        return Beads(x0, y0, x1, y1, self.width_mm, self.thickness_mm, self.move)

    @classmethod
    def joined(cls, pieces: Sequence[Beads]) -> Beads:
        """Return the beads of several one after another; none of none."""
        empty = (*(np.empty(0, np.float32) for _ in range(6)), np.empty(0, np.int32))
        names = (field.name for field in fields(cls))
        return cls(
            *(
                _finished(np.concatenate([none, *(getattr(piece, name) for piece in pieces)]))
                for name, none in zip(names, empty, strict=True)
            )
        )


def turned_xy(x: _XY, y: _XY, angle_rad: float) -> tuple[_XY, _XY]:
    """Turn places, mm, counterclockwise about the origin."""
    cos, sin = math.cos(angle_rad), math.sin(angle_rad)
    return x * cos - y * sin, x * sin + y * cos


def _finished(column: npt.NDArray[_T]) -> npt.NDArray[_T]:
    """Make an array read-only: a stage hands over."""
    column.flags.writeable = False
    return column


def section_area(fed_mm: npt.ArrayLike, length_mm: npt.ArrayLike, filament_diameter_mm: float) -> F64:
    """Return the beads' cross-sections A, mm2, from the filament fed and the path, both mm."""
    fed = np.asarray(fed_mm, dtype=np.float64)
    return np.asarray(fed * filament_area_mm2(filament_diameter_mm) / np.asarray(length_mm, dtype=np.float64))


def area_of(width_mm: npt.ArrayLike, thickness_mm: npt.ArrayLike) -> F64:
    """Return the cross-section, mm2, of beads of a width: the inverse of `width_of`.

    A bead narrower than it is thick is round: pi w^2/4.
    """
    w = np.asarray(width_mm, dtype=np.float64)
    t = np.minimum(np.maximum(np.asarray(thickness_mm, dtype=np.float64), 0.0), w)
    return np.asarray(np.where(t > 0.0, (w - t) * t + 0.25 * np.pi * t * t, 0.25 * np.pi * w * w))


def width_of(area_mm2: npt.ArrayLike, thickness_mm: npt.ArrayLike) -> F64:
    """Return the width, mm, of beads of a cross-section (mm2) at a thickness (mm); round below pi t^2/4."""
    area = np.asarray(area_mm2, dtype=np.float64)
    t = np.asarray(thickness_mm, dtype=np.float64)
    round_area = 0.25 * np.pi * t * t
    flat = (t > 0.0) & (area >= round_area)
    height = np.where(flat, t, 1.0)
    return np.asarray(np.where(flat, (area - round_area) / height + t, np.sqrt(4.0 * area / np.pi)))


def flow_mm3_s(area_mm2: npt.ArrayLike, speed_mm_s: npt.ArrayLike) -> F64:
    """Return the flow Q = A v, mm3/s, at the speed reached."""
    return np.asarray(np.asarray(area_mm2, dtype=np.float64) * np.asarray(speed_mm_s, dtype=np.float64))


def layer_beads(
    moves: Moves, layers: Layers, number: int, filament_diameter_mm: float = USUAL_FILAMENT_MM
) -> Beads:
    """Return the beads of layer ``number``, from 1.

    Raises
    ------
    IndexError
        There is no such layer.
    """
    if not 1 <= number <= len(layers):
        raise IndexError(f"layer {number} of {len(layers)}")
    own = layers.moves_of(number)
    return range_beads(moves, layers, own.start, own.stop, filament_diameter_mm)


def range_beads(
    moves: Moves, layers: Layers, first: int, last: int, filament_diameter_mm: float = USUAL_FILAMENT_MM
) -> Beads:
    """Return the beads among the moves ``first`` to ``last`` (exclusive), of any layers.

    A bead of the prelude lies on the plate: its height is its thickness. One after the last layer has the
    last layer's.
    """
    first, last = max(first, 0), min(last, len(moves))
    count = int(np.count_nonzero(moves.kind[first:last] == BEAD))
    floats = [np.empty(count, np.float32) for _ in range(6)]
    beads = c.Beads._make([*floats, np.empty(count, np.int32)])
    k.gather_beads(
        columns_of(c.Moves, moves), columns_of(c.Layers, layers), first, last, int(layers.of_moves(first)) - 1,
        filament_area_mm2(filament_diameter_mm), beads,
    )  # fmt: skip
    freeze(*beads)
    return Beads(*beads)


def add_moments(moves: Moves, layers: Layers, roles: U8) -> F64:
    """Return for each object the filament of its part beads and its moments: (objects, 4) of m, m x, m y, m z.

    Parameters
    ----------
    moves, layers
        The program's columns.
    roles
        (moves,) the role of each move.

    Returns
    -------
    array
        m in mm of filament, the moments in mm2. Hold-down and purge are left out; heights are those of the
        beads' middles.
    """
    sums = np.zeros((layers.objects, 4))
    k.add_moments(columns_of(c.Moves, moves), read_only(roles), columns_of(c.Layers, layers), sums)
    return sums
