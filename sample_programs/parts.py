"""The workshop's spare parts as cross-sections by height, mm; the plate's origin is its front left corner."""

from __future__ import annotations

import math
from bisect import bisect_right

import shapely
from shapely import affinity
from shapely.geometry import LineString, Point, Polygon, box
from shapely.geometry.base import BaseGeometry
from slicing import NOWHERE, Recipe, ShapeAt


def stack(*steps: tuple[float, BaseGeometry]) -> ShapeAt:
    """Return a part of upright walls: each step is (height at which it begins, its cross-section)."""
    starts = [start for start, _ in steps]
    return lambda z: steps[bisect_right(starts, z) - 1][1] if z >= starts[0] else NOWHERE


def slab(x: float, y: float, width: float, depth: float, corner: float = 0.0) -> Polygon:
    """Return a rectangle about a middle, its corners rounded where wanted."""
    half_w, half_d = width / 2 - corner, depth / 2 - corner
    shape = box(x - half_w, y - half_d, x + half_w, y + half_d)
    return shape.buffer(corner, quad_segs=6) if corner else shape


def disc(x: float, y: float, diameter: float, quad_segs: int = 12) -> Polygon:
    """Return a round area; its edge is a polygon of four times ``quad_segs`` corners."""
    return Point(x, y).buffer(diameter / 2, quad_segs=quad_segs)


def ring(x: float, y: float, outer: float, inner: float, quad_segs: int = 12) -> BaseGeometry:
    """Return a disc with a round hole."""
    return disc(x, y, outer, quad_segs).difference(disc(x, y, inner, quad_segs))


def tap_washer_tray() -> tuple[ShapeAt, ShapeAt]:
    """Return a tray with six round pockets and a ledge for its label, and the support below the ledge."""
    body = slab(110, 110, 62, 42, 3)
    pockets = shapely.union_all(
        [disc(110 + 19 * i, 110 + 19 * j - 9.5, 15, 9) for i in (-1, 0, 1) for j in (0, 1)]
    )
    ledge = box(95, 80, 125, 92)
    hollow, full = body.difference(pockets), body.union(ledge).difference(pockets)
    part = stack((0, body), (2.4, hollow), (5.2, full), (7.2, hollow))
    return part, stack((0, box(95, 80, 125, 88.4)), (5.2, NOWHERE))


def drawer_glide(x: float, y: float, length: float = 44.0) -> ShapeAt:
    """Return a glide: a foot with two screw holes, a rail on it, a slot of 5 mm through the rail, bridged."""
    holes = shapely.union_all([disc(x + s * (length / 2 - 5), y, 4.2, 6) for s in (-1, 1)])
    foot = slab(x, y, length, 16, 3).difference(holes)
    rail = slab(x, y, length - 18, 8, 2)
    slotted = rail.difference(box(x - 2.5, y - 10, x + 2.5, y + 10))
    return stack((0, foot), (3.0, slotted), (5.0, rail))


def radiator_knob(x: float, y: float) -> ShapeAt:
    """Return a knob: a round flange, a grip with six rounded lobes, a bore with one flat side."""
    bore = disc(x, y, 6.6, 16).difference(box(x + 2.2, y - 5, x + 5, y + 5))
    lobes = [
        disc(x + 14 * math.cos(a), y + 14 * math.sin(a), 10, 16) for a in (k * math.tau / 6 for k in range(6))
    ]
    grip = shapely.union_all([disc(x, y, 30, 16), *lobes]).buffer(1.5, quad_segs=8).buffer(-3, quad_segs=8)
    grip = grip.buffer(1.5, quad_segs=8)
    return stack((0, disc(x, y, 42, 24).difference(bore)), (2.0, grip.difference(bore)))


def coat_hook(x: float, y: float) -> BaseGeometry:
    """Return a hook lying on its side: a back plate and a bent arm, rounded where they meet."""
    back = box(x - 30, y - 4, x + 30, y + 4)
    round_part = [math.radians(180 - 10 * k) for k in range(16)]
    bend = [(-8.0, 0.0), *((8 + 16 * math.cos(a), 10 + 16 * math.sin(a)) for a in round_part)]
    arm = LineString([(x + dx, y + dy) for dx, dy in bend]).buffer(4.0, quad_segs=8)
    return (
        shapely.union_all([back, arm]).buffer(2, quad_segs=5).buffer(-4, quad_segs=5).buffer(2, quad_segs=5)
    )


def small_parts() -> list[tuple[str, ShapeAt, float]]:
    """Return a plate of small parts: name, shape, height."""
    washers = [(f"tap washer {k + 1}", stack((0, ring(74 + 24 * k, 84, 18, 9))), 2.4) for k in range(4)]
    pegs = [(f"coat hook peg {k + 1}", _peg(78 + 30 * k, 110), 8.0) for k in range(3)]
    pads = [slab(86 + 44 * k, 138, 36, 14, 3).difference(disc(86 + 44 * k, 138, 5, 8)) for k in range(2)]
    glides = [(f"drawer glide pad {k + 1}", stack((0, pad)), 3.2) for k, pad in enumerate(pads)]
    return [*washers, *pegs, *glides]


def _peg(x: float, y: float) -> ShapeAt:
    """Return a peg that leans in with height: a cone of 20 degrees from upright."""
    sizes: dict[float, Polygon] = {}

    def at(z: float) -> BaseGeometry:
        return sizes.setdefault(z, disc(x, y, 18 - 2 * min(z, 6.0) * math.tan(math.radians(20)), 10))

    return at


def two_colour_disc(x: float, y: float) -> tuple[ShapeAt, ShapeAt]:
    """Return a radiator dial in two colours: a round plate, and the pointer let into its whole height."""
    pointer = shapely.union_all([disc(x, y, 12), Polygon([(x - 4, y), (x + 4, y), (x, y + 16)])]).buffer(0.5)
    return stack((0, disc(x, y, 40, 20).difference(pointer))), stack((0, pointer))


def tap_washers(x: float, y: float) -> ShapeAt:
    """Return three solid washers side by side."""
    return stack((0, shapely.union_all([ring(x + 26 * k, y, 22, 12, 14) for k in (-1, 0, 1)])))


def lamp_shade_radius(height_mm: float, turn: float) -> float:
    """Return the radius of the lamp-shade ring's wall: it opens upwards and has twelve shallow flutes.

    Opens by 4 mm on 24 mm, flutes of 0.6 mm that fade in: nowhere more than 25 degrees from upright.
    """
    opening = 4.0 * (1 - math.cos(math.pi * min(height_mm, 24.0) / 24.0)) / 2
    flute = 0.6 * min(1.0, height_mm / 6.0) * math.cos(12 * turn)
    return 30.0 + opening + flute


def block(
    x: float = 110.0, y: float = 110.0, width: float = 16.0, depth: float = 16.0, height: float = 1e9
) -> ShapeAt:
    """Return a plain block."""
    return stack((0, slab(x, y, width, depth)), (height, NOWHERE))


def together(*shapes: ShapeAt) -> ShapeAt:
    """Return several shapes as one; equal cross-sections stay one object, so that they are seen to be equal."""
    seen: dict[tuple[int, ...], BaseGeometry] = {}

    def at(z: float) -> BaseGeometry:
        parts = [shape(z) for shape in shapes]
        return seen.setdefault(tuple(map(id, parts)), shapely.union_all(parts))

    return at


def leaning(
    x: float, y: float, width: float, depth: float, lean: tuple[float, float, float], recipe: Recipe
) -> ShapeAt:
    """Return a block that leans towards +X: lean is (from height, to height, degrees from upright).

    It moves in steps of a layer, so that each layer overhangs the one below by t tan(angle): the first one
    whose middle lies above the lean's beginning by one step, the last one below its end by all of them.
    """
    start, end, degrees = lean
    foot = slab(x, y, width, depth)

    def at(z: float) -> BaseGeometry:
        steps = math.ceil((min(max(z, start), end) - start) / recipe.thickness - 1e-6)
        return affinity.translate(foot, steps * recipe.thickness * math.tan(math.radians(degrees)), 0)

    return at
