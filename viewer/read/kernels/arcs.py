"""Arcs and helices, drawn as chords."""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np

from viewer.jit import lean_inner_kernel
from viewer.read.kernels.rows import append_move, kind_of
from viewer.read.kernels.state import (
    ARCS,
    ARCS_CAPPED,
    BAD_ARCS,
    CHORDS_LEFT,
    E_SEEN,
    FAR_MM,
    MAX_CHORDS,
    PLANE,
    PX,
    PY,
    PZ,
    SPEED,
    SWITCHED_ON,
    XY_PLANE,
    ZX_PLANE,
    tally,
)

CHORD_ERROR_MM = 0.01
QUARTER = 0.5 * math.pi
FULL_TURN = 2.0 * math.pi
MAX_TURNS = 1e4
SAME_POINT_MM = 1e-7  # an arc that ends where it starts is a full circle
NO_RADIUS_MM = 1e-9
NO_ANGLE = 1e-9
SWEEP_DONE = 1e-12
RADII_DIFFER_MM, RADII_DIFFER_SHARE = (
    0.05,
    0.02,
)  # a larger difference is told; rounded numbers differ by less
CHORD_TOO_LONG_SHARE, CHORD_TOO_LONG_MM = (
    1.05,
    0.01,
)  # over the diameter: a radius in rounded numbers may be too small


class ArcWords(NamedTuple):
    """What a line says of its arc, mm."""

    x: float  # end, machine coordinates
    y: float
    z: float
    i: float  # centre from the start; 0 where not given
    j: float
    k: float
    radius: float  # negative: the long way round
    has_centre: bool
    has_radius: bool
    turns: float


class Arc(NamedTuple):
    """An arc in the plane (a, b) that rises along c."""

    a0: float  # start, mm
    b0: float
    c0: float
    a1: float  # end, mm
    b1: float
    c1: float
    centre_a: float
    centre_b: float
    r0: float  # radius at the start, mm
    r1: float  # radius at the end
    start: float  # angle, radians
    sweep: float  # radians, above 0
    sign: float  # 1 counterclockwise, -1 clockwise


@lean_inner_kernel
def _to_plane(plane, x, y, z):
    """Return the axes as (a, b, c). In the Z X plane the first axis is Z (NISTIR 6556, 3.5.3)."""
    if plane == XY_PLANE:
        return x, y, z
    if plane == ZX_PLANE:
        return z, x, y
    return y, z, x


@lean_inner_kernel
def _from_plane(plane, a, b, c):
    """Return (a, b, c) as (x, y, z)."""
    if plane == XY_PLANE:
        return a, b, c
    if plane == ZX_PLANE:
        return b, c, a
    return c, a, b


@lean_inner_kernel
def _centre_by_radius(da, db, radius, clockwise):
    """Return the centre of an arc of a radius, from its start; (NaN, NaN) where there is none."""
    chord = math.sqrt(da * da + db * db)
    r = abs(radius)
    too_long = 2.0 * r * CHORD_TOO_LONG_SHARE + CHORD_TOO_LONG_MM
    if chord < NO_RADIUS_MM or r < NO_RADIUS_MM or chord > too_long:
        return math.nan, math.nan
    height = math.sqrt(max(0.0, r * r - 0.25 * chord * chord))
    side = 1.0 if (radius > 0.0) != clockwise else -1.0
    return 0.5 * da - side * height * db / chord, 0.5 * db + side * height * da / chord


@lean_inner_kernel
def _shape_of(whole, real, words, clockwise):
    """Return the arc from the present position; its r0 is NaN where there is none."""
    plane = whole[PLANE]
    a0, b0, c0 = _to_plane(plane, real[PX], real[PY], real[PZ])
    a1, b1, c1 = _to_plane(plane, words.x, words.y, words.z)
    to_a, to_b, _ = _to_plane(plane, words.i, words.j, words.k)
    if not words.has_centre:
        to_a, to_b = _centre_by_radius(a1 - a0, b1 - b0, words.radius, clockwise)
    centre_a, centre_b = a0 + to_a, b0 + to_b
    r0 = math.sqrt(to_a * to_a + to_b * to_b)
    if not NO_RADIUS_MM <= r0 <= FAR_MM:
        r0 = math.nan
    r1 = math.sqrt((a1 - centre_a) ** 2 + (b1 - centre_b) ** 2)
    start = math.atan2(b0 - centre_b, a0 - centre_a)
    stop = math.atan2(b1 - centre_b, a1 - centre_a)
    sweep = start - stop if clockwise else stop - start
    if abs(a1 - a0) < SAME_POINT_MM and abs(b1 - b0) < SAME_POINT_MM:
        sweep = 0.0
    if sweep <= NO_ANGLE:
        sweep += FULL_TURN
    if words.turns > 1.0:
        sweep += FULL_TURN * (min(words.turns, MAX_TURNS) - 1.0)
    sign = -1.0 if clockwise else 1.0
    return Arc(a0, b0, c0, a1, b1, c1, centre_a, centre_b, r0, r1, start, sweep, sign)


@lean_inner_kernel
def _chord_angle(whole, arc):
    """Return the angle of a chord whose error is CHORD_ERROR_MM; larger where arcs ask for too many chords."""
    radius = max(arc.r0, arc.r1, 2.0 * CHORD_ERROR_MM)
    step = 2.0 * math.acos(max(-1.0, 1.0 - CHORD_ERROR_MM / radius))
    step = min(step, QUARTER)
    quarters = arc.sweep / QUARTER
    if arc.sweep / step + quarters + 2.0 > MAX_CHORDS:
        tally(whole, ARCS_CAPPED)
        return arc.sweep / (MAX_CHORDS - quarters - 4.0) if quarters < MAX_CHORDS / 2 else arc.sweep
    if whole[CHORDS_LEFT] <= 0:  # "G2I9" over and over: 5 bytes that ask for 67 chords each
        tally(whole, ARCS_CAPPED)
        return arc.sweep
    return step


@lean_inner_kernel
def _to_next_axis(arc, done):
    """Return the angle from `done` radians behind the start to where the arc next crosses an axis direction, or ends."""
    if arc.sweep / QUARTER >= MAX_CHORDS / 2:
        return arc.sweep  # too many quarters for the columns
    at = arc.start + arc.sign * done
    turned = at / QUARTER
    if arc.sign < 0.0:
        crossing = (math.ceil(turned - NO_ANGLE) - 1.0) * QUARTER
    else:
        crossing = (math.floor(turned + NO_ANGLE) + 1.0) * QUARTER
    piece = min(abs(crossing - at), arc.sweep - done)
    if piece < NO_ANGLE:
        piece = min(QUARTER, arc.sweep - done)
    return piece


@lean_inner_kernel
def _point_at(arc, angle):
    """Return (a, b, c) at an angle behind the start."""
    if angle >= arc.sweep - SWEEP_DONE:
        return arc.a1, arc.b1, arc.c1  # the very end, without what rounding would add
    share = angle / arc.sweep
    direction = arc.start + arc.sign * angle
    r = arc.r0 + (arc.r1 - arc.r0) * share
    a = arc.centre_a + r * math.cos(direction)
    b = arc.centre_b + r * math.sin(direction)
    return a, b, arc.c0 + (arc.c1 - arc.c0) * share


@lean_inner_kernel
def draw_arc(whole, real, moves, words, clockwise, fed):
    """Go along an arc or helix, as chords whose error is at most CHORD_ERROR_MM.

    The arc lies in the plane (a, b) of G17/G18/G19 and rises along c. Its radius is the distance
    from the start to the centre; where the end lies on another radius, the radius changes evenly
    along the arc (a controller does the same). Chords end where the arc crosses an axis direction,
    so that the extent of the chords is that of the arc. A chord carries its share of the true length.
    Returns whether there is such an arc.
    """
    arc = _shape_of(whole, real, words, clockwise)
    if math.isnan(arc.r0):
        tally(whole, BAD_ARCS)
        return False
    if abs(arc.r1 - arc.r0) > max(RADII_DIFFER_MM, RADII_DIFFER_SHARE * arc.r0):
        tally(whole, BAD_ARCS)
    rise = arc.c1 - arc.c0
    flat = 0.5 * (arc.r0 + arc.r1) * arc.sweep
    length = math.sqrt(flat * flat + rise * rise)
    kind = kind_of(length, fed, whole[SWITCHED_ON] == 1 and whole[E_SEEN] == 0)
    whole[ARCS] += 1
    step = _chord_angle(whole, arc)
    done = 0.0
    while done < arc.sweep - SWEEP_DONE:
        piece = _to_next_axis(arc, done)
        chords = np.int64(math.ceil(piece / step - NO_ANGLE))
        chords = max(1, min(chords, MAX_CHORDS - 2))
        whole[CHORDS_LEFT] -= chords
        part = piece / chords / arc.sweep
        for i in range(1, chords + 1):
            a, b, c = _point_at(arc, done + piece * i / chords)
            real[PX], real[PY], real[PZ] = _from_plane(whole[PLANE], a, b, c)
            append_move(whole, real, moves, length * part, fed * part, real[SPEED], kind)
        done += piece
    return True
