"""Faults of the shape and of how it stands: over air, too thin, too small, likely to topple."""

from __future__ import annotations

import math
from dataclasses import replace

import shapely
from faulty import Fault, longest_travel
from parts import block, disc, leaning, slab, stack, together
from printing import Job, program
from shapely.geometry import LineString, Polygon
from slicing import NOWHERE, Layer, Path, Recipe, ShapeAt, slice_part

PLAIN = Recipe(bottom=2, top=2)


def shaped(
    first: str, shape: ShapeAt, height: float, recipe: Recipe = PLAIN, support: ShapeAt | None = None
) -> str:
    """Write one part."""
    body = slice_part(shape, height, recipe, support) if support else slice_part(shape, height, recipe)
    return program(Job((first,), (body,), recipe))


def mid_air_start() -> Fault:
    """An island with nothing below it, or with support below it."""
    island = slab(126, 110, 5, 5)
    shape = together(block(), stack((1.8, island)))
    props = stack((0, island), (1.8, NOWHERE))

    def write(first: str, wrong: bool) -> str:
        return shaped(first, shape, 2.8, PLAIN, None if wrong else props)

    return Fault(
        "mid-air-start", "a square island of 5 mm begins in mid-air, 1.8 mm above the plate, beside a block.",
        "the same island stands on support.", 25.0, 0.0, 0.5, "mm2", write, layer=10, place=(126.0, 110.0),
    )  # fmt: skip


def steep_overhang() -> Fault:
    """A block that leans too far, or hardly not."""

    def write(first: str, wrong: bool) -> str:
        lean = (0.8, 3.2, 60.0 if wrong else 40.0)
        return shaped(first, leaning(110, 110, 12, 14, lean, PLAIN), 3.6)

    x = 110 + 6 + 6 * 0.2 * math.tan(math.radians(60))
    return Fault(
        "steep-overhang", "from 0.8 to 3.2 mm the block leans 60 degrees from upright towards +X, each layer"
        " 0.35 mm over the one below.", "the block leans 40 degrees.", 60.0, 40.0, 45.0, "degrees", write,
        layer=10, place=(round(x, 1), 110.0),
    )  # fmt: skip


def long_bridge() -> Fault:
    """A deck over a wide or a narrow gap."""

    def write(first: str, wrong: bool) -> str:
        half = 15 if wrong else 3
        posts = shapely.union_all([slab(110 + s * (half + 4), 110, 8, 10) for s in (-1, 1)])
        deck = slab(110, 110, 2 * half + 16, 10)
        return shaped(first, stack((0, posts), (2.0, deck)), 2.8)

    return Fault(
        "long-bridge", "a deck is laid over a gap of 30 mm between two posts, with nothing below it.",
        "the gap is 6 mm wide.", 30.0, 6.0, 10.0, "mm", write, layer=11, place=(110.0, 110.0),
    )  # fmt: skip


def thin_feature() -> Fault:
    """A wall of one bead over many layers, or of four."""
    base, tower = slab(110, 110, 32, 14), slab(101, 110, 10, 10)
    blade = slab(121, 110, PLAIN.wall(4), 10)

    def write(first: str, wrong: bool) -> str:
        above = tower if wrong else tower.union(blade)
        body = slice_part(stack((0, base), (0.8, above)), 4.8, PLAIN)
        if wrong:
            path = Path("outline", ((121.0, 105.2), (121.0, 114.8)), PLAIN.width)
            body = [_with(layer, path) if layer.number > 4 else layer for layer in body]
        return program(Job((first,), (body,), PLAIN))

    return Fault(
        "thin-feature", "a wall of a single bead, 10 mm long, goes up over 20 layers beside a tower.",
        "the wall is four beads thick.", PLAIN.width, round(PLAIN.wall(4), 3), 2 * PLAIN.width, "mm", write,
        layer=16, place=(121.0, 110.0),
    )  # fmt: skip


def _with(layer: Layer, path: Path) -> Layer:
    return replace(layer, paths=(*layer.paths, path))


def bare_travel() -> Fault:
    """Two blocks with travel between them, unretracted or retracted."""
    shape = together(block(80, 110, 10, 10), block(140, 110, 10, 10))

    def write(first: str, wrong: bool) -> str:
        return shaped(first, shape, 2.0, replace(PLAIN, retract=0.0 if wrong else 1.0))

    way = longest_travel(write("", wrong=True), 5)
    return Fault(
        "bare-travel",
        "between two blocks, 50 mm apart, the nozzle travels over open space and never retracts.",
        "the same travel is retracted.", way, 0.0, 10.0, "mm", write, layer=5, place=(110.0, 110.0),
        line=r"^; layer 5 at",
    )  # fmt: skip


def tiny_island() -> Fault:
    """A small or a wide foot beside a block."""

    def write(first: str, wrong: bool) -> str:
        foot = disc(126, 110, 1.6 if wrong else 6.0, 6)
        return shaped(first, together(block(), stack((0, foot), (1.0, NOWHERE))), 2.0)

    return Fault(
        "tiny-island", "beside a block a foot of 1.6 mm diameter stands alone on the plate.",
        "the foot has 6 mm diameter.", round(math.pi * 0.8**2, 2), round(math.pi * 3**2, 2), 5.0, "mm2",
        write,
        layer=1, place=(126.0, 110.0),
    )  # fmt: skip


def gaps() -> Fault:
    """A first layer whose lines lie too far apart, or just about close enough."""
    sparse, dense = (
        replace(PLAIN, first_spread=1 / 0.7, skirt_loops=0),
        replace(PLAIN, first_spread=1.04, skirt_loops=0),
    )

    def write(first: str, wrong: bool) -> str:
        return shaped(first, block(width=24, depth=24), 1.2, sparse if wrong else dense)

    values = [coverage(slice_part(block(width=24, depth=24), 0.2, r)[0]) for r in (sparse, dense)]
    return Fault(
        "gaps", "the first layer's lines lie so far apart that 30 % of the filament is missing between them.",
        "the lines lie 4 % too far apart and still touch.", values[0], values[1], 0.93,
        "of the outline's area", write,
        layer=1, place=(110.0, 110.0),
    )  # fmt: skip


def coverage(layer: Layer) -> float:
    """Give how much of a layer's filled outline its beads cover."""
    beads = shapely.union_all([LineString(p.points).buffer(p.width / 2) for p in layer.paths])
    closed = beads.buffer(0.3).buffer(-0.3)
    whole = shapely.union_all([Polygon(part.exterior) for part in getattr(closed, "geoms", [closed])])
    return round(float(beads.area) / float(whole.area), 3)


def weak_grip() -> Fault:
    """A tall column without and with a brim."""
    bare = replace(PLAIN, thickness=0.3, first_thickness=0.3, skirt_loops=0, bottom=1, top=1, infill=0.05)
    brimmed = replace(bare, brim_loops=12)
    side, height = 5.0, 27.0

    def write(first: str, wrong: bool) -> str:
        return shaped(first, block(110, 110, side, side), height, bare if wrong else brimmed)

    def tilt(reach: float) -> float:
        return round(math.degrees(math.atan(reach / (height / 2))), 1)

    brim = 12 * bare.spacing(bare.first_width, bare.first_thickness)
    return Fault(
        "weak-grip", f"a column of {side:g} x {side:g} mm, {height:g} mm tall, stands on its bare foot.",
        "the same column has a brim of 12 loops.", tilt(side / 2), tilt(side / 2 + brim), 15.0,
        "degrees of tilt", write,
        layer=1, place=(110.0, 110.0),
    )  # fmt: skip


SHAPE = (mid_air_start, steep_overhang, long_bridge, thin_feature, bare_travel, tiny_island, gaps, weak_grip)
