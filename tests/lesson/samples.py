"""Lessons of sample programs, made once."""

from __future__ import annotations

from functools import cache
from pathlib import Path

from viewer import Program, open_program
from viewer.lesson.lesson import lesson_of
from viewer.lesson.step import Lesson
from viewer.shape import ShapeFigures
from viewer.shape.walk import shape_of

SAMPLES = Path(__file__).parents[2] / "sample_programs"
NAMES = (
    "tap_washer_tray.gcode", "coat_hook_pause.gcode", "drawer_glide_inches.gcode", "drawer_glides_one_by_one.gcode",
    "lamp_shade_ring_spiral.gcode", "radiator_dial_two_tools.gcode", "radiator_knob_arcs.gcode",
    "small_parts_plate.gcode", "tap_washers_bare.gcode", "faulty/steep-overhang.gcode",
)  # fmt: skip
"""All whole samples, and a faulty one for what no whole one has."""


@cache
def opened(name: str) -> Program:
    return open_program(SAMPLES / name)


@cache
def shape(name: str) -> ShapeFigures:
    return shape_of(opened(name).shape_columns)


@cache
def lesson(name: str) -> Lesson:
    return lesson_of(opened(name), shape(name))
