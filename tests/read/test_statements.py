"""What settings in comments state, in many spellings, and what states nothing."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.checks.on_paper import opened, whole
from viewer.figures.made_for import MadeFor, Stated, made_for
from viewer.read.comments.statements import Statement, material_of, read_statement


@pytest.mark.parametrize(
    ("text", "quantity", "values"),
    [
        (" filament_type = PETG", "material", ("PETG",)),
        ("   printMaterial,PLA", "material", ("PLA",)),
        ("Material: PLA", "material", ("PLA",)),
        ("Material Type:pet-g", "material", ("PETG",)),
        ("material name = Harbour PLA blue", "material", ("PLA",)),
        (" filament_type = PLA;PETG", "material", ("PLA", "PETG")),
        (" nozzle_diameter = 0.8", "nozzle_mm", (0.8,)),
        ("   extruderDiameter,0.4,0.6", "nozzle_mm", (0.4, 0.6)),
        ("Params[0] Nozzle Diameter:0.4", "", ()),
        ("Nozzle diameter [mm]: 0.4 mm", "nozzle_mm", (0.4,)),
        ("Filament Diameter #1: 1.750", "filament_diameter_mm", (1.75,)),
        ("   filamentDiameters,2.85|2.85", "filament_diameter_mm", (2.85, 2.85)),
        ("Layer height: 0.2", "layer_height_mm", (0.2,)),
        (" first_layer_temperature = 215", "first_layer_nozzle_c", (215.0,)),
        ("Print Temperature:190 C", "nozzle_c", (190.0,)),
        (" bed_temperature = 60", "plate_c", (60.0,)),
        (" bed_shape = 0x0,250x0,250x210,0x210", "plate_mm", ((250.0, 210.0),)),
        ("bed size: 220 x 200 mm", "plate_mm", ((220.0, 200.0),)),
        ("Machine Width:220", "plate_x_mm", (220.0,)),
        ("Printer: Quay 2", "printer", ("Quay 2",)),
    ],
)
def test_settings(text: str, quantity: str, values: tuple[object, ...]) -> None:
    read = read_statement(text, 7)
    assert (
        (quantity, values) == ("", ()) if read is None else (read.quantity, read.values) == (quantity, values)
    )
    assert read is None or read.line == 7


@pytest.mark.parametrize(
    "text",
    [
        " support_material = 0", " support_material_extruder = 1", " filament_type = ", " filament_type = [material]",
        " filament_type = {material}", "Material: removed", " nozzle_diameter = 1000", " nozzle_diameter = 0.016 in",
        " layer_height = 50%", " temperature = 0", " nozzle_diameter = 0.4,none", " filament_diameter = 0",
        "Filament used: 1.75m",
        " hot_plate_temp = 60", " bed_shape = 0x0,200x200", " filament_settings = PLA", "the nozzle is clean",
        " filament_type = PLA ABS", " material = 1", "Printer: 42", " wall_filament = 1",
    ],
)  # fmt: skip
def test_what_states_nothing(text: str) -> None:
    assert read_statement(text) is None


@pytest.mark.parametrize(
    ("text", "name"),
    [
        ("PLA", "PLA"),
        ("PLA+ matt", "PLA"),
        ("Nylon", "PA"),
        ("PA12-CF", "PA"),
        ("TPU95A", "TPU"),
        ("plastic", ""),
        ("PLA/PVA", ""),
    ],
)
def test_materials(text: str, name: str) -> None:
    assert material_of(text) == name


def stated(quantity: str, *values: float | str) -> Statement:
    return Statement(quantity, values, 3, "text")


def test_one_value_a_tool() -> None:
    both = (stated("filament_diameter_mm", 1.75, 2.85), stated("material", "PLA", "PETG"))
    assert made_for(both, {1: 5.0}).filament_diameter_mm == 2.85
    assert made_for(both, {1: 5.0}).material == Stated("PETG", 3, "text")
    assert made_for(both, {0: 1.0, 1: 5.0}) == MadeFor()
    assert made_for(both, {7: 1.0}) == MadeFor()


def test_statements_that_contradict_each_other_state_nothing() -> None:
    assert made_for((stated("nozzle_mm", 0.4), stated("nozzle_mm", 0.6)), {0: 1.0}).nozzle is None
    assert made_for((stated("nozzle_mm", 0.4), stated("nozzle_mm", 0.4)), {0: 1.0}).nozzle is not None
    sides = (stated("plate_x_mm", 220.0), stated("plate_y_mm", 200.0))
    plate = made_for(sides, {0: 1.0}).plate
    assert plate is not None
    assert plate.value == (220.0, 200.0)
    assert made_for(sides[:1], {0: 1.0}).plate is None


def test_a_program_with_header_and_trailer(tmp_path: Path) -> None:
    text = "; nozzle_diameter = 0.6\n" + whole(3) + ";   printMaterial,PETG\n; layer_height = 0.2\n"
    said = opened(tmp_path, text).made_for
    assert said.nozzle == Stated(0.6, 1, "nozzle_diameter = 0.6")
    assert said.material is not None
    assert (said.material.value, said.material.line) == ("PETG", text.count("\n") - 1)


def test_marks_of_layers_are_no_settings(tmp_path: Path) -> None:
    text = whole(8)
    assert text.count("Z") >= 8
    marked = "".join(
        f";LAYER_HEIGHT:0.2\n{line}\n" if " Z" in line else f"{line}\n" for line in text.splitlines()
    )
    assert opened(tmp_path, marked).made_for.layer_height is None
