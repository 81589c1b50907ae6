"""The extent of each finding of the faulty samples lies where the fault was planted."""

from __future__ import annotations

import math

import pytest
import shapely

from tests.checks.test_faulty_samples import EXPECTED, NEAR_MM, checked, the_finding
from viewer.checks.extent import BeadRun, Extent, Measure, Region
from viewer.jit import compiler_is_off
from viewer.program import Program

pytestmark = pytest.mark.skipif(compiler_is_off(), reason="layers of a million cells: needs the compiler")

WHOLE_LAYER = {"quick-layers", "first-layer-height"}
"""What holds of a layer: its place is the middle of the beads' box, which need not be a bead."""
MEASURED = {
    "off-plate", "topples", "tiny-island", "gaps", "first-layer-speed", "first-layer-height", "mid-air-start",
    "steep-overhang", "long-bridge", "thin-feature", "bare-travel", "beyond-flow", "speed-cut", "quick-layers",
}  # fmt: skip
PLACED = sorted(name for name, entry in EXPECTED.items() if entry["slug"] in MEASURED)


def drawn(program: Program, extent: Extent) -> shapely.Geometry:
    """The figure that an extent makes on the plate."""
    match extent:
        case BeadRun(_, first, last, from_mm, to_mm):
            moves = program.moves
            length = float(moves.length_mm[first : last + 1].sum(dtype="f8"))
            assert 0.0 <= from_mm <= to_mm <= length + 1e-3
            ends = zip(
                moves.x_mm[first : last + 1].tolist(), moves.y_mm[first : last + 1].tolist(), strict=True
            )
            return shapely.LineString([moves.start_xyz(first)[:2], *ends])
        case Region(_, polygons):
            return shapely.MultiPolygon([shapely.Polygon(one) for one in polygons]).buffer(0)
        case Measure(_, start, end, text):
            assert text
            return shapely.LineString([start[:2], end[:2]])


@pytest.mark.parametrize("name", PLACED)
def test_the_extent_is_where_the_fault_was_planted(name: str) -> None:
    entry, found, (program, _) = EXPECTED[name], the_finding(name), checked(name, "file")
    assert found.extents
    if entry["layer"] is not None:
        assert entry["layer"] in {one.layer for one in found.extents}
    if entry["place_mm"] is None:
        return
    place = shapely.Point(entry["place_mm"][:2])
    figures = [drawn(program, one) for one in found.extents]
    area = shapely.union_all([figure.convex_hull for figure in figures])
    assert area.distance(place) <= NEAR_MM
    if entry["slug"] not in WHOLE_LAYER | {"first-layer-speed", "gaps", "topples", "off-plate"}:
        assert min(figure.distance(place) for figure in figures) <= NEAR_MM


def test_the_measure_of_a_bridge_is_as_long_as_it_says() -> None:
    found = the_finding("long-bridge")
    (measure,) = (one for one in found.extents if isinstance(one, Measure))
    assert math.dist(measure.start_mm, measure.end_mm) == pytest.approx(found.value, abs=0.01)
    assert measure.text == f"{found.value:.1f} mm"


def test_the_measure_beyond_the_edge_begins_at_the_edge() -> None:
    found = the_finding("off-plate")
    (measure,) = (one for one in found.extents if isinstance(one, Measure))
    assert found.limit is not None and found.value is not None
    axis = 0 if found.unit.endswith("X") else 1
    assert measure.start_mm[axis] == pytest.approx(found.limit, abs=0.001)
    assert measure.end_mm[axis] == pytest.approx(found.value, abs=0.001)
