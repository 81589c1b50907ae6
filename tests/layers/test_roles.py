"""Roles from shape: layers built by hand, slow twins of the kernels, and anything at all."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely.geometry import Polygon

from tests.layers import slow_roles as slow
from tests.layers.plotter import WIDTH, Plotter
from viewer.arrays import columns_of
from viewer.layers.kernels import pieces as limits
from viewer.layers.kernels.chains import Cut, split_chains
from viewer.layers.kernels.columns import Way
from viewer.layers.kernels.nesting import nest
from viewer.layers.kernels.pieces import Layer
from viewer.layers.layers import HOLD, INFILL, INNER, OUTLINE, PURGE, SOLID, SUPPORT, Layers
from viewer.layers.roles import _space, infer_roles
from viewer.read.moves import BEAD, PRIME, RETRACT, TRAVEL, Moves


def box(plot: Plotter, spacing: float, meant: int, joined: bool = True) -> None:
    plot.square(10.0, OUTLINE)
    plot.square(9.6, INNER)
    plot.zigzag(9.2, spacing, meant, joined=joined)


def small_box(plot: Plotter) -> None:
    plot.square(3.0, OUTLINE)
    plot.square(2.6, INNER)
    plot.zigzag(2.2, 0.42, SOLID)


@pytest.mark.parametrize("joined", [True, False])
@pytest.mark.parametrize(("spacing", "meant"), [(0.42, SOLID), (0.6, SOLID), (2.1, INFILL), (4.2, INFILL)])
def test_square_with_two_loops(spacing: float, meant: int, joined: bool) -> None:
    plot = Plotter()
    for _ in range(6):
        box(plot.layer(), spacing, meant, joined)
    assert plot.wrong() == []


def test_ring_with_a_hole() -> None:
    plot = Plotter()
    for _ in range(5):
        plot.layer()
        for radius, meant in ((12.0, OUTLINE), (11.6, INNER), (5.0, OUTLINE), (5.4, INNER)):
            plot.circle(radius, meant)
        for i in range(30):
            t = 2 * math.pi * i / 30
            ends = [(50 + r * math.cos(t), 50 + r * math.sin(t)) for r in (5.8, 11.2)]
            plot.line(ends, INFILL)
    assert plot.wrong() == []


def test_thin_tube_of_four_loops_has_two_outlines() -> None:
    plot = Plotter()
    for _ in range(5):
        plot.layer()
        for radius, meant in ((8.0, OUTLINE), (7.6, INNER), (7.2, INNER), (6.8, OUTLINE)):
            plot.circle(radius, meant)
    assert plot.wrong() == []


def test_island_in_a_hole_begins_anew() -> None:
    plot = Plotter()
    for _ in range(5):
        plot.layer()
        for half, meant in ((20.0, OUTLINE), (19.6, INNER), (10.4, INNER), (10.0, OUTLINE)):
            plot.square(half, meant)
        for x in (31.0, 33.0, 35.0, 37.0, 63.0, 65.0, 67.0, 69.0):
            plot.line([(x, 31.0), (x, 69.0)], INFILL)
        box_at = 50.0
        plot.square(5.0, OUTLINE, box_at)
        plot.square(4.6, INNER, box_at)
        plot.zigzag(4.2, 0.42, SOLID, box_at)
    assert plot.wrong() == []


def test_loops_and_fill_of_one_chain_are_parted() -> None:
    plot = Plotter()
    for _ in range(5):
        plot.layer()
        plot.square(10.0, OUTLINE)
        plot.move(40.4, 40.4, BEAD, INNER)  # leads to the next loop without travel
        plot.square(9.6, INNER, travel=False)
        plot.move(40.8, 40.8, BEAD, INNER)
        rows = range(45)
        for i in rows:
            ends = (40.8, 59.2) if i % 2 == 0 else (59.2, 40.8)
            for x in ends:
                if (i, x) != (0, 40.8):
                    plot.move(x, 40.8 + 0.41 * i, BEAD, SOLID)
    wrong = [row for row in plot.wrong() if row[1] != INNER or row[2] != SOLID]
    assert wrong == []  # the bead that leads into the fill may go with it


@pytest.mark.parametrize("gap", [0.0, 0.1, 0.6, 1.0])
def test_a_loop_may_end_before_its_start(gap: float) -> None:
    plot = Plotter()
    for _ in range(5):
        plot.layer()
        plot.square(10.0, OUTLINE, gap=gap)
        plot.square(9.6, INNER, gap=gap)
        plot.zigzag(9.2, 2.0, INFILL)
    assert plot.wrong() == []


@pytest.mark.parametrize("speed", [40.0, 120.0])
def test_travel_at_the_speed_of_beads_closes_a_loop(speed: float) -> None:
    """The last 2 mm of each loop are laid by pressure in the nozzle; travel at another speed closes none."""
    plot = Plotter()
    for _ in range(5):
        plot.layer()
        for half, meant in ((10.0, OUTLINE), (9.6, INNER)):
            plot.square(half, meant, gap=2.0)
            plot.move(50.0 - half, 50.0 - half, TRAVEL, speed=speed)
        plot.zigzag(9.2, 2.0, INFILL)
    assert (plot.wrong() == []) == (speed == 40.0)
    layer, found = cut(plot.done()[0], WIDTH)
    assert np.count_nonzero(layer.pieces.area[: found.pieces]) == (10 if speed == 40.0 else 0)


def test_loops_in_one_run_of_beads_are_parted() -> None:
    """Each loop ends one width beside its start, and the next bead is the next loop's first."""
    plot = Plotter()
    for _ in range(5):
        plot.layer()
        plot.line([(40.0, 40.0)], 0)
        for ring in range(3):
            a, b = 40.0 + 0.4 * ring, 60.0 - 0.4 * ring
            meant = INNER if ring else OUTLINE
            for x, y in ((a, b), (b, b), (b, a), (a + 0.4, a)):
                plot.move(x, y, BEAD, meant)
        plot.zigzag(8.4, 2.0, INFILL)
    assert plot.wrong() == []


def test_lines_that_cross_on_their_way_back_are_no_loops_in_one_run() -> None:
    """The direction of a figure of eight turns to and fro, not once."""
    eight = [
        (0.0, 0.0),
        (10.0, 10.0),
        (14.0, 5.0),
        (10.0, 0.0),
        (1.0, 9.0),
        (-4.0, 5.0),
        (0.3, 0.3),
        (0.3, -9.0),
    ]
    plot = Plotter().layer()
    plot.line(eight, 0)
    _, found = cut(plot.done()[0], WIDTH)
    assert found.pieces == 1


def test_two_lines_of_a_zigzag_are_no_loop() -> None:
    plot = Plotter()
    for _ in range(5):
        plot.layer()
        plot.square(10.0, OUTLINE)
        plot.line([(41.0, 45.0), (59.0, 45.0), (59.0, 45.42), (41.0, 45.42)], SOLID)
        plot.line([(41.0, 50.0), (59.0, 50.0), (59.0, 52.0), (41.0, 52.0)], INFILL)
    assert plot.wrong() == []


def test_skirt_and_brim_and_purge_line() -> None:
    plot = Plotter().layer()
    plot.line([(5.0, 5.0), (95.0, 5.0), (95.0, 5.5), (5.0, 5.5)], PURGE)
    for half in (20.0, 19.6):
        plot.square(half, HOLD)
    for half in (11.6, 11.2, 10.8, 10.4):
        plot.square(half, HOLD)
    box(plot, 0.42, SOLID)
    for _ in range(5):
        box(plot.layer(), 0.42, SOLID)
    assert plot.wrong() == []


@pytest.mark.parametrize(("layers", "pitch"), [(5, 0.4), (1, 1.2)])
def test_hold_down_of_many_loops(layers: int, pitch: float) -> None:
    """A hundred loops: a brim 40 mm wide, or, with nothing above to tell it, a skirt of loops apart."""
    plot = Plotter()
    for height in range(layers):
        plot.layer()
        for ring in range(100 if height == 0 else 0, 0, -1):
            plot.square(10.0 + pitch * ring, HOLD)
        box(plot, 0.42, SOLID)
    assert plot.wrong() == []


def test_skirt_of_three_layers_and_of_a_second_object() -> None:
    plot = Plotter()
    for number in range(2):
        for height in range(6):
            plot.layer(number)
            if height < 3:
                plot.square(20.0, HOLD)
            box(plot, 0.42, SOLID)
    assert plot.wrong() == []


def test_a_loop_too_far_from_the_layer_above_for_its_cells_to_be_counted() -> None:
    plot = Plotter()
    for height in range(5):
        plot.layer()
        for a, b in ((1e30, 1.2e30), (-1.2e30, -1e30)) if height == 0 else ():
            for low, high in ((40.0, 60.0), (a, b)):
                plot.line([(a, low), (b, low), (b, high), (a, high), (a, low)], HOLD)
        box(plot, 0.42, SOLID)
    assert plot.wrong() == []


def test_skirt_of_a_single_layer() -> None:
    plot = Plotter().layer()
    plot.square(20.0, HOLD)
    plot.square(19.6, HOLD)
    box(plot, 0.42, SOLID)
    assert plot.wrong() == []


def test_a_foot_wider_than_what_stands_on_it_is_no_hold_down() -> None:
    plot = Plotter()
    for _ in range(2):
        box(plot.layer(), 0.42, SOLID)
    for _ in range(4):
        small_box(plot.layer())
    assert plot.wrong() == []


@pytest.mark.parametrize("foot", [1, 2, 3])
@pytest.mark.parametrize("skirt", [False, True])
def test_holes_in_a_foot_are_no_hold_down(foot: int, skirt: bool) -> None:
    """Screw holes through a flange: nothing of the layer above is near them, but they lie in the part."""
    plot = Plotter()
    for height in range(6):
        plot.layer()
        if skirt and height == 0:
            plot.square(18.0, HOLD)
        if height >= foot:
            small_box(plot)
            continue
        plot.square(14.0, OUTLINE)
        plot.square(13.6, INNER)
        for at in (42.0, 58.0):
            plot.circle(2.4, INNER, at=at)
            plot.circle(2.0, OUTLINE, at=at)
        for x in (37.0, 38.0, 47.0, 48.0, 49.0, 50.0, 51.0, 52.0, 62.0, 63.0):
            plot.line([(x, 37.0), (x, 63.0)], INFILL)
    assert plot.wrong() == []


@pytest.mark.parametrize("walls", [1, 2, 3])
@pytest.mark.parametrize("brim", [0, 3])
def test_a_skirt_around_part_and_supports_is_no_foot(walls: int, brim: int) -> None:
    """Lines of supports lie in the skirt as fill does in a foot, but the part has fill of its own."""
    plot = Plotter()
    for height in range(6):
        plot.layer()
        halves = [(29.0, HOLD), (28.6, HOLD)] + [(10.4 + 0.4 * ring, HOLD) for ring in range(brim)]
        for half, meant in halves if height == 0 else ():
            plot.square(half, meant)
        for wall in range(walls):
            plot.square(10.0 - 0.4 * wall, INNER if wall else OUTLINE)
        plot.zigzag(9.6 - 0.4 * walls, 0.42, SOLID)
        for at in (31.0, 69.0):
            plot.zigzag(6.0, 1.0, SUPPORT, at=at)
    assert plot.wrong() == []


def test_a_foot_around_a_hole_with_an_island_is_no_skirt() -> None:
    plot = Plotter()
    for height in range(6):
        plot.layer()
        half = 18.0 if height == 0 else 14.0
        for wall, meant in ((half, OUTLINE), (half - 0.4, INNER), (10.4, INNER), (10.0, OUTLINE)):
            plot.square(wall, meant)
        edges = (half - 0.8, 10.8)
        for step in range(1 + int((edges[0] - edges[1]) / 1.2)):
            for x in (50.0 - edges[0] + 1.2 * step, 50.0 + edges[1] + 1.2 * step):
                plot.line([(x, 50.0 - edges[0]), (x, 50.0 + edges[0])], INFILL)
        small_box(plot)
    assert plot.wrong() == []


def test_raft_below_the_part() -> None:
    plot = Plotter()
    for _ in range(3):
        plot.layer()
        plot.zigzag(14.0, 1.0, HOLD)
    for _ in range(4):
        box(plot.layer(), 0.42, SOLID)
    assert plot.wrong() == []


def test_single_bead_walls_and_lines_outside() -> None:
    plot = Plotter()
    for height in range(6):
        plot.layer()
        plot.square(10.0, OUTLINE)
        if height > 3:
            plot.line([(70.0, 40.0), (75.0, 48.0)], OUTLINE)  # a wall of one bead
            plot.zigzag(4.0, 2.0, SUPPORT, at=90.0)
    assert plot.wrong() == []


@pytest.mark.parametrize("supported", [1, 2, 3, 4, 8])
def test_lines_beside_the_part_are_hold_down_only_where_they_do_not_go_on(supported: int) -> None:
    """Supports that stand on the plate are told from there on; lines of no more than three layers hold down."""
    plot = Plotter()
    for height in range(8):
        box(plot.layer(), 0.42, SOLID)
        if height < supported:
            plot.zigzag(4.0, 2.0, HOLD if supported <= 3 else SUPPORT, at=70.0)
    assert plot.wrong() == []


def test_spiral_prelude_and_coda() -> None:
    plot = Plotter()
    plot.line([(0.0, 5.0), (60.0, 5.0)], PURGE)
    box(plot.layer(), 0.42, SOLID)
    for _ in range(3):
        plot.layer(spiral=True)
        plot.square(10.0, OUTLINE, travel=False)
    moves, layers = plot.done()
    assert plot.wrong() == []
    empty = Layers(*(column[:0] for column in (layers.first_move, layers.height_mm, layers.thickness_mm,
                                               layers.object, layers.is_first, layers.spiral)))  # fmt: skip
    assert not infer_roles(moves, empty, WIDTH).any()


@pytest.mark.parametrize("above", ["spiral", "nothing", "raft"])
def test_a_layer_above_without_loops_says_nothing_of_the_part(above: str) -> None:
    plot = Plotter()
    plot.layer()
    plot.square(20.0, HOLD)
    box(plot, 0.42, SOLID)
    for _ in range(3):
        plot.layer(spiral=above == "spiral")
        if above == "spiral":
            plot.line([(40.0, 40.0), (60.0, 40.0), (60.0, 60.0)], OUTLINE)
        elif above == "raft":
            plot.zigzag(10.0, 2.0, HOLD if len(plot.begins) <= 3 else SUPPORT)
    assert plot.wrong() == []


def test_retraction_without_travel_does_not_part_a_loop() -> None:
    plot = Plotter()
    for _ in range(5):
        plot.layer()
        plot.line([(40.0, 40.0), (60.0, 40.0), (60.0, 60.0)], OUTLINE)
        plot.move(60.0, 60.0, RETRACT)
        plot.move(60.0, 60.0, PRIME)
        plot.line([(60.0, 60.0), (40.0, 60.0), (40.0, 40.0)], OUTLINE, travel=False)
        plot.square(9.6, INNER)
        plot.zigzag(9.2, 2.0, INFILL)
    assert plot.wrong() == []


def test_a_layer_in_parts_gives_roles_to_all(monkeypatch: pytest.MonkeyPatch) -> None:
    plot = Plotter()
    for _ in range(6):
        box(plot.layer(), 0.42, SOLID)
    moves, layers = plot.done()
    monkeypatch.setattr(limits, "PART_BEADS", 20)
    found = infer_roles(moves, layers, WIDTH)
    in_parts = found[layers.first_move[4] :][moves.kind[layers.first_move[4] :] == BEAD]
    assert (in_parts[:8] == np.array([OUTLINE] * 4 + [INNER] * 4)).all()


def test_a_part_of_the_layer_above_does_not_say_what_goes_on_there(monkeypatch: pytest.MonkeyPatch) -> None:
    """Tubes of one bead: four are in the first part of a layer, two in the second."""
    plot = Plotter()
    for _ in range(5):
        plot.layer()
        for at in (10.0, 20.0, 30.0, 40.0, 50.0, 60.0):
            plot.square(4.0, OUTLINE, at=at)
    monkeypatch.setattr(limits, "PART_BEADS", 9)
    assert plot.wrong() == []


def test_all_parts_of_a_first_layer_look_at_the_layer_above(monkeypatch: pytest.MonkeyPatch) -> None:
    """A brim that touches the part is told by what goes on above; it is in the second part of its layer."""
    plot = Plotter()
    for height in range(5):
        plot.layer()
        for at in (20.0, 30.0, 40.0):
            plot.square(4.0, OUTLINE, at=at)
        for half in (8.0, 4.8, 4.4) if height == 0 else ():
            plot.square(half, HOLD, at=70.0)
        plot.square(4.0, OUTLINE, at=70.0)
    monkeypatch.setattr(limits, "PART_BEADS", 9)
    assert plot.wrong() == []


def cut(moves: Moves, width: float) -> tuple[Layer, Cut]:
    """Run the first kernel over all moves as one layer."""
    layer = _space(2 * len(moves) + 4)
    columns = columns_of(Way, moves)
    found = split_chains(columns, np.int64(0), np.int64(len(moves)), width, layer.points, layer.pieces)
    assert found.next_move == len(moves)
    return layer, found


def some_moves(seed: int, n: int = 250) -> Moves:
    """Make loops that do not cross, some in each other, chained or not, with zigzags and stray beads between."""
    rng = np.random.default_rng(seed)
    plot = Plotter().layer()
    for cell in range(9):
        at = np.array([20.0 * (cell % 3), 20.0 * (cell // 3)]) + 5.0
        radius = 8.0
        while radius > 0.3 and rng.random() < 0.85:
            turn = np.sort(rng.uniform(0.0, 2 * math.pi, rng.integers(3, 14)))[:: rng.choice([-1, 1])]
            reach = radius * rng.uniform(0.8, 1.0, len(turn))
            spots = [(float(at[0] + r * math.cos(t)), float(at[1] + r * math.sin(t)))
                     for r, t in zip(reach, turn, strict=True)]  # fmt: skip
            end = rng.random()
            if end < 0.5:
                spots.append(spots[0])
            elif end < 0.8:  # beside its start
                spots.append((spots[0][0] + rng.uniform(-0.7, 0.7), spots[0][1] + rng.uniform(-0.7, 0.7)))
            plot.line(spots, 0, travel=bool(rng.random() < 0.7))
            if end > 0.9:
                plot.move(*spots[0], TRAVEL, speed=float(rng.choice([40.0, 120.0])))
            radius *= rng.uniform(0.1, 0.3)
        if rng.random() < 0.3:
            plot.zigzag(2.0, rng.uniform(0.3, 2.0), 0, float(at[0]))
    return plot.done()[0]


@pytest.mark.parametrize("seed", range(25))
def test_chains_are_cut_as_the_slow_twin_cuts_them(seed: int) -> None:
    moves = some_moves(seed)
    layer, found = cut(moves, WIDTH)
    points, pieces, number = layer.points, layer.pieces, found.pieces
    expected = slow.pieces(moves, WIDTH)
    assert [bool(pieces[p].area) for p in range(number)] == [loop for loop, _ in expected]
    for p, (loop, spots) in enumerate(expected):
        own = points[pieces[p].first : pieces[p].last + 1]
        np.testing.assert_allclose(np.stack([own.x, own.y], 1), spots, atol=1e-6)
        if loop:
            assert pieces[p].area == pytest.approx(slow.shoelace(spots), abs=1e-6)
            assert abs(pieces[p].area) <= Polygon(spots).buffer(0).area + 1e-6 or not Polygon(spots).is_valid


@pytest.mark.parametrize("seed", range(25))
def test_nesting_agrees_with_the_slow_twin_and_with_shapely(seed: int) -> None:
    rng = np.random.default_rng(1000 + seed)
    plot = Plotter().layer()
    for cell in range(12):  # rings in rings, of their own number of corners, in a grid of places
        at, radius = 25.0 * (cell % 4) + 3.0, float(rng.uniform(3.0, 11.0))
        down = 25.0 * (cell // 4)
        while radius > 0.6:
            chords = int(rng.integers(8, 40))
            turn = np.linspace(0.0, 2 * math.pi, chords + 1)[:: rng.choice([-1, 1])] + rng.uniform(0, 6)
            plot.line([(at + radius * math.cos(t), down + radius * math.sin(t)) for t in turn], 0)
            radius = radius * math.cos(math.pi / chords) - float(rng.uniform(0.1, 4.0))
    moves, _ = plot.done()
    layer, cut_up = cut(moves, WIDTH)
    pieces, number = layer.pieces, cut_up.pieces
    nest(cut_up, WIDTH, layer, np.array([10**9]))
    expected = slow.pieces(moves, WIDTH)
    loops = [p for p, (loop, _) in enumerate(expected) if loop]
    assert len(loops) > 20
    found = pieces.parent[:number].tolist()
    shapes = {p: Polygon(expected[p][1]) for p in loops}
    parents = slow.parents(expected)
    for p in loops:
        assert found[p] == parents[p]
        around = [(shapes[q].area, q) for q in loops if q != p and shapes[q].contains(shapes[p])]
        assert found[p] == (min(around)[1] if around else -1)


CROSSING = (
    [(1.0, 5.0), (10.0, -10.0), (20.0, 0.0), (1.1, 6.0), (0.0, 5.0)],
    [(0.95, 5.5), (10.0, 20.0), (20.0, 5.4), (1.2, 5.2), (0.1, 4.9)],
)
"""Loops that cross, each with its end left of all its other points and of its start."""

FAR = [(1.0, 3.0), (1e30, -1e30), (1e30, 1e30), (1.0, 3.0)]
"""A loop so large that where its last side ends comes out at 0, left of it, by rounding."""


@pytest.mark.parametrize("loops", [CROSSING, (FAR, FAR)])
def test_no_loop_lies_within_itself(loops: tuple[list[tuple[float, float]], ...]) -> None:
    """The way from a loop to the loops around it comes to an end, or roles would be searched for ever."""
    plot = Plotter().layer()
    for spots in loops:
        plot.line(spots, 0)
    moves, layers = plot.done()
    layer, cut_up = cut(moves, WIDTH)
    pieces, number = layer.pieces, cut_up.pieces
    assert (pieces.area[:number] != 0.0).all()
    nest(cut_up, WIDTH, layer, np.array([10**9]))
    if loops is CROSSING:
        assert pieces.parent[:number].tolist() == slow.parents(slow.pieces(moves, WIDTH))
    for q in range(number):
        for _ in range(number):
            q = pieces[q].parent if q >= 0 else -1
        assert q == -1
    assert (infer_roles(moves, layers, WIDTH) == np.where(moves.kind == BEAD, OUTLINE, 0)).all()


places = st.one_of(
    st.floats(0, 30, width=32), st.sampled_from([0.0, 5.0, 5.4, 10.0]),
    st.floats(allow_nan=True, allow_infinity=True, width=32),
)  # fmt: skip


@settings(max_examples=150, deadline=None)
@given(
    rows=st.lists(
        st.tuples(places, places, st.sampled_from([0, 1, 1, 1, 1, 2, 3, 4, 5])), min_size=1, max_size=80
    ),
    cuts=st.lists(st.tuples(st.integers(0, 80), st.booleans(), st.booleans()), min_size=1, max_size=8),
    width=st.one_of(st.floats(0.2, 1.0), st.floats(allow_nan=True, allow_infinity=True)),
)
def test_any_moves_get_roles(rows: list, cuts: list, width: float) -> None:
    plot = Plotter()
    cuts = sorted(cuts)
    for x, y, kind in rows:
        plot.move(x, y, kind)
    plot.begins = [min(at, len(rows)) for at, _, _ in cuts]
    plot.spirals = [spiral for _, spiral, _ in cuts]
    plot.objects = np.cumsum([new for _, _, new in cuts]).tolist()
    plot.objects = [number - plot.objects[0] for number in plot.objects]
    moves, layers = plot.done()
    found = infer_roles(moves, layers, width)
    assert found.max() <= PURGE
    assert not found[moves.kind != BEAD].any()
    assert (infer_roles(moves, layers, width) == found).all()
