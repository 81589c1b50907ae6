r"""The highest speed at a junction, where one move ends and the next begins, by three rules.

With u the directions before and after and v the common speed:

* jerk: \|v (u_after - u_before)\| <= jerk on each of the four axes;
* junction deviation: v^2 = a delta s / (1 - s), s = sin(theta / 2), theta the angle *inside* the corner in X Y Z
  (180 degrees: straight on), a the smaller of the two accelerations. It is the centripetal limit v^2 = a r of the
  circle that touches both moves and passes the corner at the distance delta: (r + delta) s = r;
* right angle: the same with a delta = v90^2 (sqrt 2 - 1), so that a 90 degree corner is taken at v90.

::

        \        /
         \      /        the circle of radius r touches both moves;
          \.--./         its nearest point lies delta from the corner
           \  /  } delta
            \/ theta

Speeds at junctions are kept as squares, mm2/s2: braking over d takes 2 a d off the square.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from viewer.jit import inner_kernel
from viewer.timing.kernels.columns import CENTRIPETAL, INVERSE_JERK_X, JERK, JUNCTION_DEVIATION, RULE
from viewer.timing.kernels.limits import Direction, cut_to, largest_demand


class Segment(NamedTuple):
    """What a junction has to know of a move beside it."""

    direction: Direction
    limit: float  # mm/s
    accel: float  # mm/s2
    row: int  # of the machine's table
    alone: bool  # filament without a path


@inner_kernel
def rest_squared(table, segment):
    """Return the square of the speed at which a move may start from rest, or end at rest.

    Jerk rule: the highest at which no axis changes its speed by more than its jerk; the other rules: 0.
    """
    if table[segment.row, RULE] != JERK:
        return 0.0
    v = cut_to(segment.limit, largest_demand(table, segment.row, INVERSE_JERK_X, segment.direction))
    return v * v


@inner_kernel
def _jerk_squared(table, before, after, top):
    """Return the square of the speed, at most ``top``, whose change of velocity no axis's jerk forbids."""
    u, w = after.direction, before.direction
    change = Direction(u.x - w.x, u.y - w.y, u.z - w.z, u.e - w.e)
    v = cut_to(top, largest_demand(table, after.row, INVERSE_JERK_X, change))
    return v * v


@inner_kernel
def _centripetal_squared(a_delta, cosine, squared):
    """Cut the square of a speed to ``a_delta`` s / (1 - s); ``cosine`` is that of the change of direction.

    The angle inside the corner is what is left to 180 degrees, so that s = sin(theta / 2) = sqrt((1 + cosine) / 2).
    Straight on (s = 1) nothing is cut: written as squared (1 - s) > a_delta s it needs no division.
    """
    s = np.sqrt(max(0.0, 0.5 * (1.0 + cosine)))
    rounder = 0.5 * (1.0 - cosine)  # (1 - s) (1 + s): no digits lost where it is nearly straight
    allowed = a_delta * s * (1.0 + s)
    return allowed / rounder if squared * rounder > allowed else squared


@inner_kernel
def junction_squared(table, before, after):
    """Return the square of the highest speed at the junction of two moves, by the rule that holds in the later one.

    The jerk rule gives one speed to a path and filament alone. By the other rules both stop between them, and filament
    alone stops where it turns back.
    """
    top = min(after.limit, before.limit)
    rule = table[after.row, RULE]
    if rule == JERK:
        return _jerk_squared(table, before, after, top)
    squared = top * top
    u, w = after.direction, before.direction
    if after.alone or before.alone:
        return squared if after.alone == before.alone and u.e == w.e else 0.0
    a = min(after.accel, before.accel) if rule == JUNCTION_DEVIATION else 1.0
    cosine = u.x * w.x + u.y * w.y + u.z * w.z
    return _centripetal_squared(table[after.row, CENTRIPETAL] * a, cosine, squared)
