"""The checks of the shape on parts whose answer is known in closed form, and on the sample programs."""

from __future__ import annotations

import json
import math
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import shapely

from tests.checks.on_paper import opened, opened_file
from tests.checks.sliced import (
    SPACING,
    THICK,
    WIDTH,
    Layer,
    cone,
    findings,
    line_of_layer,
    outcomes,
    printed,
    square,
    stacked,
    text,
)
from tests.conftest import SAMPLES
from viewer.checks.finding import Finding, NotChecked, Severity
from viewer.checks.run import run_checks
from viewer.checks.shape import SHAPE_CHECKS
from viewer.jit import compiler_is_off
from viewer.layers.layers import UNLABELLED
from viewer.shape import shape_of

pytestmark = pytest.mark.skipif(compiler_is_off(), reason="layers of a million cells: needs the compiler")

FAULTY = SAMPLES / "faulty"
EXPECTED: dict[str, Any] = json.loads((FAULTY / "EXPECTED.json").read_text())
OURS = sorted(name for name, entry in EXPECTED.items() if entry["slug"] in {c.slug for c in SHAPE_CHECKS})


@pytest.mark.parametrize("half_angle", [50.0, 60.0, 70.0])
def test_a_cone_leans_by_its_half_angle(tmp_path: Path, half_angle: float) -> None:
    program = printed(tmp_path, cone(half_angle))
    (found,) = findings(program, "steep-overhang")
    assert found.value == pytest.approx(half_angle, abs=0.5)
    assert found.layer is not None
    assert 2 <= found.layer <= 20
    first, last = line_of_layer(program, found.layer)
    assert all(first <= line <= last for line in found.lines)
    # the place lies on the ring that hangs over
    step = THICK * math.tan(math.radians(half_angle))
    edge = 6.0 + (found.layer - 1) * step
    assert found.place_mm is not None
    away = math.dist(found.place_mm[:2], (110, 110))
    assert edge - step - 0.1 <= away <= edge + 0.1


@pytest.mark.parametrize("half_angle", [0.0, 30.0, 44.0])
def test_a_cone_within_the_limit_is_silent(tmp_path: Path, half_angle: float) -> None:
    assert findings(printed(tmp_path, cone(half_angle))) == []


def test_the_workshop_card_moves_the_angle(tmp_path: Path) -> None:
    shop = {"workshop": {"checks": {"steep-overhang": {"limit": 65.0}}}}
    assert findings(printed(tmp_path, cone(60.0), shop), "steep-overhang") == []
    assert len(findings(printed(tmp_path, cone(70.0), shop), "steep-overhang")) == 1


def on_a_stilt(width: float) -> list[Layer]:
    return stacked(14, lambda number: square(110, 110, 4) if number <= 10 else square(110, 110, width))


def test_a_plate_on_a_stilt_hangs_over_all_around(tmp_path: Path) -> None:
    program = printed(tmp_path, on_a_stilt(14))
    (found,) = findings(program)
    assert (found.slug, found.severity, found.layer) == ("steep-overhang", Severity.LOOK, 11)
    # the farthest point is the rounded corner
    corner = math.hypot(5, 5) - (math.sqrt(2) - 1) * WIDTH / 2
    assert found.value == pytest.approx(math.degrees(math.atan(corner / THICK)), abs=0.2)
    area = 14**2 - (4 + 2 * (THICK + 0.01)) ** 2
    assert shape_of(program.shape_columns).overhang_mm2[10] == pytest.approx(area, rel=0.01)


def test_a_plate_on_a_stilt_within_a_bead_is_silent(tmp_path: Path) -> None:
    assert findings(printed(tmp_path, on_a_stilt(4.4))) == []


@pytest.mark.parametrize(("step", "fires"), [(0.15, False), (0.5, True)])
def test_a_staircase(tmp_path: Path, step: float, fires: bool) -> None:
    stairs = stacked(12, lambda number: square(110 + step * number, 110, 12))
    found = findings(printed(tmp_path, stairs))
    assert [one.slug for one in found] == (["steep-overhang"] if fires else [])
    if fires:
        assert found[0].value == pytest.approx(math.degrees(math.atan(step / THICK)), abs=0.5)
        layer = found[0].layer
        assert layer is not None
        assert found[0].place_mm is not None
        assert found[0].place_mm[0] == pytest.approx(116 + step * layer - (step - THICK) / 2, abs=0.3)


def deck(gap: float, along: bool = True) -> list[Layer]:
    """Two posts and, from layer 8, a deck laid along the gap or across it."""
    half = gap / 2
    layers = stacked(
        7, lambda _: shapely.union_all([square(110 + s * (half + 3), 110, 6, 8) for s in (-1, 1)])
    )
    for _ in range(3):
        low, high = (110 - half - 6 + WIDTH / 2, 106), (110 + half + 6 - WIDTH / 2, 114)
        if along:
            layers.append(Layer().lines("bridge", low, high))
        else:
            turned = Layer().lines("bridge", (106, 0), (114, high[0] - low[0]))
            paths = [(role, [(low[0] + y, x) for x, y in points]) for role, points in turned.paths]
            layers.append(Layer(paths))
    return layers


@pytest.mark.parametrize("gap", [11.0, 18.0, 30.0])
def test_a_bridge_has_its_span(tmp_path: Path, gap: float) -> None:
    program = printed(tmp_path, deck(gap))
    (found,) = findings(program)
    assert (found.slug, found.layer, found.severity) == ("long-bridge", 8, Severity.LOOK)
    assert found.value == pytest.approx(gap, abs=0.15)
    assert found.place_mm == pytest.approx((110, 110, 1.6), abs=0.2)
    first, last = line_of_layer(program, 8)
    assert all(first <= line <= last for line in found.lines)


def test_a_short_bridge_is_silent(tmp_path: Path) -> None:
    program = printed(tmp_path, deck(9.0))
    assert findings(program) == []
    assert shape_of(program.shape_columns).bridge_mm[7] == pytest.approx(9.0, abs=0.15)


def test_lines_laid_across_the_gap_are_no_bridge(tmp_path: Path) -> None:
    found = findings(printed(tmp_path, deck(18.0, along=False)))
    assert {one.slug for one in found} <= {"steep-overhang", "mid-air-start"}
    assert found


def island(support: bool, gap_layers: int = 0) -> list[Layer]:
    """A block, and beside it from layer 9 an island of 5 mm that touches nothing."""
    layers = []
    for number in range(1, 13):
        layer = Layer().solid(square(110, 110, 10))
        if number >= 9:
            layer.solid(square(123, 112, 5))
        elif support and number < 9 - gap_layers:
            for k in range(5):
                layer.line("support", (120.6, 110 + k), (125.4, 110 + k))
        layers.append(layer)
    return layers


def test_an_island_begins_in_mid_air(tmp_path: Path) -> None:
    program = printed(tmp_path, island(support=False))
    (found,) = findings(program)
    assert (found.slug, found.severity, found.layer) == ("mid-air-start", Severity.STOP, 9)
    assert found.value == pytest.approx(25.0, rel=0.02)
    assert found.place_mm == pytest.approx((123, 112, 1.8), abs=0.1)
    first, last = line_of_layer(program, 9)
    assert all(first <= line <= last for line in found.lines)
    lines = (tmp_path / "part.gcode").read_text().split("\n")
    assert "X12" in lines[found.lines[0] - 1]


@pytest.mark.parametrize("gap_layers", [0, 1, 2])
def test_an_island_on_support_is_silent(tmp_path: Path, gap_layers: int) -> None:
    assert findings(printed(tmp_path, island(support=True, gap_layers=gap_layers)), "mid-air-start") == []


def test_an_island_without_comments_is_looked_at_only(tmp_path: Path) -> None:
    found = findings(printed(tmp_path, island(support=False), comments=False), "mid-air-start")
    assert [(one.severity, one.layer) for one in found] == [(Severity.LOOK, 9)]


def hollow(role: str, infill: bool) -> list[Layer]:
    """A box of two walls, 20 mm wide, with a lid; inside sparse lines or nothing."""
    layers = []
    for number in range(1, 13):
        box = square(110, 110, 20)
        if number in (1, 12):
            layers.append(Layer().solid(box))
            continue
        layer = Layer().line("inner loop", *box.buffer(-WIDTH / 2 - SPACING).exterior.coords)
        layer.line("outline", *box.buffer(-WIDTH / 2).exterior.coords)
        if infill:
            for k in range(6):
                layer.line(role, (101.2, 102.5 + 3 * k), (118.8, 102.5 + 3 * k))
        layers.append(layer)
    return layers


def test_a_lid_over_infill_is_carried(tmp_path: Path) -> None:
    assert findings(printed(tmp_path, hollow("infill", infill=True))) == []


def test_a_lid_over_nothing_is_not(tmp_path: Path) -> None:
    found = findings(printed(tmp_path, hollow("infill", infill=False)))
    assert [(one.slug, one.layer) for one in found] == [("steep-overhang", 12)]


def test_infill_every_other_layer_is_carried(tmp_path: Path) -> None:
    layers = hollow("infill", infill=True)
    for number in (3, 5, 7, 9):
        layers[number].paths = [path for path in layers[number].paths if path[0] != "infill"]
    assert findings(printed(tmp_path, layers)) == []


def blade(beads: int, layers: int = 20, length: float = 12.0) -> list[Layer]:
    found = []
    for number in range(1, layers + 3):
        if number <= 2:
            found.append(Layer().solid(square(110, 110, 24)))
            continue
        layer = Layer().solid(square(104, 110, 8))
        for k in range(beads):
            x = 117 + (k - (beads - 1) / 2) * SPACING
            layer.line("outline", (x, 110 - length / 2 + WIDTH / 2), (x, 110 + length / 2 - WIDTH / 2))
        found.append(layer)
    return found


def test_a_wall_of_one_bead_is_thin(tmp_path: Path) -> None:
    program = printed(tmp_path, blade(1))
    (found,) = findings(program)
    assert (found.slug, found.severity) == ("thin-feature", Severity.LOOK)
    assert found.value == pytest.approx(1.0, abs=0.1)  # cells of 0.1 mm
    assert found.layer is not None
    assert 3 <= found.layer <= 22
    assert found.place_mm is not None
    assert found.place_mm[:2] == pytest.approx((117, 110), abs=0.5)
    first, last = line_of_layer(program, found.layer)
    assert first <= found.lines[0] <= last
    assert "from layer 3 to 22" in found.sentence


@pytest.mark.parametrize(("beads", "layers"), [(2, 20), (3, 20), (1, 6)])
def test_two_beads_or_few_layers_are_not_thin(tmp_path: Path, beads: int, layers: int) -> None:
    assert findings(printed(tmp_path, blade(beads, layers))) == []


@pytest.mark.parametrize("turn_deg", [17.0, 45.0])
def test_a_slanted_wall_is_measured_alike(tmp_path: Path, turn_deg: float) -> None:
    def turned(layers: list[Layer]) -> list[Layer]:
        c, s = math.cos(math.radians(turn_deg)), math.sin(math.radians(turn_deg))
        for layer in layers:
            layer.paths = [
                (
                    r,
                    [
                        (110 + c * (x - 110) - s * (y - 110), 110 + s * (x - 110) + c * (y - 110))
                        for x, y in points
                    ],
                )
                for r, points in layer.paths
            ]
        return layers

    assert [one.slug for one in findings(printed(tmp_path, turned(blade(1))))] == ["thin-feature"]
    assert findings(printed(tmp_path, turned(blade(2)))) == []


def there_and_back(length: float) -> list[Layer]:
    """A block, and beside it a wall of one loop whose two sides overlap: 0.6 mm thick."""
    layers = blade(0)
    for layer in layers[2:]:
        edge = shapely.box(116.7, 110 - length / 2, 117.3, 110 + length / 2).buffer(-WIDTH / 2).exterior
        layer.line("outline", *edge.coords)
    return layers


def test_a_loop_there_and_back_is_one_wall(tmp_path: Path) -> None:
    (found,) = findings(printed(tmp_path, there_and_back(12.0)))
    assert found.sentence.startswith("A wall about 12 mm long is only 0.")
    assert found.value == pytest.approx(0.6 / WIDTH, abs=0.1)  # cells of 0.1 mm


def test_a_tip_of_a_loop_is_too_short_for_a_wall(tmp_path: Path) -> None:
    layers = there_and_back(1.6)
    for layer in layers[2:]:  # the tip of a wedge: below it the wall is thick
        layer.solid(square(117, 106, 6))
    assert findings(printed(tmp_path, layers)) == []


def test_a_post_of_one_bead_is_thin(tmp_path: Path) -> None:
    layers = blade(0)
    for layer in layers[2:]:
        layer.line("outline", (117.0, 109.9), (117.0, 110.1))
    found = findings(printed(tmp_path, layers))
    assert [(one.slug, one.place_mm[:2] if one.place_mm else None) for one in found] == [
        ("thin-feature", pytest.approx((117, 110), abs=0.2))
    ]
    assert found[0].sentence.startswith("A post")


def two_blocks(retract: bool, apart: float = 30.0) -> list[Layer]:
    shape = shapely.union_all([square(110 + s * apart / 2, 110, 8) for s in (-1, 1)])
    layers = stacked(6, lambda _: shape)
    for layer in layers:
        layer.retract = retract
    return layers


def test_bare_travel_between_blocks(tmp_path: Path) -> None:
    program = printed(tmp_path, two_blocks(retract=False))
    (found,) = findings(program)
    assert found.slug == "bare-travel"
    assert found.value == pytest.approx(22.0, abs=1.5)  # between the blocks' walls, on the slant
    assert found.place_mm is not None
    assert found.place_mm[0] == pytest.approx(110, abs=0.5)
    assert found.layer is not None
    first, last = line_of_layer(program, found.layer)
    assert all(first <= line <= last for line in found.lines)


@pytest.mark.parametrize(("retract", "apart"), [(True, 30.0), (False, 15.0)])
def test_retracted_or_short_travel_is_silent(tmp_path: Path, retract: bool, apart: float) -> None:
    assert findings(printed(tmp_path, two_blocks(retract, apart))) == []


def test_travel_over_infill_is_not_open(tmp_path: Path) -> None:
    layers = hollow("infill", infill=True)
    for layer in layers:
        layer.retract = False
    assert findings(printed(tmp_path, layers), "bare-travel") == []


def test_shapes_are_judged_by_spacing_where_the_diameter_is_wrong(tmp_path: Path) -> None:
    (right,) = findings(printed(tmp_path, cone(70.0)), "steep-overhang")
    program = printed(tmp_path, cone(70.0), {"filament": {"diameter_mm": 2.85}})
    assert program.widths.is_from_spacing
    (found,) = findings(program, "steep-overhang")
    assert found.layer == right.layer
    assert found.value == pytest.approx(right.value, abs=2.0)
    assert [one for one in outcomes(program) if isinstance(one, NotChecked)] == []


def test_a_bridge_layer_of_thick_beads_is_judged(tmp_path: Path) -> None:
    layers = stacked(12, lambda number: square(100.0, 100.0, 10.0 if number < 12 else 20.0))
    plain = printed(tmp_path, layers)
    (right,) = findings(plain, "steep-overhang")
    # the last layer, which reaches 5 mm over, is fed three times as much
    lines = text(layers).split("; layer 12 ")
    thick = opened(
        tmp_path, lines[0] + "; layer 12 " + lines[1].replace("\n; role", "\nM221 S300\n; role", 1)
    )
    assert thick.beads_of(12).width_mm.mean() > 2.5 * plain.beads_of(12).width_mm.mean()
    (found,) = findings(thick, "steep-overhang")
    assert (found.layer, found.value) == (right.layer, pytest.approx(right.value, abs=2.0))


def test_beads_of_unknown_width_are_not_judged(tmp_path: Path) -> None:
    wall = [Layer().line("outline", *square(100.0, 100.0, 20.0).exterior.coords) for _ in range(5)]
    program = printed(tmp_path, wall, {"filament": {"diameter_mm": 0.5}})
    said = run_checks(program, checks=SHAPE_CHECKS).not_checked
    assert [one.slugs for one in said] == [("mid-air-start", "steep-overhang", "long-bridge", "thin-feature")]
    assert "How wide the beads are is not known" in said[0].told
    assert "It holds for steep-overhang, long-bridge and thin-feature, too." in said[0].told


def test_it_is_told_where_most_beads_have_no_role(tmp_path: Path) -> None:
    lines = [Layer().lines("infill", (90.0, 90.0), (120.0, 110.0), 2.5) for _ in range(4)]
    program = printed(tmp_path, lines, comments=False)
    program = replace(program, roles=np.full_like(program.roles, UNLABELLED))
    (said,) = (one for one in outcomes(program, "long-bridge") if isinstance(one, NotChecked))
    assert said.sentence.startswith("For 100 % of the path it is not known what it is for")


def found_in(entry: dict[str, Any], which: str) -> list[Finding]:
    cards = entry["cards" if which == "file" else "near_miss_cards"]
    return findings(opened_file(FAULTY / entry[which], cards))


@pytest.mark.parametrize("name", OURS)
def test_the_fault_is_found_and_nothing_else(name: str) -> None:
    entry = EXPECTED[name]
    (found,) = found_in(entry, "file")
    assert found.slug == entry["slug"]
    assert found.layer is not None
    # an overhang or thin wall goes on over many layers: the middle of its layers is ours
    assert abs(found.layer - entry["layer"]) <= (2 if name in ("steep-overhang", "thin-feature") else 0)
    assert found.place_mm is not None
    assert found.place_mm[:2] == pytest.approx(entry["place_mm"], abs=0.5)
    program = opened_file(FAULTY / entry["file"])
    first, last = line_of_layer(program, found.layer)
    assert all(first <= line <= last for line in found.lines)


@pytest.mark.parametrize("name", OURS)
def test_the_near_miss_is_silent(name: str) -> None:
    assert found_in(EXPECTED[name], "near_miss") == []


@pytest.mark.parametrize("name", OURS)
def test_the_workshop_card_switches_it_off(name: str) -> None:
    off = {"workshop": {"checks": {EXPECTED[name]["slug"]: {"off": True, "reason": "tested by hand"}}}}
    assert findings(opened_file(FAULTY / EXPECTED[name]["file"], off)) == []


def test_the_good_samples_give_nothing(samples: list[Path]) -> None:
    for path in samples:
        assert findings(opened_file(path)) == [], path.name
