"""Programs whose fill is nested loops, without comments: silent where they are sound, and their faults are found."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest
import shapely
from shapely.geometry.base import BaseGeometry

from tests.checks.sliced import SPACING, WIDTH, Layer, findings, printed, square
from viewer.jit import compiler_is_off

pytestmark = pytest.mark.skipif(compiler_is_off(), reason="layers of a million cells: needs the compiler")

DENSE = 4
"""Layers of loops that touch, below and on top."""


def disc(radius: float, x: float = 60.0) -> BaseGeometry:
    return shapely.Point(x, 60.0).buffer(radius)


def loops(layer: Layer, shape: BaseGeometry, role: str) -> None:
    for part in getattr(shape, "geoms", [shape]):
        for ring in (part.exterior, *part.interiors):
            layer.paths.append((role, list(ring.coords)))


def nested(layer: Layer, shape: BaseGeometry, walls: int, pitch: float, inwards: bool) -> Layer:
    """Lay walls, and loops within at a pitch, begun half a pitch behind the last wall."""
    own, rest = Layer(), shape.buffer(-WIDTH / 2, join_style="mitre")
    for wall in range(walls):
        loops(own, rest, "inner loop" if wall else "outline")
        rest = rest.buffer(-SPACING, join_style="mitre").simplify(0.005)
    rest = rest.buffer(-(pitch - SPACING) / 2, join_style="mitre")
    while not rest.is_empty:
        loops(own, rest, "infill" if pitch > SPACING else "solid")
        rest = rest.buffer(-pitch, join_style="mitre").simplify(0.005)
    layer.paths += own.paths if inwards else own.paths[::-1]
    return layer


def part(
    shape: BaseGeometry, walls: int, pitch: float, inwards: bool = True, layers: int = 24
) -> list[Layer]:
    return [
        nested(Layer(), shape, walls, pitch if DENSE <= n < layers - DENSE else SPACING, inwards)
        for n in range(layers)
    ]


SHAPES: dict[str, Callable[[], BaseGeometry]] = {
    "disc": lambda: disc(12.0),
    "square": lambda: square(60.0, 60.0, 22.0),
    "ring": lambda: disc(14.0).difference(disc(4.0)),
    "plate": lambda: square(60.0, 60.0, 44.0, 24.0).difference(disc(3.0, 50.0)).difference(disc(3.0, 70.0)),
}


@pytest.mark.parametrize("inwards", [True, False])
@pytest.mark.parametrize(("walls", "share"), [(1, 0.2), (2, 0.3), (3, 0.15)])
@pytest.mark.parametrize("name", SHAPES)
def test_nested_fill_is_silent(tmp_path: Path, name: str, walls: int, share: float, inwards: bool) -> None:
    layers = part(SHAPES[name](), walls, SPACING / share, inwards)
    assert findings(printed(tmp_path, layers)) == []
    assert findings(printed(tmp_path, layers, comments=False)) == []


def test_a_tube_of_one_bead_in_a_hole_of_such_a_part_is_thin(tmp_path: Path) -> None:
    layers = part(square(60.0, 60.0, 44.0).difference(disc(15.0)), 2, SPACING / 0.2, layers=40)
    for layer in layers:
        loops(layer, disc(8.0).buffer(-WIDTH / 2), "outline")
    (found,) = findings(printed(tmp_path, layers, comments=False), "thin-feature")
    assert (found.layer, found.value) == (20, pytest.approx(1.0, abs=0.05))


@pytest.mark.parametrize("share", [0.2, 1.0])
def test_an_island_in_a_hole_of_such_a_part_begins_in_mid_air(tmp_path: Path, share: float) -> None:
    layers = part(square(60.0, 60.0, 40.0).difference(disc(14.0)), 2, SPACING / share)
    for number, layer in enumerate(layers[11:], 12):
        nested(layer, disc(5.0), 2, SPACING if number < 16 else SPACING / share, True)
    (found,) = findings(printed(tmp_path, layers, comments=False), "mid-air-start")
    assert found.layer == 12
    assert found.value == pytest.approx(disc(5.0).area, rel=0.05)


def test_a_deck_without_fill_below_hangs(tmp_path: Path) -> None:
    """The walls go up alone: no loops carry the deck, as they would in `test_nested_fill_is_silent`."""
    layers = part(disc(12.0), 2, 100.0)
    found = findings(printed(tmp_path, layers, comments=False), "steep-overhang")
    assert [one.layer for one in found] == [21]
