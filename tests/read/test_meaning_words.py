"""Objects, and word commands ``NAME KEY=VALUE``: what they mark and set."""

from __future__ import annotations

import pytest

from viewer.read.comments.marks import object_mark, object_name, word_layers, word_settings
from viewer.read.comments.meaning import classify
from viewer.read.settings import FIELDS

OBJECTS = [
    ("printing object radiator knob", "object", "radiator knob"),
    ("printing object radiator knob id:0 copy 1", "object", "radiator knob id:0 copy 1"),
    ("stop printing object radiator knob id:0 copy 1", "object end", "radiator knob id:0 copy 1"),
    ("start printing object, unique label id: 15", "object", "15"),
    ("stop printing object, unique label id: 15", "object end", "15"),
    ("OBJECT_ID: 92", "object", "92"),
    ("MESH:coat_hook.part", "object", "coat_hook.part"),
    ("MESH:0_0", "object", "0_0"),
    ("MESH:NONMESH", "object end", "NONMESH"),
    ('object: "drawer glide"', "object", "drawer glide"),
]


@pytest.mark.parametrize(("text", "kind", "name"), OBJECTS)
def test_object_comments(text: str, kind: str, name: str) -> None:
    assert classify(text, True, False).kind == kind
    assert object_mark(text) == kind
    assert object_name(text) == name


@pytest.mark.parametrize(
    "text", ["best_object_pos = 0.7,0.5", "object height: 12", "the object is big", "meshes"]
)
def test_other_comments_mark_no_object(text: str) -> None:
    assert object_mark(text) == ""


@pytest.mark.parametrize(
    ("text", "kind", "name"),
    [
        ("EXCLUDE_OBJECT_START NAME=part_0", "object", "part_0"),
        ("EXCLUDE_OBJECT_END NAME=part_0", "object end", "part_0"),
        ("EXCLUDE_OBJECT_DEFINE NAME=part_0 CENTER=128.5,128.5", "nothing", "part_0"),
        ("OBJECT_START NAME='drawer glide'", "object", "drawer glide"),
        ("START_CURRENT_OBJECT NAME=a.b", "object", "a.b"),
    ],
)
def test_object_word_commands(text: str, kind: str, name: str) -> None:
    assert classify(text, True, True).kind == kind
    assert object_name(text) == name


LIMITS = [
    ("SET_VELOCITY_LIMIT ACCEL=500", {"accel_print_mm_s2": 500.0, "accel_travel_mm_s2": 500.0}),
    (
        "SET_VELOCITY_LIMIT VELOCITY=300 ACCEL=3000 ACCEL_TO_DECEL=1500 SQUARE_CORNER_VELOCITY=5",
        {
            "max_path_mm_s": 300.0,
            "accel_print_mm_s2": 3000.0,
            "accel_travel_mm_s2": 3000.0,
            "corner_mm_s": 5.0,
        },
    ),
    ("set_velocity_limit corner=8.5", {"corner_mm_s": 8.5}),
    (
        "LIMITS PRINT_ACCEL=900 TRAVEL_ACCEL=1200 RETRACT_ACCEL=700",
        {"accel_print_mm_s2": 900.0, "accel_travel_mm_s2": 1200.0, "accel_retract_mm_s2": 700.0},
    ),
    ("SET_HEATER_TEMPERATURE HEATER=extruder TARGET=210", {"nozzle_c": 210.0}),
    ("SET_HEATER_TEMPERATURE HEATER=heater_bed TARGET=60", {"plate_c": 60.0}),
    ("SET_HEATER_TEMPERATURE HEATER=chamber TARGET=40", {}),
    ("print_start EXT_TEMP=270 BED_TEMP=105 CHAMBER=15", {"nozzle_c": 270.0, "plate_c": 105.0}),
    ("START_PRINT BED=60 EXTRUDER=210", {"nozzle_c": 210.0, "plate_c": 60.0}),
    ("START_PRINT BED_TEMP=60 EXTRUDER_TEMP=210 CHAMBER_TEMP=40", {"nozzle_c": 210.0, "plate_c": 60.0}),
    ("TEMPERATURE_WAIT SENSOR=extruder MINIMUM=205", {}),
    ("SET_PRESSURE_ADVANCE EXTRUDER=extruder ADVANCE=0.05", {}),
    ("SET_FAN_SPEED FAN=exhaust SPEED=0.5", {}),
    ("SET_VELOCITY_LIMIT ACCEL=0", {}),
    ("SET_VELOCITY_LIMIT ACCEL={accel}", {}),
]


@pytest.mark.parametrize(("text", "found"), LIMITS)
def test_what_word_commands_set(text: str, found: dict[str, float]) -> None:
    assert word_settings(text) == found
    assert classify(text, True, True).kind == ("limit" if found else "nothing")
    assert set(found) <= set(FIELDS)


def test_layers_in_word_commands() -> None:
    meaning = classify("SET_PRINT_STATS_INFO CURRENT_LAYER=12", True, True)
    assert (meaning.kind, meaning.number_at) == ("layer", 0)
    meaning = classify("PROGRESS_2 DONE=50 CURRENT_LAYER=12", True, True)
    assert (meaning.kind, meaning.number_at) == ("layer", 2)
    assert word_layers("SET_PRINT_STATS_INFO TOTAL_LAYER=56") == 56
    assert word_layers("SET_PRINT_STATS_INFO TOTAL_LAYER={n}") == 0
