"""Bands of layers, dearest places, seconds over the plate, speed along the path."""

from __future__ import annotations

import math
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from viewer import Program, open_program
from viewer.read.moves import PRIME, RETRACT
from viewer.timing.limiters import LIMITERS
from viewer.why.along import speed_along
from viewer.why.bands import bands_of
from viewer.why.ledger import bookings_of
from viewer.why.places import KINDS, LENGTHS_MM, dearest_places
from viewer.why.plate_map import plate_map


@pytest.fixture(scope="module")
def knob() -> Program:
    return open_program("sample_programs/radiator_knob_arcs.gcode")


def way_of(program: Program, rows: np.ndarray) -> np.ndarray:
    moves = program.moves
    alone = np.isin(moves.kind[rows], (RETRACT, PRIME))
    return np.where(alone, np.abs(moves.fed_mm[rows]), moves.length_mm[rows]).astype(np.float64)


# ---- bands


def test_bands_are_cut_where_the_level_changes() -> None:
    values = np.array([30.0] * 3 + [5.0] * 12 + [14.0] * 10)
    assert bands_of(values) == ((0, 2), (3, 14), (15, 24))
    assert bands_of(np.full(20, 7.0)) == ((0, 19),)
    assert bands_of(np.zeros(0)) == ()
    assert bands_of(np.array([1.0])) == ((0, 0),)


def test_levels_that_are_nearly_alike_are_one_band() -> None:
    assert bands_of(np.array([10.0] * 10 + [12.0] * 10)) == ((0, 19),)


@given(st.lists(st.floats(0, 1e4), min_size=1, max_size=60))
def test_bands_cover_all_in_order(values: list[float]) -> None:
    bands = bands_of(np.array(values))
    assert [place for lo, hi in bands for place in range(lo, hi + 1)] == list(range(len(values)))


# ---- dearest places


@pytest.mark.parametrize("sample", ["radiator_knob_arcs", "tap_washer_tray", "radiator_dial_two_tools"])
def test_places_add_up_and_are_ranked(sample: str) -> None:
    program = open_program(f"sample_programs/{sample}.gcode")
    places = dearest_places(program)
    assert sum(place.seconds for place in places) == pytest.approx(program.timing.moving_s, abs=1e-6)
    assert sum(place.count for place in places) == np.count_nonzero(program.timing.time_s)
    gains = [place.seconds for place in places]
    assert gains == sorted(gains, reverse=True) and dearest_places(program, 3) == places[:3]
    for place in places:
        move = place.dearest_move
        assert place.line == program.moves.line[move]
        assert place.shortest_mm <= way_of(program, np.array([move]))[0] < place.longest_mm
        assert place.shortest_mm <= place.mean_mm <= place.longest_mm
        assert place.first_layer <= int(program.layers.of_moves(move)) <= place.last_layer
        assert 0.0 <= place.lost_s <= place.seconds


def test_a_place_by_hand(tmp_path: Path) -> None:
    # two layers; the second has four beads of 0.5 mm at a commanded 50 mm/s, which cannot be reached on so short a way
    path = tmp_path / "way.gcode"
    short = "".join(f"G1 X{10 + 0.5 * k} E0.02\n" for k in range(1, 5))
    path.write_text(
        f"M83\n;LAYER:0\n;TYPE:FILL\nG1 X10 Y10 Z0.2 F6000\nG1 X60 E2 F3000\nG1 Y60 E2\n"
        f";LAYER:1\nG1 X10 Y10 Z0.4 F6000\nG1 F3000\n{short}",
        encoding="ascii",
    )
    program = open_program(path)
    beads = [p for p in dearest_places(program) if p.kind in KINDS[:9] and p.longest_mm == LENGTHS_MM[0]]
    assert len(beads) == 1
    place = beads[0]
    assert (place.count, place.first_layer, place.last_layer) == (4, 2, 2)
    assert place.mean_mm == pytest.approx(0.5, rel=1e-5)
    assert place.commanded_mm_s == pytest.approx(50.0, rel=1e-5)
    assert place.mean_mm_s == pytest.approx(2.0 / place.seconds, rel=1e-5)
    assert place.lost_s == pytest.approx(place.seconds - 2.0 / 50.0, rel=1e-4)
    assert place.x_mm == pytest.approx((10.5, 12.0)) and place.y_mm == pytest.approx((10.0, 10.0))


# ---- seconds over the plate


def test_the_map_adds_up(knob: Program) -> None:
    whole = plate_map(knob)
    assert whole.seconds.sum() + whole.beside_s == pytest.approx(knob.timing.moving_s, abs=1e-6)
    layers = [plate_map(knob, number) for number in range(1, len(knob.layers) + 1)]
    rest = (
        knob.timing.time_s[: knob.layers.first_move[0]].sum()
        + knob.timing.time_s[knob.layers.first_move[-1] :].sum()
    )
    summed = sum(one.seconds.sum() + one.beside_s for one in layers)
    assert summed + float(rest) == pytest.approx(knob.timing.moving_s, rel=1e-6)
    assert {one.seconds.shape for one in layers} == {whole.seconds.shape}


def test_a_line_across_cells_by_hand(tmp_path: Path) -> None:
    # 40 mm along X through cells of 2 mm: as much time in each cell; and a diagonal crosses equal stretches of its cells
    path = tmp_path / "way.gcode"
    path.write_text("M83\n;LAYER:0\nG0 X10 Y11 Z0.2 F6000\nM400\nG1 X50 E2 F3000\n", encoding="ascii")
    program = open_program(path)
    found = plate_map(program, 1)
    bead = float(program.timing.time_s[-1])
    across = found.seconds[(11 - int(found.front_mm)) // 2, 1:20]
    assert across == pytest.approx(np.full(19, bead / 20), rel=1e-6)
    assert found.seconds_per_mm2.max() == pytest.approx(found.seconds.max() / 4.0)


def test_a_program_without_beads_has_an_empty_map(tmp_path: Path) -> None:
    path = tmp_path / "way.gcode"
    path.write_text("G1 X50 F3000\n", encoding="ascii")
    program = open_program(path)
    found = plate_map(program)
    assert found.seconds.size == 0 and found.beside_s == program.timing.moving_s


# ---- speed along the path


@pytest.mark.parametrize("sample", ["radiator_knob_arcs", "tap_washer_tray", "radiator_dial_two_tools"])
@pytest.mark.parametrize("card", ["heron", "wren"])
def test_the_area_below_the_speed_is_the_way(sample: str, card: str) -> None:
    program = open_program(f"sample_programs/{sample}.gcode", card)
    found = speed_along(program, 0.0, program.timing.total_s)
    steps = np.diff(found.time_s)
    assert steps.min() >= -1e-9
    area = float(np.sum(steps * (found.speed_mm_s[1:] + found.speed_mm_s[:-1]) / 2))
    way = float(way_of(program, np.arange(len(program.moves)))[program.timing.time_s > 0].sum())
    assert area == pytest.approx(way, rel=1e-5)
    assert found.time_s[-1] == pytest.approx(program.timing.moments.end_s, abs=1e-3) or found.time_s[-1] <= (
        program.timing.moments.end_s
    )


def test_one_trapezoid_by_hand(tmp_path: Path) -> None:
    # 100 mm at 50 mm/s and 1000 mm/s2 from the jerk of X, 8 mm/s: up and down in 42 ms each
    path = tmp_path / "way.gcode"
    path.write_text("M83\nG1 X100 E4 F3000\nG4 S2\nG1 X0 E4 F60000\n", encoding="ascii")
    program = open_program(path)
    found = speed_along(program, 0.0, 1e6)
    assert found.speed_mm_s[:4] == pytest.approx([8.0, 50.0, 50.0, 8.0], rel=1e-4)
    ramp = 42 / 1000
    cruise = (100 - 2 * (50**2 - 8**2) / 2000) / 50
    assert found.time_s[:4] == pytest.approx([0.0, ramp, ramp + cruise, 2 * ramp + cruise], rel=1e-4)
    assert found.speed_mm_s[4:6].tolist() == [0.0, 0.0]  # it waits for 2 s
    assert found.time_s[5] - found.time_s[4] == pytest.approx(2.0)
    assert found.commanded_mm_s == pytest.approx([50.0, 1000.0])
    assert found.limiter.tolist() == [0, 1 + LIMITERS.index("top speed of X")]


def test_a_span_holds_the_moves_that_run_in_it(knob: Program) -> None:
    middle = knob.timing.total_s / 2
    found = speed_along(knob, middle, middle + 5.0)
    assert found.start_s[0] <= middle <= found.end_s[-1]
    assert math.isclose(found.end_s[0] - found.start_s[0], knob.timing.time_s[found.move[0]], rel_tol=1e-9)
    assert found.end_s[-1] >= middle + 5.0 or found.move[-1] == len(knob.moves) - 1


# ---- the ledger by limiter, of a whole program


@pytest.mark.parametrize("card", ["heron", "wren", "dipper"])
def test_the_ledger_by_limiter_adds_up(knob: Program, card: str) -> None:
    program = open_program(knob.path, card)
    found = bookings_of(program)
    assert sum(one.seconds for one in found) == pytest.approx(program.timing.total_s, abs=1e-6)
    beads = [one for one in found if one.group == "beads"]
    ledger = program.timing.ledger.by_cause
    for loss, cause in (("commanded", 0), ("held back", 1), ("ramps", 2)):
        own = sum(one.seconds for one in beads if one.loss == loss)
        assert own == pytest.approx(ledger[cause], abs=1e-3 + 1e-6 * ledger[cause])
