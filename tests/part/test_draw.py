"""The whole part: literals, closed forms and brute force for what the kernels draw, cull and pick."""

from __future__ import annotations

import math

import numpy as np
import pytest

from tests.beads.by_hand import Run, program_of
from viewer.arrays import F64
from viewer.cards.printer import Plate
from viewer.layers.layers import INFILL, OUTLINE, ROLE_NAMES, SOLID
from viewer.part.draw import Choice, Drawn, Look, draw_depth, draw_part
from viewer.part.kernels.columns import HEIGHT_GROWTH
from viewer.part.solid import Part, part_of
from viewer.part.view import Cut, PartView, fitted, named_view, plane_of
from viewer.part.visible import quick_of, visible_rows
from viewer.program import open_program

ABOVE = PartView(0.0, 90.0, 4.0, (2.0, 0.0, 0.0))


def part_by_hand(*runs: Run) -> Part:
    return part_of(*program_of(runs), 1.75)


def letters(drawn: Drawn) -> list[str]:
    """Return the picture with a letter for each bead, '.' where nothing lies."""
    rows, columns = drawn.bead.shape
    at = [[drawn.bead_at(row, column) for column in range(columns)] for row in range(rows)]
    return ["".join("." if bead is None else chr(ord("a") + bead) for bead in line) for line in at]


def test_one_bead_seen_from_above() -> None:
    # 4 mm long, 1.3 mm wide, 4 pixels in a mm: 2.6 pixels to either side and beyond each end
    part = part_by_hand(Run([(0.0, 0.0), (4.0, 0.0)], width=1.3))
    assert letters(draw_depth(part, ABOVE, (7, 25), Choice())) == [
        ".........................",
        "...aaaaaaaaaaaaaaaaaaa...",
        "..aaaaaaaaaaaaaaaaaaaaa..",
        "..aaaaaaaaaaaaaaaaaaaaa..",
        "..aaaaaaaaaaaaaaaaaaaaa..",
        "...aaaaaaaaaaaaaaaaaaa...",
        ".........................",
    ]


CROSSING = (Run([(0.0, 0.0), (4.0, 0.0)], 0.2, 0.7), Run([(2.0, -1.0), (2.0, 1.0)], 0.4, 0.7))


def test_of_two_crossing_beads_the_nearer_one_is_seen() -> None:
    part, size = part_by_hand(*CROSSING), (11, 23)
    above = [
        "...........b...........",
        "..........bbb..........",
        "..........bbb..........",
        "..........bbb..........",
        "...aaaaaaabbbaaaaaaa...",
        "..aaaaaaaabbbaaaaaaaa..",
        "...aaaaaaabbbaaaaaaa...",
        "..........bbb..........",
        "..........bbb..........",
        "..........bbb..........",
        "...........b...........",
    ]
    assert letters(draw_depth(part, ABOVE, size, Choice())) == above
    below = [line.replace("abbba", "aaaaa") for line in above]
    assert letters(draw_depth(part, PartView(0.0, -90.0, 4.0, (2.0, 0.0, 0.0)), size, Choice())) == below


def test_a_tilted_bead_is_as_high_as_its_ellipse() -> None:
    """A level bead across the view covers 2 c sideways of its path, c^2 = a^2 sin^2 + b^2 cos^2."""
    part = part_by_hand(Run([(-40.0, 0.0), (40.0, 0.0)], width=2.0, thickness=0.5, top=0.5))
    a, b = 1.0, 0.25 * HEIGHT_GROWTH
    for tilt in (0.0, 17.0, 40.0, 75.0, 90.0, -30.0):
        drawn = draw_depth(part, PartView(0.0, tilt, 50.0), (201, 5), Choice())
        sin, cos = math.sin(math.radians(tilt)), math.cos(math.radians(tilt))
        high = int((drawn.bead[:, 2] >= 0).sum())
        assert high == pytest.approx(2.0 * 50.0 * math.hypot(a * sin, b * cos), abs=1.01)


def box(size: float, layers: int) -> Part:
    corners = [(0.0, 0.0), (size, 0.0), (size, size), (0.0, size), (0.0, 0.0)]
    return part_by_hand(*(Run(corners, 0.2 * (k + 1), 0.5, role=OUTLINE) for k in range(layers)))


@pytest.mark.parametrize(
    ("turn", "tilt"), [(32.0, 32.0), (0.0, 0.0), (90.0, 10.0), (200.0, 60.0), (300.0, -45.0)]
)
def test_the_edges_of_a_box_are_where_the_projection_says(turn: float, tilt: float) -> None:
    """The farthest point of a body in a direction d: that of its axis, and sqrt(a^2 (dx^2 + dy^2) + b^2 dz^2) beyond."""
    part, size = box(10.0, 20), (301, 301)
    view = PartView(turn, tilt, 15.0, (5.0, 5.0, 2.0))
    rows, columns = np.nonzero(draw_depth(part, view, size, Choice()).bead >= 0)
    a, b = 0.25, 0.1 * HEIGHT_GROWTH
    places = np.array([(x, y, z) for x in (0, 10) for y in (0, 10) for z in (0.1, 3.9)]) - view.middle

    def reach(d: F64) -> float:
        return 15.0 * float(
            (places @ d).max() + math.sqrt(a * a * (d[0] ** 2 + d[1] ** 2) + b * b * d[2] ** 2)
        )

    right, up = np.array(view.right), np.array(view.up)
    assert columns.max() - 150 == pytest.approx(reach(right), abs=1.0)
    assert 150 - columns.min() == pytest.approx(reach(-right), abs=1.0)
    assert 150 - rows.min() == pytest.approx(reach(up), abs=1.0)
    assert rows.max() - 150 == pytest.approx(reach(-up), abs=1.0)


def test_a_wall_has_no_holes() -> None:
    """From every side and at every zoom the body of a box hides what lies behind it: no pixel of it is empty."""
    part = box(10.0, 30)
    for turn in range(0, 360, 40):
        for scale in (2.0, 7.3, 31.0):
            view = PartView(float(turn), 0.0, scale, (5.0, 5.0, 3.0))
            half = int(2.0 * scale)
            assert (draw_depth(part, view, (2 * half + 1, 2 * half + 1), Choice()).bead >= 0).all()


def test_the_number_of_threads_changes_nothing() -> None:
    part, view = box(10.0, 20), PartView(32.0, 32.0, 15.0, (5.0, 5.0, 2.0))
    one, two, three = (draw_depth(part, view, (121, 163), Choice(), threads=n) for n in (1, 2, 3))
    for other in (two, three):
        assert (one.bead == other.bead).all() and (one.depth == other.depth).all()


def block(holes: list[tuple[int, int]]) -> Part:
    """Return a solid block: two loops a layer about crossing lines, some of which are left out."""
    runs = []
    for layer in range(14):
        top = 0.2 * (layer + 1)
        for low, high in ((0.0, 5.2), (0.4, 4.8)):
            corners = [(low, low), (high, low), (high, high), (low, high), (low, low)]
            runs.append(Run(corners, top, 0.45, role=OUTLINE))
        for line in range(10):
            if (layer, line) not in holes:
                at = 0.8 + 0.4 * line
                ends = [(at, 0.75), (at, 4.45)] if layer % 2 else [(0.75, at), (4.45, at)]
                runs.append(Run(ends, top, 0.45, role=SOLID))
    return part_by_hand(*runs)


def escapes(part: Part, bead: int, directions: F64) -> bool:
    """Whether any of many rays from a bead's surface gets out: walked in small steps, by distances to all axes."""
    start = np.array([part.x_mm[part.start], part.y_mm[part.start], part.z_mm[part.end]], np.float64).T
    end = np.array([part.x_mm[part.end], part.y_mm[part.end], part.z_mm[part.end]], np.float64).T
    half_z = 0.5 * part.thickness_mm.astype(np.float64)
    start[:, 2] -= half_z
    end[:, 2] -= half_z
    a, b = 0.5 * part.width_mm[bead], half_z[bead] * HEIGHT_GROWTH
    squeeze = np.array([1.0, 1.0, a / b])  # in which beads are round
    others = np.arange(len(part)) != bead
    p, along = (start * squeeze)[others], ((end - start) * squeeze)[others]
    for share in np.linspace(0.0, 1.0, 14):
        middle = start[bead] + share * (end[bead] - start[bead])
        for d in directions:
            steps = np.arange(0.0, 4.0, 0.05)[:, None]
            ray = (middle + d * np.array([a, a, b]) + steps * d) * squeeze
            t = np.clip(((ray[:, None] - p) * along).sum(2) / (along * along).sum(1), 0.0, 1.0)
            off = np.linalg.norm(ray[:, None] - p - t[..., None] * along, axis=2)
            if (off > a).all():
                return True
    return False


def test_no_bead_that_light_comes_to_is_left_out() -> None:
    chance = np.random.default_rng(14)
    directions = chance.normal(size=(12, 3))
    directions /= np.linalg.norm(directions, axis=1)[:, None]
    left_out = 0
    for _ in range(3):
        holes = [(int(chance.integers(14)), int(chance.integers(10))) for _ in range(4)]
        part = block(holes)
        culled = np.setdiff1d(part.rows, visible_rows(part))
        left_out += len(culled)
        for bead in chance.choice(culled, min(len(culled), 6), replace=False):
            assert not escapes(part, int(bead), directions)
    assert left_out > 0


def test_culled_beads_are_hidden_from_all_directions() -> None:
    part = block([(13, 5), (6, 6)])
    culled = np.setdiff1d(part.rows, visible_rows(part))
    assert len(culled) > 20
    for turn in range(0, 360, 24):
        for tilt in (-70.0, -20.0, 5.0, 35.0, 80.0):
            view = fitted(PartView(turn, tilt), part.low, part.high, (240, 240))
            seen = draw_depth(part, view, (240, 240), Choice()).seen()
            assert not np.isin(culled, seen).any()


def test_air_comes_into_an_open_box_but_not_into_a_closed_one() -> None:
    walls = [
        Run([(0.0, 0.0), (6.0, 0.0), (6.0, 6.0), (0.0, 6.0), (0.0, 0.0)], 0.2 * k, 0.5) for k in range(1, 12)
    ]
    inside = [Run([(2.0, 3.0), (4.0, 3.0)], 1.2, 0.5, role=INFILL)]

    def sheet(top: float) -> list[Run]:
        return [Run([(0.0, 0.4 * k), (6.0, 0.4 * k)], top, 0.5) for k in range(16)]

    lid = [run for k in range(5) for run in sheet(2.2 + 0.2 * (k + 1))]
    floor = [run for k in range(1, 6) for run in sheet(0.2 * k)]
    ordered = sorted([*floor, *walls, *inside], key=lambda run: run.top)
    opened, closed = part_by_hand(*ordered), part_by_hand(*ordered, *lid)
    bead = int(np.flatnonzero(opened.roles[opened.end] == INFILL)[0])
    assert bead in visible_rows(opened)
    assert bead not in visible_rows(closed)


def test_what_is_picked_is_what_is_drawn() -> None:
    """Every pixel's bead, drawn alone, covers that pixel, and no other bead alone lies nearer there."""
    chance = np.random.default_rng(5)
    runs = [Run(chance.uniform(0, 8, (2, 2)).tolist(), 0.2 * (k + 1), 0.6) for k in range(12)]
    part, view = part_by_hand(*runs), PartView(25.0, 40.0, 8.0, (4.0, 4.0, 1.0))
    drawn = draw_depth(part, view, (90, 110), Choice())
    alone = [draw_depth(part, view, (90, 110), Choice(), rows=part.rows[k : k + 1]) for k in range(len(part))]
    depths = np.array([one.depth for one in alone])
    assert len(drawn.seen()) > 6
    assert (drawn.depth == depths.max(axis=0)).all()
    for row, column in zip(*np.nonzero(drawn.bead >= 0), strict=True):
        bead = drawn.bead_at(int(row), int(column))
        assert bead is not None and depths[bead, row, column] == drawn.depth[row, column]
    assert drawn.bead_at(-1, 0) is None and drawn.bead_at(0, 110) is None


def test_a_cut_takes_away_what_lies_before_it() -> None:
    part, view, size = box(10.0, 10), PartView(0.0, 90.0, 10.0, (5.0, 5.0, 0.0)), (141, 141)
    columns = np.nonzero(draw_depth(part, view, size, Choice(cut=Cut("x", 4.0))).bead >= 0)[1]
    assert columns.max() - 70 == pytest.approx(10.0 * (4.0 + 0.25 - 5.0), abs=1.0)  # a round end stays
    rows = np.nonzero(draw_depth(part, view, size, Choice(cut=Cut("y", 6.0))).bead >= 0)[0]
    assert rows.max() - 70 == pytest.approx(-10.0 * (6.0 - 0.25 - 5.0), abs=1.0)
    plane = plane_of(Cut("eye", 0.5), view, part.low, part.high)
    assert (plane.x, plane.y, plane.z) == pytest.approx((0.0, 0.0, 1.0), abs=1e-9)
    assert plane.limit == pytest.approx(1.5)


def test_hidden_roles_and_layers_above_are_not_drawn() -> None:
    part = part_by_hand(Run([(0.0, 0.0), (4.0, 0.0)], 0.2, 0.7, role=OUTLINE), *CROSSING[1:])
    assert draw_depth(part, ABOVE, (11, 23), Choice(hidden=frozenset({OUTLINE}))).seen().tolist() == [1]
    assert draw_depth(part, ABOVE, (11, 23), Choice(upto=1)).seen().tolist() == [0]


GROUND = np.array([[250] * 3, [240] * 3, [200] * 3, [90] * 3, [0, 255, 0]], np.uint8)


def look(part: Part, glow: float = 0.0) -> Look:
    return Look(np.zeros(len(part), np.uint8), np.full((256, 3), 120, np.uint8), GROUND, 0.0, glow)


def test_light_comes_from_the_left_and_from_above() -> None:
    part = box(10.0, 40)
    image, drawn = draw_part(
        part, look(part), PartView(45.0, 30.0, 10.0, (5.0, 5.0, 4.0)), (200, 200), finer=2
    )
    assert drawn.bead.shape == (400, 400)
    left, right = image[110:130, 60:80, :3].mean(), image[110:130, 120:140, :3].mean()
    assert left > right + 15.0
    assert (image[0, 0] == (250, 250, 250, 255)).all()


def test_plate_layer_on_show_and_ghost_are_told_apart() -> None:
    part, plate = box(10.0, 10), Plate(width_mm=20.0, depth_mm=20.0, left_mm=-5.0, front_mm=-5.0)
    view, size = PartView(0.0, 90.0, 5.0, (5.0, 5.0, 0.0)), (140, 140)
    plain, _ = draw_part(part, look(part), view, size, plate=plate)
    assert tuple(plain[70, 27, :3]) in ((240, 240, 240), (200, 200, 200))  # plate, or a line of its grid
    lit, _ = draw_part(part, look(part, 0.5), view, size, Choice(lit=(36, 40)), plate=plate)
    green = lit.astype(int)[..., 1] - lit[..., 0]
    assert (green > 40).any() and not (plain.astype(int)[..., 1] - plain[..., 0]).any()
    ghost, _ = draw_part(part, look(part), view, size, Choice(upto=0, ghost=True), plate=plate)
    none, _ = draw_part(part, look(part), view, size, Choice(upto=0), plate=plate)
    assert 0 < (ghost != none).any(axis=2).sum() < none[..., 0].size / 4


def test_while_turning_some_layers_stand_for_all() -> None:
    runs = [Run([(0.0, 0.0), (5.0, 0.0)], 0.2 * (k + 1), 0.5) for k in range(12)]
    moves, layers, roles = program_of(runs)
    part = part_of(moves, layers, roles, 1.75)
    quick = quick_of(part, layers, part.rows, most=4)
    assert quick.every == 3 and sorted(quick.rows.rows.tolist()) == [2, 5, 8, 11]
    assert quick.part.thickness_mm.tolist() == pytest.approx([0.2, 0.4, *[0.6] * 10])
    assert quick_of(part, layers, part.rows).every == 1


def test_views_zoom_at_the_pointer_and_fit() -> None:
    view = named_view("corner").zoomed(1.0)
    closer = view.zoomed(2.0, 30.0, -20.0)
    under = view.moved(30.0 / view.px_per_mm, -20.0 / view.px_per_mm).middle
    row, column, _ = closer.place(under, (201, 201))
    assert (row - 100.0, column - 100.0) == pytest.approx((20.0, 30.0))
    assert view.turned(370.0, 95.0).turn_deg == 10.0 and view.turned(0.0, 95.0).tilt_deg == 90.0
    fit = fitted(view, (0.0, 0.0, 0.0), (30.0, 20.0, 10.0), (300, 400))
    spots = [fit.place((x, y, z), (300, 400)) for x in (0.0, 30.0) for y in (0.0, 20.0) for z in (0.0, 10.0)]
    assert all(0.0 <= row <= 299.0 and 0.0 <= column <= 399.0 for row, column, _ in spots)


def test_the_plate_is_as_bright_from_a_low_eye_and_a_wall_is_lit_from_below() -> None:
    part, plate = box(10.0, 30), Plate(width_mm=200.0, depth_mm=200.0, left_mm=-90.0, front_mm=-90.0)
    flat, _ = draw_part(part, look(part), PartView(0.0, 6.0, 8.0, (5.0, 5.0, 3.0)), (120, 300), plate=plate)
    assert np.isin(flat[60, 20:60, :3], (200, 240)).all()  # plate or grid: a steep plane is no edge
    above, below = (
        draw_part(part, look(part), PartView(0.0, tilt, 8.0, (5.0, 5.0, 3.0)), (120, 120))[0][
            55:65, 50:70, :3
        ]
        for tilt in (20.0, -20.0)
    )
    assert below.mean() > 0.9 * above.mean()


def test_the_frame_holds_hold_down_but_not_purge() -> None:
    program = open_program("sample_programs/radiator_knob_arcs.gcode")
    part = part_of(program.moves, program.layers, program.roles, program.filament_diameter_mm)
    names = [ROLE_NAMES[role] for role in program.roles[part.end].tolist()]
    x = program.moves.x_mm[part.end]
    held = x[[name == "hold-down" for name in names]]
    assert part.low[0] < held.min() < held.max() < part.high[0]
    assert "purge" in names and (part.lowest, part.highest) != (part.low, part.high)
