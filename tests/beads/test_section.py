"""Widths and sections against geometry by another library and by hand."""

from __future__ import annotations

import math
from collections.abc import Callable

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from shapely import LineString

from tests.beads.by_hand import Run, filament_for, program_of
from viewer.beads.section import (
    Beads,
    area_of,
    flow_mm3_s,
    layer_beads,
    range_beads,
    section_area,
    width_of,
)
from viewer.layers.layers import Layers
from viewer.read.moves import PRIME, RETRACT, TRAVEL, WIPE, Moves


def slow_width(fed: float, diameter: float, length: float, thickness: float) -> float:
    """Find the width by halving, from the areas of a rectangle and a disc; blobs by halving their volume."""

    def section(width: float) -> float:
        if thickness <= 0 or width < thickness:
            return math.pi * (width / 2) ** 2
        return (width - thickness) * thickness + math.pi * (thickness / 2) ** 2

    def halved(goal: float, of: Callable[[float], float]) -> float:
        low, high = 0.0, 1e6
        for _ in range(200):
            middle = (low + high) / 2
            low, high = (middle, high) if of(middle) < goal else (low, middle)
        return low

    volume = fed * math.pi * (diameter / 2) ** 2
    width = halved(volume / length, section)
    if thickness > 0 and width > 20 * thickness:
        return halved(volume / thickness, lambda w: w * length + math.pi * w * w / 4)
    return width


def test_the_section_is_an_oblong() -> None:
    # shapely's buffer of a line is an oblong: here a section 0.45 wide and 0.2 thick
    oblong = LineString([(0, 0), (0.25, 0)]).buffer(0.1, quad_segs=200)
    assert area_of(0.45, 0.2) == pytest.approx(oblong.area, rel=1e-4)


def test_a_usual_bead() -> None:
    # by hand: 0.25 x 0.2 + pi 0.01 = 0.0814 mm2, at 60 mm/s 4.9 mm3/s
    assert float(area_of(0.45, 0.2)) == pytest.approx(0.05 + 0.01 * math.pi)
    assert float(flow_mm3_s(area_of(0.45, 0.2), 60.0)) == pytest.approx(60 * (0.05 + 0.01 * math.pi))


def test_both_cases_meet_where_the_bead_is_as_wide_as_thick() -> None:
    area = math.pi * 0.3**2 / 4
    assert float(width_of(area, 0.3)) == pytest.approx(0.3)
    assert float(width_of(area * (1 - 1e-9), 0.3)) == pytest.approx(0.3)


@pytest.mark.parametrize("thickness", [0.0, -0.2])
def test_without_a_thickness_the_bead_is_round(thickness: float) -> None:
    assert float(width_of(math.pi, thickness)) == pytest.approx(2.0)
    assert float(area_of(2.0, thickness)) == pytest.approx(math.pi)


@given(st.floats(1e-4, 50.0), st.floats(0.01, 2.0))
def test_area_is_the_inverse_of_width(area: float, thickness: float) -> None:
    assert float(area_of(width_of(area, thickness), thickness)) == pytest.approx(area, rel=1e-9)


def test_section_area_is_volume_over_length() -> None:
    # 10 mm of filament of 2 mm are 10 pi mm3; over 100 mm that is 0.1 pi mm2
    assert float(section_area(10.0, 100.0, 2.0)) == pytest.approx(0.1 * math.pi)


@pytest.mark.parametrize(
    ("fed", "length", "thickness"),
    [
        (0.33, 10.0, 0.2),
        (0.001, 10.0, 0.2),
        (0.5, 0.02, 0.2),
        (30.0, 200.0, 0.05),
        (1.0, 1e-4, 0.3),
        (0.1, 1.0, 0.0),
    ],
)
def test_kernel_widths_against_halving(fed: float, length: float, thickness: float) -> None:
    moves, layers, _ = program_of([Run([(0, 0), (length, 0)], thickness=max(thickness, 0.01))])
    moves.fed_mm[1] = fed
    layers.thickness_mm[0] = thickness
    got = float(layer_beads(moves, layers, 1, 1.75).width_mm[0])
    assert got == pytest.approx(slow_width(fed, 1.75, length, thickness), rel=1e-5)


def three_layers() -> tuple[Moves, Layers]:
    runs = [
        Run([(0, 0), (10, 0), (10, 10)], top=0.3, width=0.5, thickness=0.3),
        Run([(0, 0), (10, 0)], top=0.5, width=0.4, thickness=0.2),
        Run([(0, 0), (10, 0)], top=0.6, width=0.7, thickness=0.1),
    ]
    moves, layers, _ = program_of(
        runs, prelude=[Run([(-5, 0), (-5, 9)], top=0.25, width=0.6, thickness=0.25)]
    )
    return moves, layers


def listed(beads: Beads) -> list[tuple[float, ...]]:
    columns = (beads.x0_mm, beads.y0_mm, beads.x1_mm, beads.y1_mm, beads.width_mm, beads.thickness_mm)
    return [tuple(round(float(c[k]), 5) for c in columns) for k in range(len(beads))]


def test_a_layer_has_its_own_beads_and_widths() -> None:
    moves, layers = three_layers()
    assert listed(layer_beads(moves, layers, 1)) == [(0, 0, 10, 0, 0.5, 0.3), (10, 0, 10, 10, 0.5, 0.3)]
    assert listed(layer_beads(moves, layers, 3)) == [(0, 0, 10, 0, 0.7, 0.1)]
    assert layer_beads(moves, layers, 2).move.tolist() == [6]


def test_a_range_across_layers_has_each_layers_thickness() -> None:
    moves, layers = three_layers()
    everything = range_beads(moves, layers, 0, len(moves))
    assert listed(everything) == [
        (-5, 0, -5, 9, 0.6, 0.25),  # the prelude: its height
        (0, 0, 10, 0, 0.5, 0.3), (10, 0, 10, 10, 0.5, 0.3), (0, 0, 10, 0, 0.4, 0.2), (0, 0, 10, 0, 0.7, 0.1),
    ]  # fmt: skip
    tail = range_beads(moves, layers, 6, 10**9)
    assert listed(tail) == listed(everything)[3:]


def test_after_the_last_layer_its_thickness_holds() -> None:
    moves, layers = three_layers()
    cut = Layers(
        layers.first_move[:3], layers.height_mm[:2], layers.thickness_mm[:2], layers.object[:2],
        layers.is_first[:2], layers.spiral[:2],
    )  # fmt: skip
    assert range_beads(moves, cut, 7, 9).thickness_mm.tolist() == pytest.approx([0.2])


@pytest.mark.parametrize("kind", [TRAVEL, WIPE, RETRACT, PRIME])
def test_only_beads_are_beads(kind: int) -> None:
    moves, layers = three_layers()
    moves.kind[3] = kind
    assert layer_beads(moves, layers, 1).move.tolist() == [4]


def test_the_first_row_starts_at_the_origin() -> None:
    moves, layers = three_layers()
    moves.kind[0], moves.length_mm[0], moves.fed_mm[0] = 1, 5.0, 0.2
    assert listed(range_beads(moves, layers, 0, 1))[0][:4] == (0, 0, -5, 0)


def test_columns_are_handed_over_read_only() -> None:
    moves, layers = three_layers()
    beads = layer_beads(moves, layers, 1)
    for one in (beads, beads.where(np.array([True, False])), Beads.joined([beads, beads])):
        with pytest.raises(ValueError, match="read-only"):
            one.width_mm[0] = 1.0


@pytest.mark.parametrize("number", [0, 4, -1])
def test_no_such_layer(number: int) -> None:
    with pytest.raises(IndexError, match=f"layer {number} of 3"):
        layer_beads(*three_layers(), number)


def test_joined_keeps_the_order() -> None:
    moves, layers = three_layers()
    beads = Beads.joined([layer_beads(moves, layers, 2), layer_beads(moves, layers, 1)])
    assert beads.move.tolist() == [6, 3, 4]
    assert len(Beads.joined([])) == 0


def test_filament_of_the_helper_is_not_the_programs_formula() -> None:
    # 100 mm of a 0.4 x 0.2 bead: (0.04 + pi 0.01) mm2 over 2.405 mm2 of filament: 2.97 mm
    assert filament_for(0.4, 0.2, 100.0) == pytest.approx(2.969, abs=0.001)
