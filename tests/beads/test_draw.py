"""Masks and pictures: rasters drawn as literals, shapely, a slow twin."""

from __future__ import annotations

import math
from itertools import pairwise

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray

from tests.beads.by_hand import beads_of
from viewer.beads.draw import (
    UNKNOWN_INDEX,
    Grid,
    View,
    draw_lines,
    draw_mask,
    draw_picture,
    nearest_bead,
    palette_index,
    premultiplied,
)
from viewer.beads.section import Beads
from viewer.jit import compiler_is_off

Row = tuple[float, float, float, float, float]
SLOWLY = 20 if compiler_is_off() else 300
WHITE = 0xFFFFFFFF
BLACK = 0xFF000000


def mask_of(rows: list[Row], shape: tuple[int, int], grid: Grid | None = None) -> NDArray[np.uint8]:
    mask = np.zeros(shape, np.uint8)
    draw_mask(mask, beads_of(rows), grid or Grid(0.0, 0.0, 1.0))
    return mask


def drawn(mask: NDArray[np.uint8]) -> list[str]:
    """Return the mask as a person sees it: the row in front is the last line."""
    return ["".join(".#"[cell] for cell in row) for row in mask[::-1]]


# --- masks


def test_a_level_bead() -> None:
    # from (2.5, 2.5) to (7.5, 2.5), 3 wide: the ends reach 1.5, to cells 1 and 8 of the middle row
    assert drawn(mask_of([(2.5, 2.5, 7.5, 2.5, 3.0)], (5, 10))) == [
        "..........",
        ".########.",
        ".########.",
        ".########.",
        "..........",
    ]


def test_a_level_bead_with_round_ends() -> None:
    # 4.8 wide, reach 2.4: at 1 up the half disc reaches sqrt(5.76 - 1) = 2.18, at 2 up sqrt(5.76 - 4) = 1.33
    assert drawn(mask_of([(3.5, 3.5, 5.5, 3.5, 4.8)], (7, 9))) == [
        ".........",
        "..#####..",
        ".#######.",
        ".#######.",
        ".#######.",
        "..#####..",
        ".........",
    ]


def test_a_diagonal_bead() -> None:
    # half a width of 0.8: the two neighbours of the diagonal are 0.71 away and are in, the next 1.41 are not
    assert drawn(mask_of([(1.5, 1.5, 4.5, 4.5, 1.6)], (6, 6))) == [
        "......",
        "...##.",
        "..###.",
        ".###..",
        ".##...",
        "......",
    ]


def test_an_upright_bead_downwards_equals_upwards() -> None:
    up, down = (2.5, 1.5, 2.5, 4.5, 1.2), (2.5, 4.5, 2.5, 1.5, 1.2)
    assert drawn(mask_of([up], (6, 5))) == [".....", "..#..", "..#..", "..#..", "..#..", "....."]
    assert drawn(mask_of([down], (6, 5))) == drawn(mask_of([up], (6, 5)))


def test_a_point_is_a_disc() -> None:
    # reach 2.3: (2, 1) away is 2.24 and in, (2, 2) away is 2.83 and not
    assert drawn(mask_of([(3.5, 3.5, 3.5, 3.5, 4.6)], (7, 7))) == [
        ".......",
        "..###..",
        ".#####.",
        ".#####.",
        ".#####.",
        "..###..",
        ".......",
    ]


def test_a_cell_counts_by_its_centre() -> None:
    # a bead of 0.4 mm between the centres of two rows covers neither; moved by 0.4 it covers one
    assert not mask_of([(0.0, 2.0, 9.0, 2.0, 0.4)], (4, 9)).any()
    assert mask_of([(0.0, 2.4, 9.0, 2.4, 0.4)], (4, 9)).sum(axis=1).tolist() == [0, 0, 9, 0]


def test_origin_and_cell_place_the_grid() -> None:
    mask = mask_of([(-9.75, 20.25, -8.75, 20.25, 0.3)], (3, 5), Grid(-10.5, 19.5, 0.5))
    assert drawn(mask) == [".....", ".###.", "....."]


def test_bits_add_up_to_what_was_there() -> None:
    mask = np.zeros((1, 6), np.uint8)
    beads = beads_of([(0.5, 0.5, 3.5, 0.5, 0.5), (2.5, 0.5, 5.5, 0.5, 0.5)])
    draw_mask(mask, beads, Grid(0.0, 0.0, 1.0), np.array([1, 4], np.uint8))
    assert mask.tolist() == [[1, 1, 5, 5, 4, 4]]
    draw_mask(mask, beads, Grid(0.0, 0.0, 1.0), 8)
    assert mask.tolist() == [[9, 9, 13, 13, 12, 12]]


def test_only_the_window_changes() -> None:
    rows: list[Row] = [(-5.0, -3.0, 40.0, 30.0, 9.0), (20.0, 0.0, 3.0, 29.0, 4.0)]
    whole = mask_of(rows, (30, 40))
    part = np.zeros((30, 40), np.uint8)
    draw_mask(part, beads_of(rows), Grid(0.0, 0.0, 1.0), rows=(5, 17), columns=(8, 33))
    assert np.array_equal(part[5:17, 8:33], whole[5:17, 8:33])
    part[5:17, 8:33] = 0
    assert whole[5:17, 8:33].any()
    assert not part.any()


def test_what_is_not_finite_is_left_out() -> None:
    bad = [
        (math.nan, 1.0, 2.0, 2.0, 1.0), (1.0, 1.0, math.inf, 2.0, 1.0), (1.0, 1.0, 2.0, 2.0, math.inf),
        (1.0, -math.inf, 1.0, math.inf, 1.0), (1.0, 1.0, 2.0, 2.0, math.nan),
    ]  # fmt: skip
    image = np.zeros((5, 5), np.uint32)
    with np.errstate(invalid="ignore"):  # numpy warns of inf - inf where the kernels run as plain Python
        assert not mask_of(bad, (5, 5)).any()
        draw_picture(image, beads_of(bad), np.zeros(5, np.uint8), palette(WHITE), View(0.0, 5.0, 1.0), 1)
    assert not image.any()


place = st.floats(-30.0, 60.0, width=32)
thin = st.floats(0.25, 4.0, width=32)
rows_of_beads = st.lists(
    st.one_of(
        st.tuples(place, place, place, place, st.floats(0.015625, 12.0, width=32)),
        st.builds(lambda x, y, w: (x, y, x, y, w), place, place, thin),  # a point
        st.builds(lambda x, y, end, w: (x, y, x, end, w), place, place, place, thin),  # upright
        st.builds(lambda x, y, end, w: (x, y, end, y, w), place, place, place, thin),  # level
        st.builds(lambda x, y: (x, y, x + 9.0, y + 1e-4, 2.0), place, place),  # nearly level
        st.just((-1e5, -3e4, 1e5, 4e4, 20.0)),  # huge
    ),
    min_size=1,
    max_size=4,
)


@settings(max_examples=SLOWLY, deadline=None)
@given(rows_of_beads, st.sampled_from([0.5, 1.0, 1.7]), st.floats(-5.0, 5.0))
def test_every_cell_against_shapely(rows: list[Row], cell: float, left: float) -> None:
    grid = Grid(left, -2.0, cell)
    height, width = 18, 23
    mask = mask_of(rows, (height, width), grid)
    x = left + (np.arange(width) + 0.5) * cell
    y = -2.0 + (np.arange(height) + 0.5) * cell
    centres = shapely.points(*np.meshgrid(x, y))
    beads = beads_of(rows)
    away = np.full((height, width), np.inf)
    for k in range(len(beads)):
        ends = [
            (float(beads.x0_mm[k]), float(beads.y0_mm[k])),
            (float(beads.x1_mm[k]), float(beads.y1_mm[k])),
        ]
        spine = shapely.Point(ends[0]) if ends[0] == ends[1] else shapely.LineString(ends)
        away = np.minimum(away, shapely.distance(centres, spine) - 0.5 * float(beads.width_mm[k]))
    plain = np.abs(away) > 1e-6
    assert np.array_equal(mask[plain], (away <= 0.0)[plain])


def test_area_of_a_crowd_against_shapely() -> None:
    rng = np.random.default_rng(4)
    rows = [tuple(row) for row in np.column_stack([rng.uniform(2, 18, (60, 4)), rng.uniform(0.3, 0.9, 60)])]
    union = shapely.union_all(
        [shapely.LineString([r[:2], r[2:4]]).buffer(r[4] / 2, quad_segs=64) for r in rows]
    )
    mask = mask_of(rows, (400, 400), Grid(0.0, 0.0, 0.05))
    assert mask.sum() * 0.05**2 == pytest.approx(union.area, rel=0.002)


# --- pictures


def palette(*colours: int) -> NDArray[np.uint32]:
    return np.resize(np.array(colours, np.uint32), 256)


def picture(rows: list[Row], shape: tuple[int, int], view: View, threads: int = 1) -> NDArray[np.uint32]:
    image = np.full(shape, BLACK, np.uint32)
    draw_picture(image, beads_of(rows), np.zeros(len(rows), np.uint8), palette(WHITE), view, threads)
    return image


def levels(image: NDArray[np.uint32]) -> NDArray[np.float64]:
    """Return the share of white, and check that the picture stayed grey and opaque."""
    blue = image & 0xFF
    assert np.array_equal(image, BLACK | blue << 16 | blue << 8 | blue)
    return np.asarray(blue / 255.0)


def test_row_0_is_the_top() -> None:
    image = picture([(1.0, 4.5, 3.0, 4.5, 1.0)], (5, 4), View(0.0, 5.0, 1.0))
    assert levels(image)[0].tolist() == [0.5 + 0.5 / 255, 1, 1, 0.5 + 0.5 / 255]
    assert not levels(image)[1:].any()


def test_edges_have_the_share_that_is_covered() -> None:
    # 1.5 mm wide about y = 2.5, from 1.75 to 3.25: the rows beside the middle one are covered by a quarter
    share = levels(picture([(-9.0, 2.5, 9.0, 2.5, 1.5)], (5, 3), View(0.0, 5.0, 1.0)))
    assert share[:, 1] == pytest.approx([0.0, 0.25, 1.0, 0.25, 0.0], abs=1 / 255)


def test_a_soft_bead_gets_lighter_to_its_sides_as_a_parabola() -> None:
    """A bead 20 pixels wide: of a pixel's weight 0.6 (d / 10.5)^2 is lost, d pixels from the middle line."""
    image = np.full((30, 41), BLACK, np.uint32)
    beads = beads_of([(5.0, 15.0, 35.0, 15.0, 20.0)])
    draw_picture(
        image, beads, np.zeros(1, np.uint8), palette(WHITE), View(0.0, 30.0, 1.0), threads=1, soft=0.6
    )
    away = np.abs(np.arange(30) + 0.5 - 15.0)
    share = np.clip(10.5 - away, 0.0, 1.0) * (1.0 - 0.6 * (away / 10.5) ** 2)
    assert levels(image)[:, 20] == pytest.approx(share, abs=2.0 / 255.0)


def test_a_bead_thinner_than_a_pixel_weighs_its_width() -> None:
    share = levels(picture([(-9.0, 2.5, 9.0, 2.5, 0.2)], (5, 3), View(0.0, 5.0, 1.0)))
    assert share[:, 1] == pytest.approx([0.0, 0.0, 0.2, 0.0, 0.0], abs=1 / 255)


def test_a_thin_line_weighs_the_same_however_it_is_cut() -> None:
    cuts = np.linspace(1.0, 19.0, 61)
    pieces = [(a, 2.5, b, 2.5, 0.3) for a, b in pairwise(cuts)]
    view = View(0.0, 5.0, 1.0)
    whole = levels(picture([(1.0, 2.5, 19.0, 2.5, 0.3)], (5, 20), view))
    assert levels(picture(pieces, (5, 20), view)).sum() == pytest.approx(whole.sum(), rel=0.12)


def test_the_later_bead_lies_on_top() -> None:
    red, blue = 0xFFFF0000, 0xFF0000FF
    rows: list[Row] = [(0.0, 2.5, 5.0, 2.5, 2.0), (2.5, 0.0, 2.5, 5.0, 2.0)]
    for first, last in [(0, 1), (1, 0)]:
        image = np.zeros((5, 5), np.uint32)
        chosen = np.array([first, last], np.uint8)
        draw_picture(image, beads_of(rows), chosen, palette(red, blue), View(0.0, 5.0, 1.0))
        assert image[2, 2] == (red, blue)[last]
        assert image[2, 0] == (red, blue)[first]


def test_a_clear_colour_lets_half_through() -> None:
    clear = premultiplied(np.array([[255, 255, 255, 128]], np.uint8))[0]
    image = np.full((3, 3), BLACK, np.uint32)
    draw_picture(
        image, beads_of([(0, 1.5, 3, 1.5, 9.0)]), np.zeros(1, np.uint8), palette(clear), View(0.0, 3.0, 1.0)
    )
    assert levels(image) == pytest.approx(np.full((3, 3), 128 / 255), abs=1 / 255)


@given(st.integers(0, 255), st.integers(0, 255), st.floats(0.05, 1.2))
def test_no_channel_spills_into_the_next(alpha: int, ground: int, width: float) -> None:
    colour = premultiplied(np.array([[255, 0, 255, alpha]], np.uint8))[0]
    image = np.full((1, 1), 0xFF000000 | ground << 16 | 0 << 8 | ground, np.uint32)
    draw_picture(
        image,
        beads_of([(-5, 0.5, 5, 0.5, width)]),
        np.zeros(1, np.uint8),
        palette(colour),
        View(0.0, 1.0, 1.0),
        1,
    )
    pixel = int(image[0, 0])
    share = alpha / 255 * min(width, 1.0)
    assert (pixel >> 8) & 0xFF == 0
    assert (pixel >> 24) >= 253
    for shift in (0, 16):
        assert (pixel >> shift) & 0xFF == pytest.approx(255 * share + ground * (1 - share), abs=3)


def slow_share(x: float, y: float, row: Row) -> float:
    """Return the weight of a bead at a pixel's centre, all in pixels."""
    ax, ay, bx, by, width = row
    length = math.hypot(bx - ax, by - ay)
    ux, uy = ((bx - ax) / length, (by - ay) / length) if length else (0.0, 1.0)
    along, across = (x - ax) * ux + (y - ay) * uy, abs((x - ax) * uy - (y - ay) * ux)
    if width >= 1.0:
        spine = min(max(along, 0.0), length)
        away = math.hypot(x - ax - spine * ux, y - ay - spine * uy)
        return min(max(width / 2 + 0.5 - away, 0.0), 1.0)
    overlap = max(min(across + 0.5, width / 2) - max(across - 0.5, -width / 2), 0.0)
    return overlap * max(min(along + 0.5, length) - max(along - 0.5, 0.0), 0.0)


@settings(max_examples=SLOWLY, deadline=None)
@given(rows_of_beads, st.sampled_from([0.3, 1.0, 2.3]), st.integers(1, 3))
def test_pictures_against_the_slow_twin(rows: list[Row], scale: float, threads: int) -> None:
    rows = [row for row in rows if abs(0.5 * row[4] * scale - 0.5) > 1e-3 and abs(row[0]) < 1e4]
    height, width = 21, 37
    got = levels(picture(rows, (height, width), View(-2.0, 15.0, scale), threads))
    for i in range(height):
        for j in range(width):
            want = 0.0
            for x0, y0, x1, y1, wide in rows:
                ends = (
                    (x0 + 2) * scale,
                    (15 - y0) * scale,
                    (x1 + 2) * scale,
                    (15 - y1) * scale,
                    wide * scale,
                )
                share = slow_share(j + 0.5, i + 0.5, ends)
                want = share + want * (1 - share)
            assert got[i, j] == pytest.approx(want, abs=0.004 + 0.004 * len(rows))


def test_far_ends_do_not_move_the_near_one() -> None:
    # a million pixels long, seen at its end: float32 pixel numbers would be off by a sixteenth
    view = View(0.0, 0.02, 1000.0)
    image = picture([(0.0, 0.0105, 1000.0, 0.0105, 0.0055)], (20, 20), view, 1)
    twin = [slow_share(10.5, i + 0.5, (0.0, 9.5, 1e6, 9.5, 5.5)) for i in range(20)]
    assert levels(image)[:, 10] == pytest.approx(twin, abs=0.01)


def test_bands_give_the_same_picture() -> None:
    rng = np.random.default_rng(2)
    rows = [tuple(row) for row in np.column_stack([rng.uniform(-5, 45, (200, 4)), rng.uniform(0.1, 3, 200)])]
    view = View(0.0, 40.0, 2.0)
    one = picture(rows, (81, 80), view, 1)
    assert len(np.unique(one)) > 50
    for threads in (2, 3, 7):
        assert np.array_equal(picture(rows, (81, 80), view, threads), one)


def test_lines_have_their_width_in_pixels() -> None:
    ends = tuple(np.array([value], np.float32) for value in (-9.0, 0.25, 9.0, 0.25))
    for scale in (2.0, 10.0):
        image = np.full((9, 9), BLACK, np.uint32)
        draw_lines(image, ends, 1.0, WHITE, View(0.0, 0.25 + 4.5 / scale, scale))
        assert levels(image).sum(axis=1) == pytest.approx([0, 0, 0, 0, 9, 0, 0, 0, 0], abs=0.05)


def test_what_cannot_be_drawn_into_is_refused() -> None:
    beads = beads_of([(0, 0, 1, 1, 1)])
    one = np.zeros(1, np.uint8)
    view, grid = View(0.0, 1.0, 1.0), Grid(0.0, 0.0, 1.0)
    with pytest.raises(ValueError, match="C-contiguous uint32"):
        draw_picture(np.zeros((4, 8), np.uint32)[:, ::2], beads, one, palette(WHITE), view)
    with pytest.raises(ValueError, match="C-contiguous uint8"):
        draw_mask(np.zeros((4, 4), np.int64), beads, grid)  # type: ignore[arg-type]
    with pytest.raises(ValueError, match="2 entries for 1"):
        draw_mask(np.zeros((4, 4), np.uint8), beads, grid, np.ones(2, np.uint8))
    with pytest.raises(ValueError, match="7 entries for 256"):
        draw_picture(np.zeros((4, 4), np.uint32), beads, one, palette(WHITE)[:7], view)


# --- colours and picking


def test_premultiplied_colours() -> None:
    rgba = np.array([[255, 128, 0, 255], [255, 128, 0, 0], [200, 100, 50, 51]], np.uint8)
    assert [hex(c) for c in premultiplied(rgba)] == ["0xffff8000", "0x0", "0x3328140a"]


def test_values_are_spread_over_the_palette() -> None:
    assert palette_index([-1.0, 0.0, 5.0, 10.0, 99.0, math.nan], 0.0, 10.0).tolist() == [
        0, 0, 127, 254, 254, UNKNOWN_INDEX,
    ]  # fmt: skip
    assert palette_index([3.0, math.nan], 3.0, 3.0).tolist() == [0, UNKNOWN_INDEX]


def test_the_later_of_two_beads_under_the_pointer() -> None:
    beads = beads_of([(0, 0, 10, 0, 2.0), (5, -5, 5, 5, 2.0), (20, 0, 30, 0, 2.0)])
    assert nearest_bead(5.5, 0.0, beads) == (1, 0.0)
    assert nearest_bead(2.0, 0.5, beads) == (0, 0.0)
    found, away = nearest_bead(17.0, 0.0, beads)
    assert (found, away) == (2, pytest.approx(2.0))
    assert nearest_bead(0.0, 0.0, Beads.joined([])) == (-1, math.inf)


@settings(max_examples=SLOWLY, deadline=None)
@given(rows_of_beads, st.floats(-40.0, 80.0), st.floats(-40.0, 80.0))
def test_nearest_against_shapely(rows: list[Row], x: float, y: float) -> None:
    beads = beads_of(rows)
    table = np.column_stack([beads.x0_mm, beads.y0_mm, beads.x1_mm, beads.y1_mm]).astype(float)
    lines = shapely.linestrings(table.reshape(-1, 2, 2))
    away = np.maximum(shapely.distance(lines, shapely.Point(x, y)) - 0.5 * beads.width_mm.astype(float), 0.0)
    found, distance = nearest_bead(x, y, beads)
    assert distance == pytest.approx(away.min(), abs=1e-6)
    assert away[found] == pytest.approx(away.min(), abs=1e-6)
    assert found >= max(np.flatnonzero(away == 0.0), default=0)
