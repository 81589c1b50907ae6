"""What counts as air: each rule on a part where it decides, and a near miss; areas against shapely."""

from __future__ import annotations

import math
from pathlib import Path

import pytest
import shapely
from shapely.geometry.base import BaseGeometry

from tests.checks.sliced import (
    SPACING,
    THICK,
    WIDTH,
    Layer,
    disc,
    findings,
    printed,
    square,
    stacked,
)
from viewer.checks.finding import Finding, Severity
from viewer.jit import compiler_is_off
from viewer.shape import shape_of

pytestmark = pytest.mark.skipif(compiler_is_off(), reason="layers of a million cells: needs the compiler")


def slugs(found: list[Finding]) -> list[tuple[str, int | None]]:
    return [(one.slug, one.layer) for one in found]


@pytest.mark.parametrize(("first", "fires"), [(2, False), (3, False), (4, True), (6, True)])
def test_the_plate_carries_what_begins_up_to_two_layers_above_it(
    tmp_path: Path, first: int, fires: bool
) -> None:
    layers = stacked(8, lambda _: square(110, 110, 10))
    for number in range(first, 9):
        layers[number - 1].solid(square(124, 110, 4))
    found = findings(printed(tmp_path, layers))
    assert slugs(found) == ([("mid-air-start", first)] if fires else [])
    if fires:
        assert found[0].value == pytest.approx(16.0, rel=0.03)


def with_support_between(gap: bool) -> list[Layer]:
    """A box with sparse lines and a lid; support beside it has a layer of its own between those of the box.

    Where there is a ``gap``, half of the lid reaches out over air instead.
    """
    layers = []
    for number in range(1, 13):
        box = square(110, 110, 20)
        if number in (1, 12):
            lid = box.union(square(124, 110, 8, 10)) if gap and number == 12 else box
            layers.append(Layer().solid(lid))
        else:
            layer = Layer().line("inner loop", *box.buffer(-WIDTH / 2 - SPACING).exterior.coords)
            layer.line("outline", *box.buffer(-WIDTH / 2).exterior.coords)
            for k in range(6):
                layer.line("infill", (101.2, 102.5 + 3 * k), (118.8, 102.5 + 3 * k))
            layers.append(layer)
        if number in (8, 10, 11):
            low = Layer(thick=0.1)
            for k in range(4):
                low.line("support", (130, 106 + 2 * k), (138, 106 + 2 * k))
            layers[-1].thick = 0.1  # what is left of its height
            layers.insert(-1, low)
    return layers


def test_layers_of_support_alone_lay_no_hollows_open(tmp_path: Path) -> None:
    assert findings(printed(tmp_path, with_support_between(gap=False))) == []


def test_what_lies_over_air_beside_them_is_found(tmp_path: Path) -> None:
    found = findings(printed(tmp_path, with_support_between(gap=True)), "steep-overhang")
    assert slugs(found) == [("steep-overhang", 15)]


def patched(wall: str) -> list[Layer]:
    """A hollow box of one or two loops; a small solid piece reaches in from its wall."""
    layers = []
    for number in range(1, 11):
        box = square(110, 110, 20)
        if number == 1:
            layers.append(Layer().solid(box))
            continue
        layer = Layer().line("outline", *box.buffer(-WIDTH / 2).exterior.coords)
        layer.line(wall, *box.buffer(-WIDTH / 2 - SPACING).exterior.coords)
        if number >= 7:
            for k in range(5):
                y = 108 + SPACING * k
                layer.line("solid", (100.8, y), (104.0, y))
        layers.append(layer)
    return layers


def test_a_small_piece_over_a_hollow_within_inner_loops_is_inside(tmp_path: Path) -> None:
    assert findings(printed(tmp_path, patched("inner loop"))) == []


def test_a_small_piece_over_a_hole_of_the_part_hangs(tmp_path: Path) -> None:
    assert slugs(findings(printed(tmp_path, patched("outline")))) == [("steep-overhang", 7)]


def stepped(step: float) -> list[Layer]:
    """A long block whose upper layers are wider to one side; beads run along the step, held at posts at both ends."""
    posts = shapely.union_all([square(110 + s * 32, 110, 4, 20) for s in (-1, 1)])
    block = square(110, 104, 68, 8)
    layers = []
    for number in range(1, 9):
        layer = Layer().solid(block.union(posts))
        if number >= 6:
            for k in range(round(step / SPACING)):
                y = 108 + WIDTH / 2 + k * SPACING
                layer.line("solid", (77, y), (143, y))
        layers.append(layer)
    return layers


def test_beads_beside_an_edge_hang_on_it(tmp_path: Path) -> None:
    program = printed(tmp_path, stepped(2 * SPACING))
    assert findings(program) == []  # less than 1 mm over, in one layer
    shape = shape_of(program.shape_columns)
    wide = SPACING + WIDTH - THICK - 0.01
    assert shape.overhang_mm2[5] == pytest.approx(60.0 * wide, rel=0.1)
    assert shape.bridge_mm[5] == 0.0


def test_beads_away_from_an_edge_are_a_bridge(tmp_path: Path) -> None:
    found = findings(printed(tmp_path, stepped(8 * SPACING)))
    assert ("long-bridge", 6) in slugs(found)
    assert found[0].value == pytest.approx(60.0, abs=0.3)


@pytest.mark.parametrize(("wide", "fires"), [(1.2, False), (8.0, True)])
def test_a_narrow_channel_is_a_bridge_of_its_width(tmp_path: Path, wide: float, fires: bool) -> None:
    sides = shapely.union_all([square(110 + s * (wide / 2 + 4), 110, 8, 30) for s in (-1, 1)])
    layers = stacked(5, lambda _: sides)
    for _ in range(3):  # lines along the channel, which end over it
        layer = Layer().solid(sides)
        for k in range(round(wide / SPACING)):
            x = 110 - wide / 2 + (k + 0.5) * SPACING
            layer.line("solid", (x, 95.5), (x, 124.5))
        layers.append(layer)
    program = printed(tmp_path, layers)
    assert slugs(findings(program)) == ([("steep-overhang", 6)] if fires else [])
    if not fires:
        assert shape_of(program.shape_columns).bridge_mm[5] == pytest.approx(wide, abs=0.2)


def ring_beside(post: BaseGeometry, begin: int) -> list[Layer]:
    """A post, and from a layer on a ring of 16 mm that touches it at one place."""
    ring = disc(110, 110, 8.0)
    layers = stacked(12, lambda _: post)
    for number in range(begin, 13):
        line = ring.buffer(-WIDTH / 2)
        layers[number - 1].line("outline", *line.exterior.coords)
    return layers


def test_a_ring_that_touches_at_one_place_begins_in_mid_air(tmp_path: Path) -> None:
    post = square(121, 110, 6, 6)
    (found,) = findings(printed(tmp_path, ring_beside(post, 7)), "mid-air-start", "steep-overhang")
    assert (found.slug, found.layer, found.severity) == ("mid-air-start", 7, Severity.STOP)
    assert "only one narrow place" in found.sentence
    band = disc(110, 110, 8.0).difference(disc(110, 110, 8.0 - WIDTH))
    air = band.difference(post.buffer(THICK + 0.01))
    assert found.value == pytest.approx(air.area, rel=0.05)


def test_without_comments_such_a_ring_is_looked_at(tmp_path: Path) -> None:
    program = printed(tmp_path, ring_beside(square(121, 110, 6, 6), 7), comments=False)
    found = findings(program, "mid-air-start", "steep-overhang")
    assert [one.severity for one in found] == [Severity.LOOK]


def test_a_ring_held_at_two_places_is_no_start(tmp_path: Path) -> None:
    posts = shapely.union_all([square(110 + s * 11, 110, 6, 6) for s in (-1, 1)])
    found = findings(printed(tmp_path, ring_beside(posts, 7)))
    assert {one.slug for one in found} == {"steep-overhang"}


@pytest.mark.parametrize(("reach", "slug"), [(8.0, "steep-overhang"), (14.0, "mid-air-start")])
def test_a_far_shelf_begins_in_mid_air(tmp_path: Path, reach: float, slug: str) -> None:
    body = square(110, 110, 20)
    shelf = square(120 + reach / 2, 110, reach, 6)
    layers = stacked(12, lambda number: body.union(shelf) if number >= 8 else body)
    (found,) = findings(printed(tmp_path, layers))
    assert (found.slug, found.layer) == (slug, 8)


def without_walls(island: bool) -> list[Layer]:
    """Lines of infill alone, turned from layer to layer; from layer 8 on there may be an island of them."""
    layers = []
    for number in range(1, 12):
        layer = Layer()
        for x in (110.0, 130.0) if island and number >= 8 else (110.0,):
            for k in range(8):
                y = -4 + 1.1 * k
                ends = [(x - 4, 110 + y), (x + 4, 110 + y)]
                layer.line("infill", *(ends if number % 2 else [(x + b - 110, a - x + 110) for a, b in ends]))
        layers.append(layer)
    return layers


@pytest.mark.parametrize("island", [False, True])
def test_infill_without_walls_is_the_part(tmp_path: Path, island: bool) -> None:
    found = findings(printed(tmp_path, without_walls(island)))
    assert {one.slug for one in found} == ({"mid-air-start"} if island else set())
    if island:
        assert {one.layer for one in found} == {8}
        assert found[0].value == pytest.approx((8 + math.pi * WIDTH / 4) * WIDTH, rel=0.15)


def on_the_plate(role: str) -> list[Layer]:
    """A block, and beside it lines that lie 0.6 mm apart in the first layer."""
    layers = stacked(4, lambda _: square(110, 110, 12))
    for layer in layers:
        layer.solid(square(125, 110, 8), "support" if role == "support" else "outline", "solid")
    layers[0] = Layer().solid(square(110, 110, 12)).lines(role, (121, 106), (129, 114), 0.6)
    return layers


@pytest.mark.parametrize(("role", "fires"), [("support", False), ("solid", True)])
def test_lines_of_support_are_no_gaps(tmp_path: Path, role: str, fires: bool) -> None:
    program = printed(tmp_path, on_the_plate(role))
    found = findings(program, "gaps")
    assert [one.layer for one in found] == ([1] if fires else [])
    if fires:
        assert found[0].place_mm is not None
        assert found[0].place_mm[:2] == pytest.approx((125, 110), abs=0.5)


@pytest.mark.parametrize(("support", "severity"), [(False, Severity.LOOK), (True, Severity.NOTE)])
def test_a_small_piece_without_comments_may_be_of_support(
    tmp_path: Path, support: bool, severity: Severity
) -> None:
    layers = stacked(9, lambda _: square(110, 110, 8))
    for number, layer in enumerate(layers, 1):
        if number >= 6:
            layer.solid(square(120, 110, 1.5))
        if support:
            for k in range(6):
                layer.line("support", (125, 105 + 1.5 * k), (132, 105 + 1.5 * k))
    found = findings(printed(tmp_path, layers, comments=False), "mid-air-start")
    assert [(one.severity, one.layer) for one in found] == [(severity, 6)]
