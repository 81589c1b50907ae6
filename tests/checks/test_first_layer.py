"""The checks of the first layer on parts whose answer is known in closed form, and on the sample programs."""

from __future__ import annotations

import json
import math
from pathlib import Path
from typing import Any

import pytest
import shapely

from tests.checks.on_paper import opened, opened_file
from tests.checks.sliced import (
    SPACING,
    WIDTH,
    Layer,
    findings,
    line_of_layer,
    outcomes,
    printed,
    square,
    stacked,
    text,
)
from tests.conftest import SAMPLES
from viewer.checks.finding import Finding, NotChecked, Passed, Severity
from viewer.checks.first_layer import FIRST_LAYER_CHECKS
from viewer.jit import compiler_is_off
from viewer.program import Program

pytestmark = pytest.mark.skipif(compiler_is_off(), reason="grids of a million cells: needs the compiler")

FAULTY = SAMPLES / "faulty"
EXPECTED: dict[str, Any] = json.loads((FAULTY / "EXPECTED.json").read_text())
SLUGS = tuple(check.slug for check in FIRST_LAYER_CHECKS)
OURS = sorted(name for name, entry in EXPECTED.items() if entry["slug"] in SLUGS)


def cylinder(radius: float, height: float) -> list[Layer]:
    disc = shapely.Point(110, 110).buffer(radius, quad_segs=32)
    return stacked(round(height / 0.2), lambda _: disc)


@pytest.mark.parametrize(("radius", "height", "fires"), [(2.0, 16.0, True), (2.0, 12.0, False)])
def test_a_cylinder_tips_at_atan_2r_over_h(tmp_path: Path, radius: float, height: float, fires: bool) -> None:
    # statics, any textbook: the centre of mass of a uniform cylinder lies at half its height
    angle = math.degrees(math.atan(2 * radius / height))
    assert (angle < 15.0) == fires
    found = findings(printed(tmp_path, cylinder(radius, height)), "topples")
    assert len(found) == fires
    if fires:
        assert found[0].value == pytest.approx(angle, abs=0.3)
        assert found[0].layer == 1
        assert found[0].place_mm == pytest.approx((110, 110, 0.2), abs=0.1)


def test_a_brim_holds_a_slim_cylinder(tmp_path: Path) -> None:
    layers = cylinder(2.0, 16.0)
    for n in range(1, 8):
        ring = shapely.Point(110, 110).buffer(2.0 - WIDTH / 2 + n * SPACING, quad_segs=32).exterior
        layers[0].paths.insert(0, ("brim", list(ring.coords)))
    assert findings(printed(tmp_path, layers), "topples") == []


def feet(width: float, role: str = "outline") -> list[Layer]:
    """A block and beside it a foot, joined above."""
    layers = stacked(6, lambda number: square(110, 110, 12) if number < 4 else square(115, 110, 24, 12))
    for layer in layers[:3]:
        layer.solid(square(124, 112, width), role, role)
    return layers


def footprint_beyond(program: Program, x_mm: float) -> shapely.Geometry:
    """Return what the first layer's beads beyond an X cover (with corners and gaps, less than the foot's 4 mm2)."""
    beads = program.beads_of(1)
    rows = zip(beads.x0_mm, beads.y0_mm, beads.x1_mm, beads.y1_mm, beads.width_mm, strict=True)
    segments = [
        shapely.LineString([(x0, y0), (x1, y1)]).buffer(0.5 * w) for x0, y0, x1, y1, w in rows if x0 > x_mm
    ]
    return shapely.union_all(segments)


def test_a_tiny_foot(tmp_path: Path) -> None:
    program = printed(tmp_path, feet(2.0))
    (found,) = findings(program, "tiny-island")
    assert found.value == pytest.approx(footprint_beyond(program, 120.0).area, rel=0.005)
    assert found.place_mm == pytest.approx((124, 112, 0.2), abs=0.1)
    first, last = line_of_layer(program, 1)
    assert first <= found.lines[0] <= last
    assert "X12" in (tmp_path / "part.gcode").read_text().split("\n")[found.lines[0] - 1]


@pytest.mark.parametrize(("width", "role"), [(2.4, "outline"), (2.0, "support")])
def test_a_foot_that_is_large_or_supports_is_silent(tmp_path: Path, width: float, role: str) -> None:
    assert findings(printed(tmp_path, feet(width, role)), "tiny-island") == []


def spread(step: float) -> list[Layer]:
    """A sheet of lines so far apart, with an outline."""
    edge = square(110, 110, 24).buffer(-WIDTH / 2).exterior.coords
    sheet = Layer().line("outline", *edge).lines("solid", (98.4, 98.4), (121.6, 121.6), step)
    return [sheet, Layer().solid(square(110, 110, 24))]


def test_gaps_are_measured(tmp_path: Path) -> None:
    program = printed(tmp_path, spread(0.6))
    (found,) = findings(program, "gaps")
    # of each 0.6 mm a bead covers 0.45
    assert found.value == pytest.approx(0.45 / 0.6, abs=0.03)
    assert found.place_mm == pytest.approx((110, 110, 0.2), abs=0.5)
    assert found.layer == 1


@pytest.mark.parametrize("step", [SPACING, 0.46])
def test_beads_that_touch_have_no_gaps(tmp_path: Path, step: float) -> None:
    assert findings(printed(tmp_path, spread(step)), "gaps") == []


def squeezed(step: float, shift: float) -> list[Layer]:
    """A plate of lines along X so far apart, without an outline: every gap meets the cells alike."""
    first = Layer()
    for number in range(50):
        y = 100.0 + shift + number * step
        ends = [(100.0, y), (130.0, y)]
        first.line("solid", *(ends if number % 2 else ends[::-1]))
    return [first, Layer().solid(square(115, 111, 20))]


@pytest.mark.parametrize("shift", [0.0, 0.01, 0.02, 0.03, 0.04])
@pytest.mark.parametrize(("step", "is_told"), [(0.47, False), (0.5, True)])
def test_gaps_narrower_than_a_cell(tmp_path: Path, step: float, is_told: bool, shift: float) -> None:
    # beads of 0.45 mm: 0.957 of the outline's area, and 0.9
    found = findings(printed(tmp_path, squeezed(step, shift)), "gaps")
    assert bool(found) is is_told
    for one in found:
        assert one.value == pytest.approx(WIDTH / step, abs=0.01)
        assert one.place_mm is not None
        assert one.place_mm[0] == pytest.approx(115, abs=0.5)


def test_gaps_under_a_wrong_filament_are_judged_by_the_spacing(tmp_path: Path) -> None:
    # the card says 1.2 mm, so that the beads come out too narrow
    program = printed(tmp_path, spread(SPACING), {"filament": {"diameter_mm": 1.2}})
    assert program.widths.is_from_spacing
    (held,) = outcomes(program, "gaps")
    assert isinstance(held, Passed) and held.sentence.endswith(
        "of the first layer's outline; 93 % is enough."
    )


def test_gaps_of_a_raft_are_not_judged(tmp_path: Path) -> None:
    # the first layer's lines are 0.9 mm wide and 1.4 mm apart, all others 0.45 mm wide
    foot = Layer(thick=0.3).lines("outline", (100.0, 100.0), (130.0, 130.0), 1.4)
    layers = [foot, *(Layer().lines("solid", (100.0, 100.0), (130.0, 130.0)) for _ in range(4))]
    laid = text(layers)
    first, rest = laid.split("; layer 2 ")
    program = opened(
        tmp_path, first.replace("; role", "M221 S200\n; role", 1) + "M221 S100\n; layer 2 " + rest
    )
    (said,) = outcomes(program, "gaps")
    assert isinstance(said, NotChecked) and "raft's foot" in said.sentence


def at_speed(tmp_path: Path, mm_s: float, before: str = "") -> list[Finding]:
    path = tmp_path / "part.gcode"
    part = text(stacked(3, lambda _: square(110, 110, 12))).replace("F1500", f"F{mm_s * 60:.0f}")
    path.write_text(before + part)
    return findings(opened_file(path), "first-layer-speed")


@pytest.mark.parametrize(("mm_s", "severity"), [(45.0, Severity.NOTE), (70.0, Severity.LOOK)])
def test_a_fast_first_layer(tmp_path: Path, mm_s: float, severity: Severity) -> None:
    (found,) = at_speed(tmp_path, mm_s)
    assert (found.value, found.severity, found.layer) == (pytest.approx(mm_s), severity, 1)
    assert found.place_mm == pytest.approx((110, 110, 0.2), abs=0.1)


@pytest.mark.parametrize(("factor", "mm_s"), [("M220 S50", 35.0), ("M220 S0", 70.0)])
def test_the_speed_factor_counts_for_the_first_layer_as_the_plan_has_it(
    tmp_path: Path, factor: str, mm_s: float
) -> None:
    """A factor of 0 is none: it does not make a first layer slow."""
    found = at_speed(tmp_path, 70.0, f"{factor}\n")
    assert [one.value for one in found] == ([pytest.approx(mm_s)] if mm_s > 40.0 else [])


def test_a_slow_first_layer_is_silent(tmp_path: Path) -> None:
    assert at_speed(tmp_path, 40.0) == []
    assert "faster than 40 mm/s, up to 40.4 mm/s" in at_speed(tmp_path, 40.4)[0].sentence


@pytest.mark.parametrize(("thick", "value"), [(0.4, 1.0), (0.34, 0.85), (0.08, 0.2)])
def test_a_first_layer_of_a_wrong_height(tmp_path: Path, thick: float, value: float) -> None:
    layers = stacked(3, lambda _: square(110, 110, 12))
    layers[0].thick = thick
    (found,) = findings(printed(tmp_path, layers), "first-layer-height")
    assert found.value == pytest.approx(value, abs=0.01)
    assert found.place_mm == pytest.approx((110, 110, thick), abs=0.1)


@pytest.mark.parametrize("thick", [0.1, 0.2, 0.32])
def test_a_first_layer_of_a_usual_height_is_silent(tmp_path: Path, thick: float) -> None:
    layers = stacked(3, lambda _: square(110, 110, 12))
    layers[0].thick = thick
    assert findings(printed(tmp_path, layers), "first-layer-height") == []


def test_a_thick_raft_is_silent(tmp_path: Path) -> None:
    layers = [
        Layer(thick=0.5).solid(square(110, 110, 14), "raft", "raft"),
        *stacked(3, lambda _: square(110, 110, 12)),
    ]
    assert findings(printed(tmp_path, layers), "first-layer-height") == []


def found_in(entry: dict[str, Any], which: str) -> list[Finding]:
    cards = entry["cards" if which == "file" else "near_miss_cards"]
    return findings(opened_file(FAULTY / entry[which], cards), *SLUGS)


@pytest.mark.parametrize("name", OURS)
def test_the_fault_is_found_and_nothing_else(name: str) -> None:
    entry = EXPECTED[name]
    (found,) = found_in(entry, "file")
    assert (found.slug, found.layer) == (entry["slug"], 1)
    assert found.place_mm is not None
    assert found.place_mm[:2] == pytest.approx(entry["place_mm"], abs=0.5)
    program = opened_file(FAULTY / entry["file"])
    first, last = line_of_layer(program, 1)
    assert all(first <= line <= last for line in found.lines)
    if name != "first-layer-height" and name != "first-layer-height.thin":  # theirs is in mm, ours in nozzles
        assert found.value == pytest.approx(entry["value"], rel=0.03)


@pytest.mark.parametrize("name", OURS)
def test_the_near_miss_is_silent(name: str) -> None:
    assert found_in(EXPECTED[name], "near_miss") == []


@pytest.mark.parametrize("name", OURS)
def test_the_workshop_card_switches_it_off(name: str) -> None:
    entry = EXPECTED[name]
    off = {"workshop": {"checks": {entry["slug"]: {"off": True, "reason": "tested by hand"}}}}
    assert findings(opened_file(FAULTY / entry["file"], off), *SLUGS) == []


def test_the_good_samples_give_nothing(samples: list[Path]) -> None:
    for path in samples:
        assert findings(opened_file(path), *SLUGS) == [], path.name
