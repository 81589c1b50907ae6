"""Faults at places that a seeded generator chooses, in programs by another hand than the samples'.

Each case writes a program with one fault; layer, place (0.5 mm) and line must be those at which it was put.
"""

from __future__ import annotations

import math
import random
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

import pytest
import shapely
from shapely import affinity
from shapely.geometry.base import BaseGeometry

from tests.checks.on_paper import opened
from tests.checks.other_hand import Hand, Point, Style, rectangle
from viewer.checks.finding import Finding, Severity
from viewer.checks.run import run_checks
from viewer.jit import compiler_is_off

pytestmark = pytest.mark.skipif(compiler_is_off(), reason="layers of a million cells: needs the compiler")

NEAR_MM = 0.5
STYLES = {
    "plain": Style(),
    "thick, relative": Style(thick=0.3, first=0.28, width=0.5, relative=True, says="roles"),
    "inches": Style(thick=0.254, first=0.254, width=0.48, inches=True),
    "no comments": Style(thick=0.25, first=0.3, says="nothing", relative=True, crlf=True),
    "thin, numbered": Style(thick=0.15, first=0.2, width=0.42, numbered=True, purge=False),
}


@dataclass(frozen=True)
class Case:
    """A program with one fault and where it is."""

    hand: Hand
    slug: str
    places: Mapping[int, Point]
    """Layer of the object -> where the fault is."""
    lines: frozenset[int]
    """Those that lay it."""
    value: float | None = None
    within: float = 0.0


def layers_of(hand: Hand, count: int, shape: Callable[[int], BaseGeometry], speed: float = 20.0) -> None:
    """Layers of one object, each of a shape."""
    hand.speed = speed
    for number in range(1, count + 1):
        hand.begin_layer(number)
        hand.solid(shape(number), 90.0 * (number % 2))


def lines_in(hand: Hand, layers: Sequence[int], area: BaseGeometry) -> frozenset[int]:
    return frozenset(bead.line for layer in layers for bead in hand.laid_in(layer, area))


def spot(dice: random.Random) -> Point:
    """Where a part stands."""
    return round(dice.uniform(50, 170), 2), round(dice.uniform(50, 170), 2)


def beside(dice: random.Random, middle: Point, away: float) -> tuple[Point, float]:
    """A place at some distance in one of the four directions, and that direction."""
    angle = dice.choice((0.0, 90.0, 180.0, 270.0))
    c, s = round(math.cos(math.radians(angle))), round(math.sin(math.radians(angle)))
    return (middle[0] + c * away, middle[1] + s * away), angle


def mid_air_start(hand: Hand, dice: random.Random) -> Case:
    (x, y), layer = spot(dice), dice.randint(6, 11)
    (ix, iy), _ = beside(dice, (x, y), dice.uniform(12, 18))
    island = rectangle(ix, iy, dice.uniform(3, 6), dice.uniform(3, 6))
    body = rectangle(x, y, 14, 12)
    layers_of(hand, 14, lambda number: body.union(island) if number >= layer else body)
    lines = lines_in(hand, [layer], island)
    return Case(hand, "mid-air-start", {layer: (ix, iy)}, lines, hand.covered(layer, island), 1.0)


def steep_overhang(hand: Hand, dice: random.Random) -> Case:
    """A shelf that sticks out of one side, 1.5 to 4 mm in a single layer."""
    (x, y), layer, reach = spot(dice), dice.randint(4, 12), dice.uniform(1.5, 4.0)
    (sx, sy), angle = beside(dice, (x, y), 7.0 + reach / 2)
    deep = dice.uniform(5, 9)
    along = angle in (0.0, 180.0)
    shelf = rectangle(sx, sy, *((reach, deep) if along else (deep, reach)))
    body = rectangle(x, y, 14, 14)
    layers_of(hand, 15, lambda number: body.union(shelf) if number >= layer else body)
    shift = hand.style.thick / 2  # 45 degrees are borne
    c, s = math.cos(math.radians(angle)), math.sin(math.radians(angle))
    lean = math.degrees(math.atan(reach / hand.style.thick))
    lines = lines_in(hand, [layer], shelf)
    return Case(hand, "steep-overhang", {layer: (sx + c * shift, sy + s * shift)}, lines, lean, 0.8)


def leaning_side(hand: Hand, dice: random.Random) -> Case:
    """A side that leans out over ten layers at 55 to 65 degrees; the middle one is told."""
    (x, y), lean = spot(dice), dice.uniform(55, 65)
    first, last = 4, 13
    step = hand.style.thick * math.tan(math.radians(lean))
    sign = dice.choice((-1, 1))

    def shape(number: int) -> BaseGeometry:
        out = step * min(max(number - first + 1, 0), last - first + 1)
        return rectangle(x + sign * out / 2, y, 12 + out, 10)

    layers_of(hand, 15, shape)
    middle = (first + last) // 2
    strips = [
        shape(n).difference(shape(n - 1).buffer(hand.style.thick, join_style="mitre")) for n in range(2, 15)
    ]
    # a strip narrower than a cell holds no cell's middle in some layers: the neighbours of the middle one are as right
    places = {n: (strips[n - 2].centroid.x, strips[n - 2].centroid.y) for n in range(middle - 1, middle + 2)}
    lines = {bead.line for n in places for bead in hand.laid_in(n, strips[n - 2])}
    return Case(hand, "steep-overhang", places, frozenset(lines), lean, 0.8)


def long_bridge(hand: Hand, dice: random.Random) -> Case:
    (x, y), layer, gap = spot(dice), dice.randint(5, 9), dice.uniform(12, 25)
    turned = dice.random() < 0.5
    posts = shapely.union_all([rectangle(x + s * (gap / 2 + 4), y, 8, 9) for s in (-1, 1)])
    deck, hole = rectangle(x, y, gap + 16, 9), rectangle(x, y, gap - 2, 9)
    if turned:
        posts, deck, hole = (affinity.rotate(one, 90, origin=(x, y)) for one in (posts, deck, hole))
    for number in range(1, layer + 4):
        hand.begin_layer(number)
        if number < layer:
            hand.solid(posts, 90.0 * (number % 2))
        else:
            hand.solid(deck, 90.0 if turned else 0.0, "bridge" if number == layer else "solid infill")
    lines = lines_in(hand, [layer], hole)
    return Case(hand, "long-bridge", {layer: (x, y)}, lines, gap, 0.3)


def thin_feature(hand: Hand, dice: random.Random) -> Case:
    """A wall of one bead beside a tower on a common foot, at any angle."""
    (x, y), angle, length = spot(dice), dice.uniform(0, 180), dice.uniform(5, 11)
    foot, tower = rectangle(x, y, 36, 16), rectangle(x - 11, y, 10, 10)
    px, py = x + dice.uniform(6, 9), y + dice.uniform(-1, 1)
    dx, dy = (0.5 * length * f(math.radians(angle)) for f in (math.cos, math.sin))
    first, last = 4, 24
    for number in range(1, last + 1):
        hand.begin_layer(number)
        hand.solid(foot if number < first else tower, 90.0 * (number % 2))
        if number >= first:
            hand.path("outer wall", [(px - dx, py - dy), (px + dx, py + dy)])
    wall = shapely.LineString([(px - dx, py - dy), (px + dx, py + dy)]).buffer(0.01)
    middle = (first + last) // 2
    return Case(hand, "thin-feature", {middle: (px, py)}, lines_in(hand, [middle], wall), 1.0, 0.05)


def tiny_island(hand: Hand, dice: random.Random) -> Case:
    x, y = spot(dice)
    (ix, iy), _ = beside(dice, (x, y), dice.uniform(12, 18))
    foot = rectangle(ix, iy, dice.uniform(1.3, 1.9), dice.uniform(1.3, 1.9))
    body = rectangle(x, y, 14, 12)
    layers_of(hand, 8, lambda _number: body.union(foot))
    return Case(hand, "tiny-island", {1: (ix, iy)}, lines_in(hand, [1], foot), hand.covered(1, foot), 0.15)


def gaps(hand: Hand, dice: random.Random) -> Case:
    """Two parts; the first layer's lines of one of them lie too far apart."""
    (x, y), spread = spot(dice), dice.uniform(1.5, 1.7)
    both = [rectangle(x - 14, y, 18, 18), rectangle(x + 14, y, 18, 18)]
    bad = dice.randrange(2)
    pitch = hand.style.pitch(hand.style.first)
    for number in range(1, 6):
        hand.begin_layer(number)
        for k, part in enumerate(both):
            if number > 1 or k != bad:
                hand.solid(part, 90.0 * (number % 2))
            else:
                hand.path(
                    "outer wall", list(part.buffer(-hand.style.width / 2, join_style="mitre").exterior.coords)
                )
                hand.fill(part.buffer(-hand.style.width), 90.0, spread * pitch, "solid infill")
    return Case(hand, "gaps", {1: (x - 14 + 28 * bad, y)}, lines_in(hand, [1], both[bad].buffer(-1.0)))


def bare_travel(hand: Hand, dice: random.Random) -> Case:
    """Two parts; in one layer the way from one to the other is not retracted."""
    (x, y), layer, apart = spot(dice), dice.randint(3, 9), dice.uniform(30, 45)
    both = [rectangle(x - apart / 2, y, 9, 9), rectangle(x + apart / 2, y, 9, 9)]
    lines: frozenset[int] = frozenset()
    way = shapely.LineString()
    for number in range(1, 12):
        hand.begin_layer(number)
        hand.solid(both[0], 90.0 * (number % 2))
        if number == layer:
            hand.retracts, here = False, (hand.x, hand.y)
            ring = both[1].buffer(-hand.style.width / 2, join_style="mitre")
            start = next(iter(ring.exterior.coords))
            lines = frozenset({hand.go(*start)})
            way = shapely.LineString([here, start]).difference(shapely.union_all(both))
            hand.retracts = True
        hand.solid(both[1], 90.0 * (number % 2))
    after = min(bead.line for bead in hand.laid if bead.line > min(lines))
    lines |= {after}
    middle = way.interpolate(0.5, normalized=True)
    return Case(hand, "bare-travel", {layer: (middle.x, middle.y)}, lines, float(way.length), 0.6)


def off_plate(hand: Hand, dice: random.Random) -> Case:
    """A nose over one edge of the plate (220 mm square) in one layer and those above."""
    layer, out, along = dice.randint(2, 8), dice.uniform(1.0, 3.0), dice.uniform(60, 160)
    angle = dice.choice((0.0, 90.0, 180.0, 270.0))
    body, nose = rectangle(206, along, 20, 12), rectangle(216 + out / 2, along, 8 + out, 5)
    body, nose, room = (
        affinity.rotate(one, angle, origin=(110, 110)) for one in (body, nose, shapely.box(0, 0, 220, 220))
    )
    layers_of(hand, 10, lambda number: body.union(nose) if number >= layer else body)
    outside = nose.difference(room)
    return Case(
        hand, "off-plate", {layer: (outside.centroid.x, outside.centroid.y)},
        frozenset(bead.line for bead in hand.laid if bead.layer >= layer and not room.buffer(0.01).covers(bead.way)),
    )  # fmt: skip


def quick_layers(hand: Hand, dice: random.Random) -> Case:
    """Three small layers, the middle one smallest, on a large part."""
    (x, y), layer = spot(dice), dice.randint(5, 9)
    sizes = {layer - 1: 6.0, layer: 4.0, layer + 1: 6.0}
    px, py = x + dice.uniform(-3, 3), y + dice.uniform(-3, 3)

    def shape(number: int) -> BaseGeometry:
        return rectangle(px, py, sizes[number], sizes[number]) if number in sizes else rectangle(x, y, 16, 16)

    count = layer + 1
    layers_of(hand, count, shape, speed=30.0)
    lines = lines_in(hand, [layer], shape(layer))
    return Case(hand, "quick-layers", {layer: (px, py)}, lines)


def wrong_heat(hand: Hand, dice: random.Random) -> Case:
    (x, y), layer, target = spot(dice), dice.randint(3, 8), dice.choice((160, 245, 255))
    line, first, place = 0, 0, (0.0, 0.0)
    for number in range(1, 11):
        hand.begin_layer(number)
        if number == layer:
            line = hand.command(f"M104 S{target}")
            first = len(hand.laid)
        hand.solid(rectangle(x, y, 15, 11), 90.0 * (number % 2))
    way = hand.laid[first].way
    place = (way.centroid.x, way.centroid.y)
    return Case(hand, "wrong-heat", {layer: place}, frozenset({line, hand.laid[first].line}), target)


def beyond_flow(hand: Hand, dice: random.Random) -> Case:
    """A few long beads in one layer that are far too fast."""
    (x, y), layer, speed = spot(dice), dice.randint(3, 8), dice.uniform(240, 280)
    lines: list[int] = []
    place = (0.0, 0.0)
    for number in range(1, 11):
        hand.begin_layer(number)
        hand.solid(rectangle(x, y, 60, 10), 0.0)
        if number == layer:
            ends = (x - 28, x + 28)
            for k in range(8):
                a, b = ends if k % 2 == 0 else ends[::-1]
                lines += hand.path("solid infill", [(a, y - 2 + 0.5 * k), (b, y - 2 + 0.5 * k)], speed)
            place = (x, y - 2)
    return Case(hand, "beyond-flow", {layer: place}, frozenset(lines))


FAULTS = (
    mid_air_start, steep_overhang, leaning_side, long_bridge, thin_feature, tiny_island, gaps, bare_travel,
    off_plate, quick_layers, wrong_heat, beyond_flow,
)  # fmt: skip
CASES = [
    pytest.param(fault, style, seed, id=f"{fault.__name__}-{style}-{seed}")
    for number, fault in enumerate(FAULTS)
    for seed, style in enumerate(STYLES, start=100 * number)
]


def found_by_all_checks(folder: Path, case: Case) -> list[Finding]:
    return list(run_checks(opened(folder, case.hand.text())).findings)


def check_place(case: Case, findings: list[Finding]) -> None:
    (found,) = [one for one in findings if one.slug == case.slug]
    assert found.layer is not None
    assert found.layer - case.hand.before in case.places
    assert found.place_mm is not None
    assert math.dist(found.place_mm[:2], case.places[found.layer - case.hand.before]) <= NEAR_MM
    assert found.lines
    assert set(found.lines) <= case.lines
    if case.value is not None:
        assert found.value == pytest.approx(case.value, abs=case.within)
    assert [one for one in findings if one.severity is Severity.STOP and one.slug != case.slug] == []


@pytest.mark.parametrize(("fault", "style", "seed"), CASES)
def test_a_fault_is_found_where_it_was_put(
    tmp_path: Path, fault: Callable[[Hand, random.Random], Case], style: str, seed: int
) -> None:
    case = fault(Hand(STYLES[style]), random.Random(seed))
    check_place(case, found_by_all_checks(tmp_path, case))


@pytest.mark.parametrize("seed", range(len(FAULTS)))
def test_a_fault_in_the_second_object(tmp_path: Path, seed: int) -> None:
    """One object after another: layers are counted on, heights begin again."""
    style = replace(list(STYLES.values())[seed % len(STYLES)], purge=False)
    dice, hand = random.Random(1000 + seed), Hand(style)
    layers_of(hand, 6, lambda _number: rectangle(24, 190, 16, 16))
    hand.next_object()
    case = FAULTS[seed](hand, dice)
    check_place(case, found_by_all_checks(tmp_path, case))


@pytest.mark.parametrize("style", STYLES)
def test_a_part_without_fault_is_silent(tmp_path: Path, style: str) -> None:
    hand = Hand(STYLES[style])
    layers_of(hand, 12, lambda _number: rectangle(90.3, 121.7, 15, 13))
    findings = list(run_checks(opened(tmp_path, hand.text())).findings)
    assert findings == []
