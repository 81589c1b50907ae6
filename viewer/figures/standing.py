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
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from viewer.arrays import F64, U8
from viewer.beads.section import add_moments
from viewer.figures.bodies import Bodies, bodies_of
from viewer.figures.first_layer import FirstLayer, Foot
from viewer.figures.hull import joined_hull
from viewer.layers.layers import Layers
from viewer.read.moves import Moves


@dataclass(frozen=True, slots=True, eq=False)
class Standing:
    """How one body stands when it is done: one of the objects printed one after another, or one of its parts."""

    object: int
    centre_mm: tuple[float, float, float]  # centre of mass of its part beads; z above the plate
    tilt_deg: float  # over the hull of the part's first layer; on a raft, the raft's; 0: it falls by itself
    tilt_held_deg: float  # with the hold-down that touches the part
    top_mm: float  # height of its highest bead
    foot: Foot


def standing(
    moves: Moves,
    layers: Layers,
    roles: U8,
    first: FirstLayer,
) -> tuple[Standing, ...]:
    """Return how each body stands, object by object in the order of printing.

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
        Objects without part beads, or without any bead in their first layer, are left out. An object whose first
        layer lies in several pieces is told apart into bodies (`viewer.figures.bodies`); one without a piece in
        the first layer is left out. So is one on a foot without area (`Foot.is_flat`): how it stands is not known.
    """
    sums = add_moments(moves, layers, roles)
    found: list[Standing] = []
    for foot in first.feet:
        pieces = [piece for piece in first.pieces if piece.object == foot.object]
        if foot.is_flat:
            continue
        if pieces:
            found += _of_bodies(bodies_of(moves, layers, roles, foot.object), pieces)
        elif sums[foot.object, 0] > 0.0:
            top = float(layers.height_mm[layers.object == foot.object].max())
            found.append(_stands(foot, sums[foot.object], top))
    return tuple(found)


def _of_bodies(bodies: Bodies, pieces: Sequence[Foot]) -> Iterator[Standing]:
    """Return how the bodies of one object stand, each on all its pieces of the first layer."""
    of_body: dict[int, list[Foot]] = {}
    for piece in pieces:
        of_body.setdefault(bodies.at(*piece.at_mm), []).append(piece)
    for body, own in of_body.items():
        if body and bodies.moments[body, 0] > 0.0:
            part = joined_hull([piece.part_xy_mm for piece in own])
            held = joined_hull([piece.held_xy_mm for piece in own])
            foot = Foot(own[0].object, part, held, own[0].at_mm, own[0].move)
            if not foot.is_flat:
                yield _stands(foot, bodies.moments[body], float(bodies.top_mm[body]))


def _stands(foot: Foot, moments: F64, top_mm: float) -> Standing:
    x, y, z = (float(moment) / float(moments[0]) for moment in moments[1:])
    own = foot.part_xy_mm if len(foot.part_xy_mm) else foot.held_xy_mm
    tilt, tilt_held = (tilt_angle(hull, x, y, z) for hull in (own, foot.held_xy_mm))
    return Standing(foot.object, (x, y, z), tilt, tilt_held, top_mm, foot)


def least_standing(all_of_them: Sequence[Standing]) -> Standing | None:
    """Return the body that topples first; None without any."""
    return min(all_of_them, key=lambda one: one.tilt_deg, default=None)


def tilt_angle(hull_xy_mm: F64, x_mm: float, y_mm: float, height_mm: float) -> float:
    """Return the angle, degrees, by which a body must tilt to topple; 0 where its centre is not over the hull.

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
