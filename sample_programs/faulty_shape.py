"""Faults of the shape and of how it stands: over air, too thin, too small, likely to topple."""

from __future__ import annotations

import math
import re
from dataclasses import replace

import shapely
from faulty import Fault, bead_near, first_of_part
from parts import block, disc, leaning, slab, stack, together
from paths import Point
from printing import Job, program
from replay import Motion, beads_of, first_line, in_layer, replay
from shapely.geometry import LineString, Polygon
from shapely.geometry.base import BaseGeometry
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
        line=bead_near(10, (126.0, 110.0), 3.6), within=0.5,  # the beads' round corners, and cells of 0.1 mm
    )  # fmt: skip


def steep_overhang() -> Fault:
    """A block that leans too far, or hardly not."""

    def write(first: str, wrong: bool) -> str:
        lean = (0.8, 3.2, 60.0 if wrong else 40.0)
        return shaped(first, leaning(110, 110, 12, 14, lean, PLAIN), 3.6)

    step = 0.2 * math.tan(math.radians(60))
    edge = 116 + 6 * step  # twelve layers lean, from the fifth on: the sixth of them is the middle one

    def on_edge(bead: Motion) -> bool:
        ends = (bead.start[0], bead.end[0])
        return bead.layer == 10 and min(ends) > edge - PLAIN.width / 2 - 0.01

    return Fault(
        "steep-overhang", "from 0.8 to 3.2 mm the block leans 60 degrees from upright towards +X, each layer"
        " 0.35 mm over the one below.", "the block leans 40 degrees.", 60.0, 40.0, 45.0, "degrees from upright",
        write, layer=10, place=(round(edge - (step - 0.2) / 2, 1), 110.0),
        line=lambda text: first_line(text, on_edge), within=0.5,  # three decimals of 0.346 mm: 0.1 degrees
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
        line=lambda text: first_line(text, _crosses_the_gap), within=0.2,  # two cells of 0.1 mm
    )  # fmt: skip


def _crosses_the_gap(bead: Motion) -> bool:
    ends = sorted((bead.start[0], bead.end[0]))
    return bead.layer == 11 and ends[0] < 95.0 and ends[1] > 125.0


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
        "the wall is four beads thick.", 1.0, round(PLAIN.wall(4) / PLAIN.width, 2), 1.5, "bead widths", write,
        layer=14, place=(121.0, 110.0),  # the middle one of layers 5 to 24, the lower of two
        line=lambda text: first_line(text, lambda b: b.layer == 14 and b.start[0] == b.end[0] == 121.0),
        within=0.01,
    )  # fmt: skip


def _with(layer: Layer, path: Path) -> Layer:
    return replace(layer, paths=(*layer.paths, path))


def bare_travel() -> Fault:
    """Two blocks with travel between them, in one layer unretracted, or retracted everywhere."""
    shape = together(block(80, 110, 10, 10), block(140, 110, 10, 10))

    def write(first: str, wrong: bool) -> str:
        text = shaped(first, shape, 2.0)
        return (
            in_layer(text, 5, lambda own: re.sub(r"^G1 E.*\n", "", own, flags=re.MULTILINE))
            if wrong
            else text
        )

    line, open_way = _longest_open(replay(write("", wrong=True)), 5)
    middle = open_way.interpolate(0.5, normalized=True)
    return Fault(
        "bare-travel",
        "between two blocks, 50 mm apart, the nozzle travels over open space in layer 5 and does not retract.",
        "the same travel is retracted.", round(float(open_way.length), 2), 0.0, 10.0, "mm", write, layer=5,
        place=(round(middle.x, 1), round(middle.y, 1)), line=lambda _text: line, within=0.2,  # two cells of 0.1 mm
    )  # fmt: skip


def _longest_open(motions: list[Motion], layer: int) -> tuple[int, LineString]:
    """Return the longest stretch of a layer's travels that no bead of the layer covers, and the travel's line."""
    beads = footprint(beads_of(motions, layer))
    ways = [(m.line, m.way.difference(beads)) for m in motions if m.layer == layer and not m.fed and m.length]
    pieces = [(line, piece) for line, way in ways for piece in getattr(way, "geoms", [way])]
    return max(pieces, key=lambda entry: float(entry[1].length))


def footprint(beads: list[Motion]) -> BaseGeometry:
    """Return what beads of the plain recipe cover; those of the first layer are wider."""
    half = (PLAIN.first_width if beads[0].layer == 1 else PLAIN.width) / 2
    return shapely.union_all([bead.way.buffer(half) for bead in beads])


def tiny_island() -> Fault:
    """A small or a wide foot beside a block."""

    def write(first: str, wrong: bool) -> str:
        foot = disc(126, 110, 1.6 if wrong else 6.0, 6)
        return shaped(first, together(block(), stack((0, foot), (1.0, NOWHERE))), 2.0)

    return Fault(
        "tiny-island", "beside a block a foot of 1.6 mm diameter stands alone on the plate.",
        "the foot has 6 mm diameter.", round(math.pi * 0.8**2, 2), round(math.pi * 3**2, 2), 5.0, "mm2",
        write, layer=1, place=(126.0, 110.0), line=bead_near(1, (126.0, 110.0), 1.0),
        within=0.06,  # 3 %: a polygon for a disc, and cells of 0.05 mm
    )  # fmt: skip


def gaps() -> Fault:
    """A first layer whose lines lie too far apart, or just about close enough."""
    sparse, dense = (
        replace(PLAIN, first_spread=1 / 0.7, skirt_loops=0),
        replace(PLAIN, first_spread=1.04, skirt_loops=0),
    )

    def write(first: str, wrong: bool) -> str:
        return shaped(first, block(width=24, depth=24), 1.2, sparse if wrong else dense)

    values = [_gaps_of(write("", wrong)) for wrong in (True, False)]
    return Fault(
        "gaps", "the first layer's lines lie so far apart that 30 % of the filament is missing between them.",
        "the lines lie 4 % too far apart and still touch.", values[0][0], values[1][0], 0.93,
        "of the outline's area", write, layer=1, place=values[0][1], line=lambda _text: values[0][2],
        within=0.01,  # cells of 0.05 mm
    )  # fmt: skip


def _gaps_of(text: str) -> tuple[float, Point, int]:
    """Return how much of its filled outline a first layer covers, the middle of the gaps, and the bead nearest to it."""
    beads = beads_of(replay(text), 1)
    covered = footprint(beads)
    closed = covered.buffer(0.3).buffer(-0.3)
    whole = shapely.union_all([Polygon(part.exterior) for part in getattr(closed, "geoms", [closed])])
    middle = whole.difference(covered).centroid
    nearest = min(beads, key=lambda bead: float(bead.way.distance(middle)))
    share = round(float(covered.area) / float(whole.area), 3)
    return share, (round(middle.x, 2), round(middle.y, 2)), nearest.line


def topples() -> Fault:
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
        "topples", f"a column of {side:g} x {side:g} mm, {height:g} mm tall, stands on its bare foot.",
        "the same column has a brim of 12 loops.", tilt(side / 2), tilt(side / 2 + brim), 15.0,
        "degrees of tilt", write, layer=1, place=(110.0, 110.0), line=first_of_part,
        within=0.1,  # its infill lies not quite in the middle
    )  # fmt: skip


SHAPE = (mid_air_start, steep_overhang, long_bridge, thin_feature, bare_travel, tiny_island, gaps, topples)
