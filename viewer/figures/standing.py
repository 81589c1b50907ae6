"""Will it stand: the centre of mass over the foot, and the angle at which the part would topple.

::

               * centre of mass
              /|
             / | height            tilt = atan(distance / height)
            /  |
      _____/___|______ plate
          edge  foot
          |<-->| distance to the nearest edge of the first layer's hull

Statics, any textbook: a body topples when the line straight down from its centre of mass leaves the hull of
what it stands on. Two angles are given: over the part's own hull, and with the hold-down that touches it (a
brim widens the foot for as long as it is stuck to the part). What sticks the part to the plate is left out.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from viewer.beads.section import add_moments
from viewer.figures.first_layer import FirstLayer
from viewer.layers.layers import Layers
from viewer.read.moves import F64, U8, Moves


@dataclass(frozen=True, slots=True)
class Standing:
    """How one of the objects printed one after another stands when it is done."""

    object: int
    centre_mm: tuple[float, float, float]  # centre of mass of its part beads; z above the plate
    tilt_deg: float  # over the hull of the part's first layer; on a raft, the raft's; 0: it falls by itself
    tilt_held_deg: float  # with the hold-down that touches the part


def standing(moves: Moves, layers: Layers, roles: U8, first: FirstLayer) -> tuple[Standing, ...]:
    """Give how each object stands, in the order of printing.

    Parameters
    ----------
    moves, layers
        The program's columns.
    roles
        (moves,) the role of each move; hold-down and purge weigh nothing here.
    first
        The first layer, for the hulls.

    Returns
    -------
    tuple of Standing
        Objects without part beads, or without any bead in their first layer, are left out. Parts printed
        together layer by layer count as one body: each of them may topple earlier than this says.
    """
    sums = add_moments(moves, layers, roles)
    found = []
    for foot in first.feet:
        mass = float(sums[foot.object, 0])
        if mass <= 0.0:
            continue
        x, y, z = (float(moment) / mass for moment in sums[foot.object, 1:])
        own = foot.part_xy_mm if len(foot.part_xy_mm) else foot.held_xy_mm
        tilts = (tilt_angle(hull, x, y, z) for hull in (own, foot.held_xy_mm))
        found.append(Standing(foot.object, (x, y, z), *tilts))
    return tuple(found)


def least_standing(all_of_them: Sequence[Standing]) -> Standing | None:
    """Give the object that topples first; None without objects."""
    return min(all_of_them, key=lambda one: one.tilt_deg, default=None)


def tilt_angle(hull_xy_mm: F64, x_mm: float, y_mm: float, height_mm: float) -> float:
    """Give the angle, degrees, by which a body must tilt to topple; 0 where its centre is not over the hull.

    Parameters
    ----------
    hull_xy_mm
        (k, 2) convex, counterclockwise; (0, 2): it stands on nothing.
    x_mm, y_mm, height_mm
        The centre of mass, its height above the plate.
    """
    if not len(hull_xy_mm):
        return 0.0
    along = np.roll(hull_xy_mm, -1, axis=0) - hull_xy_mm
    to_x, to_y = x_mm - hull_xy_mm[:, 0], y_mm - hull_xy_mm[:, 1]
    inside = (along[:, 0] * to_y - along[:, 1] * to_x) / np.hypot(along[:, 0], along[:, 1])
    return math.degrees(math.atan2(max(float(inside.min()), 0.0), max(height_mm, 0.0)))
