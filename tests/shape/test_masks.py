"""Masks and the kernels that measure on them, against shapely, scipy.ndimage and slow twins."""

from __future__ import annotations

import math

import numpy as np
import pytest
import scipy.ndimage
import scipy.spatial
import shapely
from hypothesis import given
from hypothesis import strategies as st
from numpy.typing import NDArray

from tests.beads.by_hand import beads_of
from tests.beads.test_regions import random_grid
from viewer.beads.draw import draw_mask
from viewer.beads.regions import find_regions, label_cells
from viewer.beads.section import Beads
from viewer.jit import compiler_is_off
from viewer.shape.carriers import widened
from viewer.shape.kernels import over_air as k
from viewer.shape.kernels import spans as ks
from viewer.shape.kernels import thickness as kthick
from viewer.shape.kernels import travel as kt
from viewer.shape.kernels.bits import DIVIDED, INNER
from viewer.shape.masks import (
    INFILL_BIT,
    SHELL_BIT,
    LayerMask,
    MaskBuffers,
    grid_for,
    table_of,
    with_usual_width,
)
from viewer.shape.over_air import OverAir, measure_over_air
from viewer.shape.spots import Spot, join_spots
from viewer.shape.widths import BeadWidths

needs_compiler = pytest.mark.skipif(compiler_is_off(), reason="large grids: needs the compiler")
seeds = st.integers(0, 2**32 - 1)


@given(seeds)
def test_counting_and_marking_against_numpy(seed: int) -> None:
    rng = np.random.default_rng(seed)
    mask, below = (rng.choice(np.array([0, 1, 2, 3, 4], np.uint8), (9, 13)) for _ in range(2))
    inner = random_grid(seed, 9, 13)
    air = np.empty_like(mask)
    bare = ((mask & 1) != 0) & (below == 0)
    assert k.count_bare(mask, 1, below) == bare.sum()
    inner *= np.uint8(seed % 3 + 1)
    assert k.mark_bare(mask, 1, below, inner, air) == (bare & (inner & DIVIDED == 0)).sum()
    assert np.array_equal(air, bare & (inner & DIVIDED == 0))


@given(seeds)
def test_sums_and_nearest_cells_against_ndimage(seed: int) -> None:
    air, below = random_grid(seed), random_grid(seed + 1)
    air &= 1 - below
    mask = random_grid(seed + 2) | air
    runs = find_regions(air, 1, 1)
    sums, place = np.zeros((runs.count, 8)), np.zeros((runs.count, 2))
    labels = np.full(air.shape, -1, np.int32)
    k.sum_runs(runs.first, runs.begin, runs.end, runs.label, mask, below, labels, sums)
    k.nearest_cells(runs.first, runs.begin, runs.end, runs.label, sums, np.full(runs.count, np.inf), place)
    assert np.array_equal(labels + 1, label_cells(air)[0])
    for region in range(runs.count):
        own = labels == region
        rows, columns = np.nonzero(own)
        assert sums[region, :3].tolist() == [own.sum(), columns.sum(), rows.sum()]
        assert sums[region, 3:7].tolist() == [columns.min(), columns.max(), rows.min(), rows.max()]
        rim = scipy.ndimage.binary_dilation(own, np.ones((3, 3)))
        assert (sums[region, 7] > 0) == bool((rim & (mask != 0) & (below != 0)).any())
        away = np.hypot(columns - columns.mean(), rows - rows.mean())
        column, row = place[region]
        # between two cells of a row it may be nearer than either's middle
        assert own[int(row), math.floor(column)]
        assert own[int(row), math.ceil(column)]
        assert away.min() - 0.5 <= math.hypot(column - columns.mean(), row - rows.mean()) <= away.min() + 1e-9


@given(seeds, st.sampled_from([0, 6]))
def test_hollows_of_infill_against_ndimage(seed: int, least: int) -> None:
    rng = np.random.default_rng(seed)
    mask = rng.choice(np.array([0, 1, 2, 3, 17], np.uint8), (16, 21), p=[0.4, 0.3, 0.15, 0.1, 0.05])
    runs = find_regions(mask, 0, 0)
    inner = np.zeros_like(mask)
    facts = np.zeros((runs.count, 5), np.int64)
    k.find_hollows(runs.first, runs.begin, runs.end, runs.label, mask, least, facts, inner)
    labels, count = scipy.ndimage.label(mask == 0)
    for number in range(1, count + 1):
        own = labels == number
        edge = own[0].any() or own[-1].any() or own[:, 0].any() or own[:, -1].any()
        rim = np.zeros(18, np.int64)  # pairs of a cell and a side neighbour, by what that is
        for axis in (0, 1):
            for step in (-1, 1):
                rim += np.bincount(np.roll(mask, step, axis)[own], minlength=18)
        expected = 0
        if not edge and (rim[2] >= 3 or own.sum() < least):
            expected = DIVIDED
        elif not edge and rim[17] <= 0.05 * rim[1:].sum():
            expected = INNER
        assert (inner[own] == expected).all()


def footprint(beads: Beads) -> shapely.Geometry:
    rows = zip(beads.x0_mm, beads.y0_mm, beads.x1_mm, beads.y1_mm, beads.width_mm, strict=True)
    return shapely.union_all(
        [shapely.LineString([(a, b), (c, d)]).buffer(w / 2, quad_segs=32) for a, b, c, d, w in rows]
    )


def random_beads(seed: int, count: int = 60) -> Beads:
    rng = np.random.default_rng(seed)
    start = rng.uniform(5, 35, (count, 2))
    return beads_of([(*a, *(a + rng.uniform(-9, 9, 2)), rng.uniform(0.4, 0.6)) for a in start])


def drawn(
    buffers: MaskBuffers, number: int, beads: Beads, bit: int = SHELL_BIT, small_mm2: float = 0.0
) -> LayerMask:
    slot = buffers.next_slot(bit <= INFILL_BIT)
    mask = buffers.masks[slot]
    mask.fill(0)
    draw_mask(mask, beads, buffers.grid, bit)
    bits = np.full(len(beads), bit, np.uint8)
    return LayerMask(
        number=number, thickness_mm=0.2, height_mm=0.2 * number, beads=beads, bits=bits,
        loops=np.ones(len(beads), np.bool_), slot=slot, mask=mask, small_mm2=small_mm2,
    )  # fmt: skip


@needs_compiler
@pytest.mark.parametrize("angle", [30.0, 45.0, 60.0])
def test_overhanging_area_against_shapely(angle: float) -> None:
    buffers = MaskBuffers(grid_for((0.0, 0.0, 40.0, 40.0), 10.0))
    lower, upper = random_beads(1), random_beads(2)
    below, above = drawn(buffers, 1, lower), drawn(buffers, 2, upper)
    found = OverAir()
    measure_over_air(buffers, above, below, [], angle, 0.2, found)
    carried = footprint(widened(lower, 0.2 * math.tan(math.radians(angle)) + 0.01))
    air = footprint(upper).difference(carried)
    assert float(np.count_nonzero(buffers.air)) * 0.01 == pytest.approx(air.area, rel=0.01)
    # random beads cross one another: every region is held somewhere, many are bridges
    bridged = sum(spot.area_mm2 for spot in found.bridges)
    assert found.overhang_mm2[2] <= air.area * 1.01
    assert bridged > 0.0
    # the reach is that of the footprints: no cell of a place lies farther from what is below
    for spot in found.overhangs:
        assert spot.reach_mm >= 0.2 * math.tan(math.radians(angle)) - 0.01


@given(seeds)
def test_reach_against_shapely(seed: int) -> None:
    rng = np.random.default_rng(seed)
    lower, upper = random_beads(seed, 5), random_beads(seed + 1, 4)
    grid = np.zeros((30, 30), np.uint8)
    row, column = rng.integers(1, 29, 2)
    grid[row, column] = 1
    runs = find_regions(grid, 1, 1)
    reach = np.zeros(1)
    k.find_reach(
        runs.first, runs.begin, runs.end, runs.label, np.ones(1, np.int64), np.array([0.0, 0.0, 1.5]),
        table_of(lower), table_of(upper), reach,
    )  # fmt: skip
    point = shapely.Point(1.5 * (column + 0.5), 1.5 * (row + 0.5))

    def beyond(beads: Beads) -> float:
        rows = zip(beads.x0_mm, beads.y0_mm, beads.x1_mm, beads.y1_mm, beads.width_mm, strict=True)
        return min(
            float(shapely.LineString([(a, b), (c, d)]).distance(point)) - w / 2 for a, b, c, d, w in rows
        )

    assert reach[0] == pytest.approx(max(beyond(lower) - min(beyond(upper), 0.0), 0.0), abs=1e-5)


def spans_of(beads: Beads, held: list[tuple[float, float]], reach: float = 0.0) -> NDArray[np.float64]:
    """Spans over a plane that is air but for bands of x; one region."""
    numbers = np.array([0.0, 0.0, 0.1])
    below = np.zeros((100, 400), np.uint8)
    x = (np.arange(400) + 0.5) * 0.1
    for low, high in held:
        below[:, (x > low) & (x < high)] = 1
    air = (1 - below).astype(np.uint8)
    spans = np.zeros((1, 5))
    labels = np.zeros(below.shape, np.int32)
    ks.find_spans(table_of(beads), np.ones(len(beads), np.bool_), below, reach, air, labels, numbers, spans)
    return spans[0]


def test_a_span_is_measured_between_what_holds_it() -> None:
    spans = spans_of(beads_of([(2, 5, 30, 5, 0.4)]), [(0, 8), (21, 40)])
    assert spans[ks.SPAN] == pytest.approx(13.0, abs=0.1)
    assert spans[ks.MIDDLE_X] / spans[ks.SPANS] == pytest.approx(14.5, abs=0.1)
    assert spans[ks.MIDDLE_Y] / spans[ks.SPANS] == pytest.approx(5.0)
    assert spans[ks.COVERED] == pytest.approx(13.0 * 0.4, rel=0.01)
    wider = spans_of(beads_of([(2, 5, 30, 5, 0.4)]), [(0, 8.2), (20.8, 40)], reach=0.2)
    assert wider[ks.SPAN] == pytest.approx(13.0, abs=0.1)


@pytest.mark.parametrize(
    "rows",
    [
        [(2, 5, 15, 5, 0.4)],  # ends over air
        [(15, 5, 30, 5, 0.4)],  # begins over air
        [(2, 5, 15, 5, 0.4), (15, 5, 15, 7, 0.4), (15, 7, 2, 7, 0.4)],  # turns back over air
        [(2, 5, 15, 5, 0.4), (15.5, 5, 30, 5, 0.4)],  # two beads that do not join
    ],
)
def test_what_is_not_held_at_both_ends_is_no_span(
    rows: list[tuple[float, float, float, float, float]],
) -> None:
    assert spans_of(beads_of(rows), [(0, 8), (21, 40)]).tolist() == [0.0] * 5


def test_a_span_goes_on_over_joined_beads() -> None:
    rows = [(2 + 2 * n, 5, 4 + 2 * n, 5, 0.4) for n in range(14)]
    assert spans_of(beads_of(rows), [(0, 8), (21, 40)])[ks.SPAN] == pytest.approx(13.0, abs=0.1)


@pytest.mark.parametrize("thick", [0.4, 0.7, 1.3])
@pytest.mark.parametrize("turn", [0.0, 0.3, 1.1])
def test_thickness_across_a_bead(thick: float, turn: float) -> None:
    count = round(thick / 0.1)
    c, s = math.cos(turn), math.sin(turn)
    rows = []
    for n in range(count):  # a wall laid of fine beads side by side
        v = (n + 0.5) / count * thick - thick / 2
        rows.append((20 - 8 * c - v * s, 20 - 8 * s + v * c, 20 + 8 * c - v * s, 20 + 8 * s + v * c, 0.13))
    sheet = grid_for((0.0, 0.0, 40.0, 40.0))
    mask = np.zeros(sheet.shape, np.uint8)
    draw_mask(mask, beads_of(rows), sheet.grid, SHELL_BIT)
    middle = table_of(beads_of([(20 - 6 * c, 20 - 6 * s, 20 + 6 * c, 20 + 6 * s, 0.5)]))
    found = np.zeros((40, 6))
    nothing = np.zeros_like(mask)
    n = kthick.find_thin(
        middle, np.ones(1, np.bool_), mask, nothing, sheet.left_front_cell, 0.7, 1.75, 0.33, found
    )
    if thick > 1.75 * 0.5:
        assert n == 0
    else:
        assert n == 17  # 12 mm in steps of 0.7, the first half a step from the end
        assert found[:n, 2].mean() == pytest.approx(thick + 0.03, abs=0.1)  # cells of 0.1 mm
    # what is set as a hollow counts as part
    assert (
        kthick.find_thin(
            middle, np.ones(1, np.bool_), mask, 1 - nothing, sheet.left_front_cell, 0.7, 1.75, 0.33, found
        )
        == 0
    )


KINDS = {"t": 0, "b": 1, "w": 2, "r": 3, "p": 4, "h": 5}


def bare_ways(kinds: str, lengths: list[float], filament: list[float]) -> list[tuple[int, int]]:
    columns = [np.array(column, np.float32) for column in (lengths, filament)]
    kind = np.array([KINDS[letter] for letter in kinds], np.uint8)
    for column in (kind, *columns):
        column.flags.writeable = False
    ways = np.zeros((len(kinds), 2), np.int64)
    count = kt.find_bare_travel(kind, *columns, 0, len(kinds), 5.0, ways)
    return [(int(a), int(b)) for a, b in ways[:count]]


@pytest.mark.parametrize(
    ("kinds", "lengths", "filament", "expected"),
    [
        ("btb", [1, 9, 1], [1, 0, 1], [(1, 2)]),
        ("bttb", [1, 3, 3, 1], [1, 0, 0, 1], [(1, 3)]),
        ("btb", [1, 4, 1], [1, 0, 1], []),  # short
        ("brtpb", [1, 0, 9, 0, 1], [1, -1, 0, 1, 1], []),  # retracted
        ("bwtpb", [1, 2, 9, 0, 1], [1, -1, 0, 1, 1], []),  # wiped back
        ("brptb", [1, 0, 0, 9, 1], [1, -1, 1, 0, 1], [(3, 4)]),  # primed before the way
        ("bhtb", [1, 0, 9, 1], [1, 0, 0, 1], []),  # homed
        ("tb", [9, 1], [0, 1], []),  # from nowhere
        ("bt", [1, 9], [1, 0], []),  # to no bead
    ],
)
def test_bare_ways(
    kinds: str, lengths: list[float], filament: list[float], expected: list[tuple[int, int]]
) -> None:
    assert bare_ways(kinds, lengths, filament) == expected


def test_the_open_stretch_of_a_way_against_shapely() -> None:
    sheet = grid_for((0, 0, 40, 40))
    beads = random_beads(5, 6)
    mask = np.zeros(sheet.shape, np.uint8)
    draw_mask(mask, beads, sheet.grid)
    corners = [(3.0, 4.0), (37.0, 9.0), (20.0, 39.0)]
    kind = np.array([1, 0, 0], np.uint8)
    x, y = (np.array([corner[axis] for corner in corners], np.float32) for axis in (0, 1))
    filament = np.zeros(3, np.float32)
    for column in (kind, x, y, filament):
        column.flags.writeable = False
    found = np.zeros(4)
    kt.open_way(kind, x, y, filament, 1, 3, mask, np.zeros_like(mask), sheet.left_front_cell, found)
    rest = shapely.LineString(corners).difference(footprint(beads))
    longest = max(getattr(rest, "geoms", [rest]), key=lambda part: part.length)
    assert found[0] == pytest.approx(longest.length, abs=0.3)
    assert shapely.Point(found[1], found[2]).distance(longest) < 6.0


def test_odd_layers_are_drawn_at_the_usual_width() -> None:
    as_computed, by_spacing = BeadWidths(0.4, 0.4, 1.0, True), BeadWidths(0.2, 0.4, 2.0, True, True)
    for width in (0.1, 0.19, 0.82, 3.0):
        odd = beads_of([(0, 0, 9, 0, width), (0, 0, 0.1, 0, 0.4)])
        assert with_usual_width(odd, as_computed).width_mm.tolist() == pytest.approx([0.4, 0.4])
    for width in (0.22, 0.4, 0.78):
        some = beads_of([(0, 0, 9, 0, width), (0, 0, 0.1, 0, 1.5)])
        assert with_usual_width(some, as_computed) is some
        assert with_usual_width(some, by_spacing).width_mm.tolist() == pytest.approx([width, 0.8])
    none = beads_of([])
    assert with_usual_width(none, as_computed) is none


def test_grids_are_bounded() -> None:
    for side in (10.0, 80.0, 300.0, 900.0):
        sheet = grid_for((0.0, 0.0, side, side))
        assert sheet.shape[0] * sheet.shape[1] < 2_010_000
        assert sheet.shape[0] * sheet.grid.cell_mm >= side + 4.0
    assert grid_for((0, 0, 79, 79)).grid.cell_mm == pytest.approx(0.1)
    assert grid_for((0, 0, 150, 150)).grid.cell_mm <= 0.2


def spot(layer: int, x: float, wide: float = 1.0) -> Spot:
    return Spot(layer=layer, place_mm=(x, 0.0), box_mm=(x, 0.0, x + wide, 1.0), move=0, last_move=0)


def test_spots_that_lie_over_one_another_are_one() -> None:
    tracks = join_spots([spot(1, 0), spot(2, 0.5), spot(2, 9), spot(3, 1.0), spot(5, 1.5), spot(8, 1.5)])
    assert [[one.layer for one in track.spots] for track in tracks] == [[1, 2, 3, 5], [2], [8]]
    assert tracks[0].layers == 4


@needs_compiler
def test_infill_alone_never_hangs() -> None:
    buffers = MaskBuffers(grid_for((0.0, 0.0, 40.0, 40.0), 10.0))
    found = OverAir()
    below, above = drawn(buffers, 1, random_beads(3)), drawn(buffers, 2, random_beads(4), INFILL_BIT)
    measure_over_air(buffers, above, below, [], 45.0, 0.2, found)
    assert found == OverAir()


@given(seeds, st.sampled_from([0.1, 0.5, 2.0]))
def test_points_apart_against_scipy(seed: int, near: float) -> None:
    points = np.random.default_rng(seed).uniform(0.0, 10.0, (60, 2))
    kept = np.ones(len(points), np.bool_)
    pairs = scipy.spatial.cKDTree(points).query_pairs(near, output_type="ndarray")
    for one, other in pairs[np.lexsort((pairs[:, 1], pairs[:, 0]))].tolist():
        kept[other] &= not kept[one]
    x, y = points.T.copy()
    assert kthick.count_apart(x, y, np.argsort(x), near) == kept.sum()
