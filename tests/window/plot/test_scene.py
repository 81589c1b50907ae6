"""What the layer plot draws, as arrays: values, spans, moments, pictures; without a window."""

from __future__ import annotations

import math
from dataclasses import replace
from pathlib import Path
from types import SimpleNamespace
from typing import get_args

import numpy as np
import pytest

from viewer.beads.draw import UNKNOWN_INDEX, View
from viewer.checks.finding import Finding, Severity
from viewer.checks.run import Report
from viewer.layers.layers import ROLE_NAMES
from viewer.program import Program, open_program
from viewer.read.moves import BEAD, RETRACT
from viewer.shown.pictures.bead_values import (
    Ranges,
    round_step,
    span_of,
    values_of,
)
from viewer.shown.pictures.colours import role_rgba, ui
from viewer.shown.pictures.layer_picture import draw_below, draw_scene
from viewer.shown.pictures.legend_texts import key_text
from viewer.shown.pictures.scene import build_scene, cut_at, whole_layer
from viewer.shown.window.model.view_state import COLOURINGS, Colouring, Shown, ViewState
from viewer.shown.window.plot.drawing import Drawing, PictureRequest
from viewer.shown.window.plot.layer_texts import (
    drawn_marks,
    finding_marks,
    layer_text,
    move_text,
    notice_text,
    outline_of,
)
from viewer.why.ramps import braking_share, lost_share, share_of_path

SAMPLES = Path(__file__).parents[3] / "sample_programs"
ALL = frozenset(get_args(Shown))
NONE: frozenset[Shown] = frozenset()

TWO_LAYERS = """; Quayside Repair Workshop: drawer glide, printer Heron
G21
G90
M83
G28
G1 Z0.2 F600
G1 X10 Y10 F6000
; role: outline
G1 X30 Y10 E0.7 F1200
G1 X30 Y20 E0.35
G1 E-0.8 F2100
G1 X10 Y20 F9000
G1 E0.8 F2100
; role: infill
G1 X10 Y12 E0.28 F2400
G1 Z0.4 F600
G1 X12 Y12 F6000
; role: outline
G1 X28 Y12 E0.56 F1200
G1 X28 Y18 E0.21
M104 S0
M84
"""


@pytest.fixture(scope="module")
def two(tmp_path_factory: pytest.TempPathFactory) -> Program:
    path = tmp_path_factory.mktemp("scene") / "drawer_glide.gcode"
    path.write_text(TWO_LAYERS)
    return open_program(path)


@pytest.fixture(scope="module")
def tray() -> Program:
    return open_program(SAMPLES / "tap_washer_tray.gcode")


def one_move(length: float, u: float, v: float, w: float, a: float) -> tuple[Program, float]:
    """A move of trapezoid speed, followed by a move that begins with w, and its time."""
    rise, fall = (v * v - u * u) / (2 * a), (v * v - w * w) / (2 * a)
    seconds = (v - u) / a + (v - w) / a + (length - rise - fall) / v
    moves = SimpleNamespace(kind=np.array([1, 1], np.uint8), length_mm=np.array([length, 1.0], np.float32))
    timing = SimpleNamespace(
        time_s=np.array([seconds, 1.0], np.float32),
        entry_mm_s=np.array([u, w], np.float32),
        peak_mm_s=np.array([v, w], np.float32),
    )
    return SimpleNamespace(moves=moves, timing=timing), seconds  # type: ignore[return-value]


def test_braking_share_of_trapezoid_and_triangle() -> None:
    """K. Lynch, F. Park, Modern Robotics (2017), 9.2.2.2: T = d/v + v/a, else T = 2 sqrt(d/a)."""
    program, seconds = one_move(100.0, 0.0, 50.0, 0.0, 1000.0)
    assert seconds == pytest.approx(100 / 50 + 50 / 1000)
    assert braking_share(program, np.array([0]))[0] == pytest.approx(2 * (50 / 1000) / seconds, rel=2e-3)
    triangle, seconds = one_move(1.0, 0.0, math.sqrt(1000.0), 0.0, 1000.0)
    assert seconds == pytest.approx(2 * math.sqrt(1.0 / 1000.0))
    assert braking_share(triangle, np.array([0]))[0] == pytest.approx(1.0, abs=1e-3)
    steady, _ = one_move(10.0, 40.0, 40.0, 40.0, 1000.0)
    assert braking_share(steady, np.array([0]))[0] == 0.0


@pytest.mark.parametrize(
    "shape", [(20.0, 5.0, 60.0, 20.0, 800.0), (3.0, 0.0, 30.0, 10.0, 700.0), (5.0, 9.0, 9.0, 9.0, 1.0)]
)
def test_share_of_path_follows_the_speed(shape: tuple[float, ...]) -> None:
    """Against the speed summed up in 20,000 steps."""
    length, u, v, w, a = shape
    program, seconds = one_move(*shape)
    step = seconds / 20_000
    clock = (np.arange(20_000) + 0.5) * step
    speed = np.minimum(np.minimum(u + a * clock, v), w + a * (seconds - clock))
    path = np.concatenate([[0.0], np.cumsum(speed * step)])
    assert path[-1] == pytest.approx(length, rel=1e-3)
    for k in range(0, 20_001, 2_500):
        assert share_of_path(program, 0, k * step) == pytest.approx(path[k] / length, abs=2e-3)
    assert share_of_path(program, 0, seconds + 1.0) == 1.0


def test_values_by_hand(two: Program) -> None:
    """The first bead: 0.7 mm of 1.75 mm filament over 20 mm, 0.2 mm thick."""
    row = np.flatnonzero(two.moves.kind == BEAD)[:1]
    area = 0.7 * math.pi * 1.75**2 / 4 / 20.0
    width = (area - math.pi * 0.2**2 / 4) / 0.2 + 0.2
    assert values_of(two, row, "width")[0] == pytest.approx(width, rel=1e-4)
    assert values_of(two, row, "thickness")[0] == pytest.approx(0.2)
    assert values_of(two, row, "speed")[0] == pytest.approx(20.0, rel=1e-3)
    assert values_of(two, row, "flow")[0] == pytest.approx(20.0 * area, rel=1e-3)
    start = two.timing.moments.layer_start_s[0]
    assert values_of(two, row, "time")[0] == pytest.approx(
        two.timing.progress.time_at_move(row)[0] - start, abs=1e-6
    )


def test_when_in_the_layer_agrees_with_the_clock(tray: Program) -> None:
    for number in (1, 7, len(tray.layers)):
        rows = tray.beads_of(number).move.astype(np.intp)
        start = tray.timing.moments.layer_start_s[number - 1]
        expected = np.maximum(tray.timing.progress.time_at_move(rows) - start, 0.0)
        assert values_of(tray, rows, "time") == pytest.approx(expected, abs=1e-3)
        assert (np.diff(values_of(tray, rows, "time")) >= 0).all()


def test_braking_shares_agree_with_the_ledger(tray: Program) -> None:
    """Time lost to speeding up and braking is at most the time in which the speed changes."""
    rows = np.flatnonzero(tray.moves.kind == BEAD)
    changing = float((braking_share(tray, rows) * tray.timing.time_s[rows]).sum())
    lost = float(tray.timing.ledger.by_layer[:, 2].sum())
    assert 0.5 * lost <= changing <= float(tray.timing.time_s[rows].sum())


def test_spans_are_round_and_say_what_lies_beyond() -> None:
    values = np.concatenate([np.linspace(12.0, 88.0, 1000), [900.0], [np.nan]])
    span = span_of(values)
    assert (span.low, span.high) == (0.0, 100.0)
    assert span.above
    assert not span.below
    assert span_of(np.full(50, 0.45)).ticks == (0.45,)
    first_layer_differs = np.array([0.3] + 5000 * [0.2])
    assert (
        span_of(first_layer_differs).high >= 0.3
    )  # a thousandth of the beads, but the only difference there is
    assert span_of(np.array([np.nan])).ticks == (0.0,)
    assert round_step(0.7) == pytest.approx(1.0)
    assert round_step(1.2) == pytest.approx(2.0)
    assert round_step(0.02) == pytest.approx(0.02)


def test_speed_flow_and_width_mean_the_same_in_all_layers(tray: Program) -> None:
    ranges = Ranges(tray)
    for colouring in ("speed", "flow", "width", "thickness"):
        assert ranges.of(colouring, 1) is ranges.of(colouring, 20)
    assert ranges.of("time", 1).high >= ViewState(tray, layer=1).layer_seconds


def test_a_scale_that_is_not_known_yet_is_no_quick_work(tray: Program, two: Program) -> None:
    drawing = Drawing()
    view = View(0.0, 25.0, 10.0)

    def wanted(program: Program, colouring: Colouring) -> PictureRequest:
        return PictureRequest(program, 1, None, colouring, frozenset(), False, view, 20, 20, 1.0)

    def is_quick(program: Program) -> dict[Colouring, bool]:
        return {name: math.isfinite(drawing.weight(wanted(program, name))) for name in COLOURINGS}

    through_all = {"speed", "flow", "width", "thickness", "cause", "program map"}
    at_first = {name: name not in through_all for name in COLOURINGS}
    assert is_quick(tray) == at_first
    for name in COLOURINGS:
        drawing.draw(wanted(tray, name))
        assert is_quick(tray)[name]
    assert is_quick(two) == at_first
    beads = tray.layers.moves_of(1)
    assert drawing.weight(wanted(tray, "flow")) >= beads.stop - beads.start


@pytest.mark.parametrize("colouring", COLOURINGS)
@pytest.mark.parametrize("number", [1, 2])
def test_scene_has_a_colour_for_every_bead(two: Program, colouring: Colouring, number: int) -> None:
    scene = build_scene(two, number, colouring, False, Ranges(two))
    assert len(scene.colours.index) == len(scene.beads) == (3 if number == 1 else 2)
    assert (scene.colours.palette[scene.colours.index] >> 24 == 255).all()
    assert UNKNOWN_INDEX not in scene.colours.index
    assert len(scene.below) == (0 if number == 1 else 3)


def test_scene_by_role_tells_roles_lengths_and_marks(two: Program) -> None:
    scene = build_scene(two, 1, "role", True, Ranges(two))
    assert [(s.name, round(s.length_mm, 3)) for s in scene.colours.key.swatches] == [
        ("outline", 30.0),
        ("infill", 8.0),
    ]
    assert scene.colours.key.swatches[0].rgb == tuple(role_rgba(True)[ROLE_NAMES.index("outline")][:3])
    assert scene.start == (10.0, 10.0)
    assert len(scene.retracts.move) == len(scene.primes.move) == 1
    assert (float(scene.retracts.x1_mm[0]), float(scene.retracts.y1_mm[0])) == (30.0, 20.0)
    assert int(two.moves.kind[scene.retracts.move[0]]) == RETRACT
    names = drawn_marks(scene, whole_layer(two, 1), ALL)
    assert names == ("start of the layer", "retract", "prime", "travel")
    assert drawn_marks(scene, whole_layer(two, 1), NONE) == ("start of the layer",)


def test_purge_comes_with_the_first_layer(tray: Program) -> None:
    first, second = (build_scene(tray, k, "role", False, Ranges(tray)) for k in (1, 2))
    assert first.earlier == int((first.beads.move < tray.layers.first_move[0]).sum()) > 0
    assert "purge" in [swatch.name for swatch in first.colours.key.swatches]
    assert second.earlier == 0
    timed = build_scene(tray, 1, "time", False, Ranges(tray))
    assert (timed.colours.index[: timed.earlier] == UNKNOWN_INDEX).all()


def test_hidden_roles_are_left_out_and_the_picture_says_so(two: Program) -> None:
    infill = ROLE_NAMES.index("infill")
    drawing, request = (
        Drawing(),
        PictureRequest(
            two,
            1,
            None,
            "role",
            NONE,
            False,
            View(0.0, 25.0, 10.0),
            200,
            400,
            1.0,
            hidden=frozenset({infill}),
        ),
    )
    drawn = drawing.draw(request)
    assert infill not in two.roles[drawn.scene.beads.move] and len(drawn.scene.beads) == 2
    assert len(drawn.scene.colours.index) == 2
    assert [s.hidden for s in drawn.scene.colours.key.swatches] == [False, True]
    assert key_text(drawn.scene.colours.key).endswith(": outline 30 mm, infill (hidden)")
    assert drawing.draw(request).scene is drawn.scene
    whole = drawing.draw(replace(request, hidden=frozenset()))
    assert len(whole.scene.beads) == 3 and (whole.image != drawn.image).any()
    state = ViewState(two, layer=1)
    state.show_role(infill, False)
    assert notice_text(state) == "Hidden: infill"
    for role in range(infill, infill + 5):
        state.show_role(role, False)
    assert notice_text(state) == "5 roles hidden"


def test_moments_move_the_nozzle_along_the_program(two: Program) -> None:
    state = ViewState(two, layer=1)
    starts = two.timing.progress.time_at_move(np.arange(len(two.moves)))
    bead = int(np.flatnonzero(two.moves.kind == BEAD)[1])
    begun = float(starts[bead] - two.timing.moments.layer_start_s[0])
    middle = cut_at(two, 1, begun + 0.5 * float(two.timing.time_s[bead]))
    assert middle.move == bead
    assert middle.nozzle is not None
    assert middle.nozzle[0] == pytest.approx(30.0)
    assert middle.nozzle[1] == pytest.approx(15.0, abs=0.2)  # it brakes a little later than it speeds up
    assert not middle.whole
    end = cut_at(two, 1, state.layer_seconds)
    assert end.whole or end.move >= two.layers.first_move[1] - 1
    assert cut_at(two, 1, None).nozzle is None


def picture(
    program: Program, number: int, moment_s: float | None = None, shown: frozenset[Shown] = NONE
) -> np.ndarray:
    """40 x 20 mm from (0, 5), 10 pixels to the mm."""
    scene = build_scene(program, number, "role", False, Ranges(program))
    view = View(0.0, 25.0, 10.0)
    return draw_scene(scene, cut_at(program, number, moment_s), shown, view, (200, 400), 1.0)


def at(image: np.ndarray, x: float, y: float) -> tuple[int, int, int, int]:
    """Alpha, red, green, blue at a place in mm."""
    argb = int(image[int((25.0 - y) * 10.0), int(x * 10.0)])
    return argb >> 24, argb >> 16 & 255, argb >> 8 & 255, argb & 255


def test_picture_has_each_bead_where_it_lies(two: Program) -> None:
    roles = role_rgba(False)
    image = picture(two, 1)
    outline, infill = (tuple(roles[ROLE_NAMES.index(name)][:3]) for name in ("outline", "infill"))
    assert at(image, 20.0, 10.0) == (255, *outline)
    assert at(image, 30.0, 15.0) == (255, *outline)
    assert at(image, 10.0, 16.0) == (255, *infill)
    assert at(image, 20.0, 15.0) == (0, 0, 0, 0)
    assert at(image, 20.0, 20.0) == (0, 0, 0, 0)  # only travel, which is not shown
    assert at(picture(two, 1, shown=frozenset({"travel"})), 20.0, 20.0)[0] > 60


def union_mm2(program: Program, number: int, wider_mm: float = 0.0) -> float:
    """The area of the union of the buffered beads, by shapely."""
    from shapely import LineString, union_all

    beads = program.beads_of(number)
    columns = (beads.x0_mm, beads.y0_mm, beads.x1_mm, beads.y1_mm, beads.width_mm)
    rows = zip(*(column.tolist() for column in columns), strict=True)
    lines = [
        LineString([(a, b), (c, d)]).buffer(0.5 * (w + wider_mm), quad_segs=32) for a, b, c, d, w in rows
    ]
    return float(union_all(lines).area)


def drawn_mm2(program: Program, px_per_mm: float) -> float:
    scene = build_scene(program, 1, "role", False, Ranges(program))
    size = (round(25 * px_per_mm), round(40 * px_per_mm))
    image = draw_scene(scene, whole_layer(program, 1), NONE, View(0.0, 25.0, px_per_mm), size, 1.0)
    return float((image >> 24).sum()) / 255.0 / px_per_mm**2


def test_picture_covers_the_beads_area(two: Program) -> None:
    """Against shapely; beads of less than 2.5 pixels are drawn 0.6 pixels wider, so that no bands appear."""
    assert drawn_mm2(two, 20.0) == pytest.approx(union_mm2(two, 1), rel=0.004)
    assert drawn_mm2(two, 4.0) == pytest.approx(union_mm2(two, 1, wider_mm=0.6 / 4.0), rel=0.02)


def test_beads_after_the_moment_are_faint(two: Program) -> None:
    bead = int(np.flatnonzero(two.moves.kind == BEAD)[1])
    moment = float(two.timing.progress.time_at_move(bead)[0] - two.timing.moments.layer_start_s[0])
    image = picture(two, 1, moment + 0.5 * float(two.timing.time_s[bead]))
    outline = tuple(role_rgba(False)[ROLE_NAMES.index("outline")][:3])
    later = ui(False)["later"]
    assert at(image, 20.0, 10.0) == (255, *outline)
    assert at(image, 30.0, 12.0) == (255, *outline)  # the first half of the bead that is being laid
    assert at(image, 30.0, 18.5) == (255, *later)
    assert at(image, 10.0, 16.0) == (255, *later)


def test_the_layer_below_is_a_shadow(two: Program) -> None:
    """It is the other layer's picture in one colour, and no part of this one's."""
    scene, view = build_scene(two, 2, "role", False, Ranges(two)), View(0.0, 25.0, 10.0)
    shadow = draw_below(scene.below, False, view, (200, 400))
    assert at(shadow, 20.0, 10.0) == (255, *ui(False)["shadow"])
    assert ((shadow >> 24 > 127) == (picture(two, 1) >> 24 > 127)).mean() > 0.998  # edges apart
    assert at(picture(two, 2), 20.0, 10.0)[0] == 0


@pytest.mark.parametrize(
    "text", ["G28\nG1 X10 Y10 F600\nM84\n", "G28\nG1 Z0.2 F600\nM83\nG1 X10 Y10 E0.4 F600\nM84\n"]
)
def test_programs_of_no_or_one_bead(tmp_path: Path, text: str) -> None:
    path = tmp_path / "few.gcode"
    path.write_text(text)
    program = open_program(path)
    number = len(program.layers)
    for colouring in COLOURINGS:
        scene = build_scene(program, number, colouring, True, Ranges(program))
        for moment in (None, 0.0, 1e9):
            image = draw_scene(
                scene,
                cut_at(program, number, moment),
                ALL,
                View(0, 20, 5.0),
                (100, 100),
                1.0,
            )
            assert image.shape == (100, 100)
        assert len(scene.beads) == number
    state = ViewState(program, layer=number)
    assert layer_text(state) == (
        "Layer 1 of 1 · top at 0.2 mm · 0.2 mm thick" if number else "No layer: no bead is laid"
    )


def test_texts_say_what_a_bead_is_and_what_is_left_out(two: Program) -> None:
    bead = int(np.flatnonzero(two.moves.kind == BEAD)[0])
    text = move_text(two, bead)
    assert text.startswith("line 9 · outline · 20.00 mm long · 0.46 mm wide · 20 mm/s reached · 1.68 mm³/s")
    assert move_text(two, bead + 2) == "line 11 · retract · 0.80 mm of filament"
    state = ViewState(two, layer=1)
    assert notice_text(state) == ""
    state.partial = True
    assert "still reading" in notice_text(state).lower()
    state.show_moment(1.0)
    assert "1.0 s of" in notice_text(state)
    outline = outline_of(two, bead)
    assert outline is not None
    assert outline[:2] == ((10.0, 10.0), (30.0, 10.0))
    assert outline_of(two, None) is None
    assert outline_of(two, 10_000) is None


def test_findings_of_this_layer_only_gravest_last(two: Program) -> None:
    def finding(severity: str, layer: int, place: tuple[float, float, float] | None) -> Finding:
        return Finding(
            slug="gaps", severity=Severity(severity), sentence="A gap.", layer=layer, place_mm=place
        )

    found = (
        finding("stop", 1, (1, 2, 0)),
        finding("note", 1, (3, 4, 0)),
        finding("look", 2, (5, 6, 0)),
        finding("look", 1, None),
    )
    state = ViewState(two, layer=1)
    assert finding_marks(state) == ()
    state.show_report(Report(found, ()))
    assert finding_marks(state) == (((3.0, 4.0), "note"), ((1.0, 2.0), "stop"))


def test_lost_shares_agree_with_the_ledger(tray: Program) -> None:
    """What beads lose against the commanded speed is what the ledger has as held back, and as speeding up and braking."""
    kind, z = tray.moves.kind, tray.moves.z_mm
    rows = np.flatnonzero((kind == BEAD) & (np.diff(z, prepend=np.float32(0.0)) == 0.0))
    lost = float((lost_share(tray, rows) * tray.timing.time_s[rows]).sum())
    held, ramps = tray.timing.ledger.by_cause[1:3].tolist()
    assert lost == pytest.approx(held + ramps, rel=1e-3)


@pytest.mark.parametrize("colouring", ["role", "speed"])
def test_lit_roles_keep_their_colours_and_all_others_come_close_to_the_plate(
    tray: Program, colouring: Colouring
) -> None:
    scene = build_scene(tray, 9, colouring, False, Ranges(tray))
    view, size = View(75.0, 135.0, 6.0), (360, 420)
    infill = ROLE_NAMES.index("infill")
    plain, lit = (
        draw_scene(scene, whole_layer(tray, 9), NONE, view, size, 1.0, roles).view(np.uint8).reshape(*size, 4)
        for roles in (frozenset(), frozenset({infill}))
    )
    roles = tray.roles[scene.beads.move]
    x = 0.5 * (scene.beads.x0_mm + scene.beads.x1_mm)
    y = 0.5 * (scene.beads.y0_mm + scene.beads.y1_mm)
    rows = ((135.0 - y) * 6.0).astype(int)
    columns = ((x - 75.0) * 6.0).astype(int)
    inside = (rows > 0) & (rows < size[0]) & (columns > 0) & (columns < size[1])
    plate = np.array(ui(False)["plate"][::-1])
    for chosen, dimmed in ((roles == infill, False), (roles == ROLE_NAMES.index("outline"), True)):
        at = rows[chosen & inside], columns[chosen & inside]
        assert len(at[0]) > 3
        before, after = plain[at][:, :3].astype(int), lit[at][:, :3].astype(int)
        if dimmed:
            far, near = np.abs(before - plate).sum(1), np.abs(after - plate).sum(1)
            assert (near < 0.35 * far).all()
        else:
            assert (before == after).all()
