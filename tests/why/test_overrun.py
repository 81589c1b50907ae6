"""From expected to actual; which assumption reproduces a stated time; two programs beside each other."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from viewer import Program, load_printer, open_program, with_cards
from viewer.timing import CAUSES
from viewer.why.assumptions import PARTS, fits, own_card, parts_of, try_assumptions
from viewer.why.compare import compare
from viewer.why.ledger import limiters_of_program
from viewer.why.overrun import CLAIM_OFF, REMAINDER, overrun

LOOP = "G1 X60 E2 F3000\nG1 Y60 E2\nG1 X10 E2\nG1 Y10 E2\n"
HEAD = "M83\nM140 S60\nM190 S60\nM104 S200\nM109 S200\nG28\n;LAYER:0\nG1 X10 Y10 Z0.2 F6000\n"


@pytest.fixture(scope="module")
def knob() -> Program:
    return open_program("sample_programs/radiator_knob_arcs.gcode")


def program_of(tmp_path: Path, claim: str, after: str = "") -> Program:
    path = tmp_path / "way.gcode"
    path.write_text(f"{claim}\n{HEAD}{LOOP * 20}{after}", encoding="ascii")
    return open_program(path)


@pytest.mark.parametrize("expected", [None, 100.0, 4000.0, 90_000.0])
@pytest.mark.parametrize("took", [None, 7200.0])
def test_steps_add_up(knob: Program, expected: float | None, took: float | None) -> None:
    found = overrun(knob, expected, took)
    there = took if took is not None else found.computed_s
    assert found.computed_s == knob.timing.total_s
    if found.expected_s is not None:
        assert sum(step.seconds for step in found.steps) == pytest.approx(there - found.expected_s, abs=1e-6)
    assert sum(found.parts_s.values()) == pytest.approx(knob.timing.total_s, abs=1e-6)
    remainder = [step.seconds for step in found.steps if step.name == REMAINDER]
    assert remainder == ([] if took is None else [took - knob.timing.total_s])


def test_the_assumption_that_reproduces_a_claim_is_named(tmp_path: Path) -> None:
    # 20 loops of 200 mm at 50 mm/s: 80 s at the commanded speeds, more with acceleration, far more with heating
    alone = program_of(tmp_path, ";no claim")
    assert overrun(alone).expected_s is None and overrun(alone).base is None
    by_name = {one.name: one.total_s for one in try_assumptions(alone)}
    assert by_name["beads alone"] == pytest.approx(80.0, rel=1e-6)
    assert by_name["card"] == pytest.approx(alone.timing.total_s, abs=1e-6)
    assert by_name["moves alone"] == pytest.approx(alone.timing.moving_s, abs=1e-6)
    heating = alone.timing.ledger.by_cause[CAUSES.index("heating")]
    assert by_name["no heating"] == pytest.approx(alone.timing.total_s - heating, abs=1e-6)
    for name in ("card", "no heating", "beads alone"):
        found = overrun(program_of(tmp_path, f";TIME:{by_name[name]:.3f}"))
        assert found.base is not None and found.base.name == name and found.reproduces
        assert found.expected_from == "claim" and found.line == 1
        off = [step.seconds for step in found.steps if step.name == CLAIM_OFF]
        assert not off or abs(off[0]) < 1e-3
    nothing = overrun(program_of(tmp_path, ";TIME:9999"))
    assert nothing.base is not None and not nothing.reproduces


def test_without_heating_the_step_is_the_heating(tmp_path: Path) -> None:
    program = program_of(tmp_path, ";no claim")
    heating = program.timing.ledger.by_cause[CAUSES.index("heating")]
    found = overrun(program, program.timing.total_s - heating)
    assert found.base is not None and found.base.name == "no heating"
    steps = {step.name: step.seconds for step in found.steps if abs(step.seconds) > 1e-6}
    assert steps == pytest.approx({"heating": heating}, abs=1e-6)


def test_whole_minutes_may_be_rounded(knob: Program) -> None:
    card = try_assumptions(knob)[0]
    assert fits(card, card.total_s * 1.029) and not fits(card, card.total_s * 1.05 + 0.5)
    short = replace(card, total_s=385.0)
    assert fits(short, 360.0) and not fits(
        short, 361.0
    )  # 6 min may be anything from 5 min 30 s to 6 min 30 s


LIMITS = """
; machine_max_acceleration_x = 700,900
; machine_max_acceleration_y = 800
; machine_max_acceleration_extruding = 600
; machine_max_feedrate_x = 40
; machine_max_jerk_x = 3
; machine_max_jerk_y = 4
; machine_max_jerk_z = 0.2
; machine_max_jerk_e = 2
"""


def test_limits_in_comments_make_a_card(tmp_path: Path) -> None:
    program = program_of(tmp_path, ";no claim", LIMITS)
    card = own_card(program)
    assert card is not None
    assert (card.max_acceleration_mm_s2.x, card.max_acceleration_mm_s2.y) == (700.0, 800.0)
    assert card.max_acceleration_mm_s2.z == program.printer.max_acceleration_mm_s2.z
    assert card.print_acceleration_mm_s2 == 600.0 and card.max_speed_mm_s.x == 40.0
    assert card.corner.rule == "jerk" and card.corner.jerk_mm_s is not None and card.corner.jerk_mm_s.y == 4.0
    own = {one.name: one.total_s for one in try_assumptions(program)}["own limits"]
    assert own == pytest.approx(with_cards(program, card).timing.moving_s, rel=1e-6)
    assert own_card(program_of(tmp_path, ";no claim")) is None


def test_limits_in_commands_alone(tmp_path: Path) -> None:
    # at 500 mm/s2 stated, and nothing else limited, each loop's sides speed up from a corner at the jerk of 8 mm/s
    program = program_of(tmp_path, "M204 P500 T500 R500")
    found = {one.name: one.total_s for one in try_assumptions(program)}
    ramp = (50 - 8) ** 2 / (2 * 500 * 50)
    beads = program.timing.ledger.by_cause[0] + 80 * 2 * ramp
    parts = next(one.parts_s for one in try_assumptions(program) if one.name == "stated limits")
    assert parts["as commanded"] + parts["speeding up and braking"] == pytest.approx(beads, rel=1e-3)
    assert "stated limits" not in {one.name for one in try_assumptions(program_of(tmp_path, ";no claim"))}
    assert found["stated limits"] > 80.0


# ---- two programs beside each other


@pytest.mark.parametrize(
    "sample", ["radiator_knob_arcs", "radiator_dial_two_tools", "drawer_glides_one_by_one"]
)
def test_a_program_beside_itself_differs_nowhere(sample: str) -> None:
    program = open_program(f"sample_programs/{sample}.gcode")
    found = compare(program, program)
    for pairs in (found.figures, found.by_cause, found.by_role, found.claims):
        assert pairs or pairs is found.claims
        assert all(pair.more in (0.0, None) for pair in pairs)
        assert all(pair.a == pair.b for pair in pairs)
    assert found.settings == () and found.card_keys == ()
    layers = found.layers
    assert np.array_equal(layers.seconds_a, layers.seconds_b)
    assert np.array_equal(layers.drawn_a_mm, layers.drawn_b_mm)
    assert layers.only_a == layers.only_b == 0
    assert layers.seconds_a.sum() == pytest.approx(program.timing.ledger.by_layer[1:-1].sum(), abs=1e-6)


def test_differences_add_up_and_layers_are_matched(knob: Program, tmp_path: Path) -> None:
    other = open_program("sample_programs/tap_washer_tray.gcode")
    found = compare(knob, other)
    more = other.timing.total_s - knob.timing.total_s
    assert found.figures[0].more == pytest.approx(more, abs=1e-9)
    for pairs in (found.by_cause, found.by_role):
        assert sum(pair.more or 0.0 for pair in pairs) == pytest.approx(more, abs=1e-6)
    layers = found.layers
    assert np.count_nonzero(layers.layer_a) == len(set(np.round(knob.layers.height_mm, 2)))
    both = (layers.layer_a > 0) & (layers.layer_b > 0)
    for k in np.flatnonzero(both).tolist():
        heights = knob.layers.height_mm[layers.layer_a[k] - 1], other.layers.height_mm[layers.layer_b[k] - 1]
        assert heights[0] == pytest.approx(heights[1], abs=0.006)


def test_one_program_under_two_cards(knob: Program) -> None:
    found = compare(knob, with_cards(knob, load_printer("wren")))
    keys = {one.name: (one.a, one.b) for one in found.card_keys}
    assert keys["name"] == ("Heron", "Wren") and keys["max_speed_mm_s.x"] == ("300", "500")
    assert found.settings == ()
    filament = next(pair for pair in found.figures if pair.name == "filament")
    assert filament.more == 0.0


def test_settings_that_differ_are_told(tmp_path: Path) -> None:
    one = program_of(tmp_path, ";Layer height: 0.2\n;Nozzle diameter: 0.4")
    (tmp_path / "other").mkdir()
    other = program_of(tmp_path / "other", ";Layer height: 0.3\n;Nozzle diameter: 0.4")
    assert [(s.name, s.a, s.b) for s in compare(one, other).settings] == [("layer_height_mm", "0.2", "0.3")]


def test_parts_are_those_of_the_ledger(knob: Program) -> None:
    parts = parts_of(knob, limiters_of_program(knob))
    assert tuple(parts) == PARTS
    ledger = dict(zip(CAUSES, knob.timing.ledger.by_cause.tolist(), strict=True))
    for name in PARTS[3:]:
        assert parts[name] == pytest.approx(ledger[name], abs=1e-3)
