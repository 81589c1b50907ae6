"""Rows: everything that is shown, taken from the figures as they are."""

from __future__ import annotations

import math
from dataclasses import replace
from pathlib import Path

import pytest

from tests.shown.conftest import SAMPLES, opened
from viewer import Program, open_program
from viewer.cards import Plate
from viewer.program import with_cards
from viewer.read.moves import BEAD
from viewer.shown.cause_words import CAUSE_WORDS
from viewer.shown.paper.job_sheet import job_sheet
from viewer.shown.rows import Row, bead_rows, layer_rows, program_rows
from viewer.timing import CAUSES


def named(rows: tuple[Row, ...], group: str, name: str) -> Row:
    (row,) = (row for row in rows if (row.group, row.name) == (group, name))
    return row


def test_every_row_can_be_shown(program: Program) -> None:
    rows = program_rows(program)
    assert len({(row.group, row.name) for row in rows}) == len(rows)
    for row in rows:
        assert row.name and row.text and row.text == row.text.strip()
        assert row.how[0].isupper() and row.how.endswith(".")
        assert "nan" not in row.text and "-0 " not in row.text and "None" not in row.text
    groups = [row.group for row in rows]
    assert sorted(range(len(groups)), key=lambda i: groups.index(groups[i])) == list(range(len(groups)))


def test_values_are_those_of_the_figures(program: Program) -> None:
    rows, figures = program_rows(program), program.figures
    assert named(rows, "Time", "in all").value == figures.time.total_s
    assert named(rows, "Time", "first layer done after").value == figures.time.first_layer_done_s
    assert named(rows, "Filament and cost", "mass").value == figures.filament.mass_g
    assert named(rows, "Filament and cost", "cost").value == figures.filament.cost
    assert named(rows, "First layer", "contact").value == figures.first_layer.contact_mm2
    assert named(rows, "Shape", "layers").value == len(program.layers)


def test_what_is_left_on_the_spool_afterwards() -> None:
    program = opened("coat_hook_pause.gcode")
    assert not [row for row in program_rows(program) if row.name == "then left on the spool"]
    mass = program.figures.filament.mass_g
    for left, text in ((mass + 100.0, "100 g"), (mass - 2.0, "2 g short")):
        card = program.filament.with_spool_left(left)
        row = named(
            program_rows(with_cards(program, filament=card)), "Filament and cost", "then left on the spool"
        )
        assert row.value == pytest.approx(left - mass)
        assert row.text == text
    two = opened("radiator_dial_two_tools.gcode")
    known = with_cards(two, filament=two.filament.with_spool_left(500.0))
    assert known.figures.filament.spool_after_g is None


def test_what_the_machine_does_by_itself_is_not_counted_and_that_is_said(tmp_path: Path) -> None:
    text = (SAMPLES / "coat_hook_pause.gcode").read_text()
    assert "not counted" not in {row.name for row in program_rows(opened("coat_hook_pause.gcode"))}
    file = tmp_path / "own.gcode"
    file.write_text(f"PRINT_START NOZZLE=205\n{text}")
    program = open_program(file)
    assert [(one.line, one.name) for one in program.figures.time.uncounted] == [(1, "PRINT_START")]
    row = named(program_rows(program), "Time", "not counted")
    assert row.text == "what PRINT_START (line 1) does: heating, homing"
    sheet = job_sheet(program, None)
    assert "what PRINT_START (line 1) does" in sheet
    assert "and so much longer as what is not counted takes" in sheet


def test_the_ledger_adds_up_to_the_time(program: Program) -> None:
    rows = program_rows(program)
    ledger = [row for row in rows if row.group == "Time ledger"]
    assert [row.name for row in ledger] == [CAUSE_WORDS[cause][0] for cause in CAUSES]
    assert math.fsum(float(row.value) for row in ledger) == pytest.approx(program.timing.total_s, rel=1e-9)
    roles = [float(row.value) for row in rows if row.group == "Roles"]
    assert math.fsum(roles) == pytest.approx(program.timing.total_s, rel=1e-9)


def test_the_layers_add_up_to_the_program(program: Program) -> None:
    rows = [layer_rows(program, number) for number in range(1, len(program.layers) + 1)]
    whole = math.fsum(float(named(layer, "Layer", "time").value) for layer in rows)
    starts = program.timing.moments.layer_start_s
    assert whole == pytest.approx(starts[-1] - starts[0])
    drawn = math.fsum(float(named(layer, "Filament and paths", "filament drawn").value) for layer in rows)
    assert drawn == pytest.approx(program.figures.filament.part_mm, rel=1e-6)
    for layer in rows:
        booked = math.fsum(float(row.value) for row in layer if row.group == "Time ledger")
        assert booked == pytest.approx(float(named(layer, "Layer", "time").value), abs=1e-6)


def test_a_pause_is_told_with_its_place(hook: Program) -> None:
    row = named(program_rows(hook), "Time", "pause 1")
    assert row.text.endswith("stop in layer 26, line 10605")
    assert row.value == hook.figures.time.pauses[0].at_s
    assert hook.texts.line(10605).split()[0] in ("M0", "M1")


def test_claims_are_compared(hook: Program) -> None:
    rows = [row for row in program_rows(hook) if row.group == "Claims"]
    assert rows[0].text == "42; ours 42, the same"
    assert rows[1].name == "filament length (line 17751)"
    assert "Line 17751 says: filament needed: 1737.12 mm." in rows[1].how


@pytest.mark.parametrize(
    ("comment", "text"),
    [
        (
            "; filament used [cm3]: 4178.26",
            "4178 cm³, but ours is one 1000th of that: the stated unit is wrong",
        ),
        ("; print time: 1h 0m 0s", "1 h 0 min 0 s; ours"),
        ("; filament used [mm]: 1737.4", "1737.4 mm; ours 1737.1 mm, the same within 0.05 %"),
    ],
)
def test_a_claim_in_words(tmp_path: Path, comment: str, text: str) -> None:
    file = tmp_path / "hook.gcode"
    file.write_text((SAMPLES / "coat_hook_pause.gcode").read_text() + comment + "\n")
    rows = [row for row in program_rows(open_program(file)) if row.group == "Claims"]
    assert any(row.text.startswith(text) for row in rows), [row.text for row in rows]


def test_what_is_not_known_is_said(hook: Program) -> None:
    bare = with_cards(
        hook,
        printer=replace_card(hook, plate=Plate(), melt_mm3_s=None),
        filament=type(hook.filament)(name="Unknown", density_g_cm3=1.0),
    )
    rows = program_rows(bare)
    assert named(rows, "First layer", "to the plate's edge").text.startswith("unknown")
    assert named(rows, "Filament and cost", "cost").text == "unknown: the filament card has no price"
    assert named(rows, "Filament and cost", "cost").value is None
    move = int((bare.moves.kind == BEAD).nonzero()[0][0])
    assert (
        named(bead_rows(bare, move), "Bead", "of the melt rate").text
        == "unknown: no melt rate on the printer card"
    )


def replace_card(program: Program, **changes: object) -> object:
    import msgspec

    return msgspec.structs.replace(program.printer, **changes)


def test_a_bead_by_hand(tmp_path: Path) -> None:
    # 20 mm long, 0.2 mm thick, 0.5 mm wide: A = 0.3 x 0.2 + pi 0.2^2/4 = 0.091416 mm2, 0.76013 mm of filament
    area = 0.3 * 0.2 + math.pi * 0.2**2 / 4
    fed = area * 20 / (math.pi * 1.75**2 / 4)
    file = tmp_path / "one.gcode"
    file.write_text(
        f"G28\nG21\nG90\nM83\nM104 S210\nG1 Z0.2 F600\nG1 X10 Y10 F6000\nG1 X30 Y10 E{fed:.6f} F1200\n"
    )
    program = open_program(file)
    rows = bead_rows(program, int((program.moves.kind == BEAD).nonzero()[0][0]))
    assert named(rows, "Bead", "width").value == pytest.approx(0.5, abs=1e-4)
    assert named(rows, "Bead", "section").value == pytest.approx(area, rel=1e-4)
    assert named(rows, "Bead", "flow").value == pytest.approx(area * 20.0, rel=1e-4)
    assert named(rows, "Move", "line").value == 8
    assert named(rows, "Move", "to").text == "X 30 Y 10 Z 0.2 mm"
    assert named(rows, "Settings", "nozzle").text == "210 °C"
    assert named(rows, "Settings", "plate").text == "never set"
    assert named(rows, "Speed and time", "commanded").text == "20 mm/s"


def test_a_travel_has_no_bead(hook: Program) -> None:
    move = int((hook.moves.kind == 0).nonzero()[0][0])
    assert not [row for row in bead_rows(hook, move) if row.group == "Bead"]


@pytest.mark.parametrize("number", [0, -1, 43])
def test_there_is_no_such_layer(hook: Program, number: int) -> None:
    with pytest.raises(IndexError):
        layer_rows(hook, number)


@pytest.mark.parametrize("move", [-1, 10**9])
def test_there_is_no_such_move(hook: Program, move: int) -> None:
    with pytest.raises(IndexError):
        bead_rows(hook, move)


def test_a_program_without_beads(tmp_path: Path) -> None:
    file = tmp_path / "none.gcode"
    file.write_text("G28\nG1 X10 F6000\nM84\n")
    rows = program_rows(open_program(file))
    assert named(rows, "Time", "first layer done after").value is None
    assert named(rows, "Shape", "extent").text == "no beads"
    assert named(rows, "Standing", "centre of mass").text == "no part"


def test_two_objects_and_two_tools() -> None:
    rows = program_rows(opened("drawer_glides_one_by_one.gcode"))
    assert named(rows, "Shape", "objects in turn").text == "2, printed one after another"
    assert named(rows, "First layer", "smallest island").value is not None
    program = opened("radiator_dial_two_tools.gcode")
    tools = [row for row in program_rows(program) if row.name in ("tool 0", "tool 1")]
    assert math.fsum(float(row.value) for row in tools) == pytest.approx(program.figures.filament.mass_g)


def test_causes_are_all_worded() -> None:
    assert tuple(CAUSE_WORDS) == CAUSES


def test_rows_are_values() -> None:
    row = Row("Time", "in all", 1.0, "s", "1 s", "How.")
    assert replace(row, value=2.0) != row
