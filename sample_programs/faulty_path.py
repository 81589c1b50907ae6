"""Faults of the path: the nozzle or the head runs into what is printed, into the plate, or past its end stops."""

from __future__ import annotations

import math
from dataclasses import replace

from faulty import Fault
from faulty_print import PLAIN, plain_block
from printing import Job, program
from replay import replay
from slicing import Layer

OFF = ("M104 S0", "M140 S0", "M107", "M84")
TOP = 2.0
"""Height of the plain block: 10 layers of 0.2 mm."""
HEAD = {"left_mm": 20, "right_mm": 33, "front_mm": 25, "back_mm": 20, "underside_mm": 0.5, "gantry_mm": 30}
REACH = {"left_mm": -5, "right_mm": 225, "front_mm": -5, "back_mm": 225, "top_mm": 255}


def drives_into_print() -> Fault:
    """The way to the end through the block, or a little below its top."""

    def write(first: str, wrong: bool) -> str:
        z = 1.0 if wrong else TOP - 0.3
        way = ("G0 X80 Y110 F6000", f"G0 Z{z:.2f} F600", "G0 X140 F6000", "G0 Z30 F600")
        return program(Job((first,), (plain_block(),), PLAIN, shutdown=(*way, *OFF)))

    return Fault(
        "drives-into-print", f"after the last bead the nozzle travels at height 1 through the block, {TOP:g} mm high.",
        "it travels 0.3 mm below the block's top, less than the nozzle's bore.",
        TOP - 1.0, 0.3, 0.4, "mm deep", write, place=(102.0, 110.0), line=r"^G0 X140 F6000$", within=0.001,
    )  # fmt: skip


def head_hits_print() -> Fault:
    """Two blocks one after another, too close for the head, or far enough apart."""
    recipe = replace(PLAIN, skirt_loops=0)

    def bodies(wrong: bool) -> tuple[list[Layer], list[Layer]]:
        first, second = (plain_block(recipe, 10, 16.0, x) for x in (125.0, 80.0 if wrong else 65.0))
        return first, second

    def write(first: str, wrong: bool) -> str:
        return program(Job((first,), bodies(wrong), recipe))

    start = bodies(True)[1][0].paths[0].points[0]
    return Fault(
        "head-hits-print", "the second block stands 29 mm left of the first, and the head reaches 33 mm to the right.",
        "the second block stands 44 mm left of the first.",
        1.3, 0.0, 0.4, "mm below its top", write, layer=11, place=(round(start[0], 2), round(start[1], 2)),
        line=lambda text: next(
            motion.line
            for motion in replay(text)
            if math.dist(motion.end, (*start, 0.2)) < 0.01 and motion.start[2] > 1.0
        ),
        within=0.001, cards={"printer": {"head": HEAD}},
    )  # fmt: skip


def below_plate() -> Fault:
    """The nozzle below the plate on the way to the first layer, or at its surface."""

    def write(first: str, wrong: bool) -> str:
        way = f"G0 X150 Y60 F6000\nG0 Z{-0.6 if wrong else 0:g} F600\nG0 Z0.5 F600\n"
        return program(Job((first,), (plain_block(),), PLAIN)).replace(
            "; layer 1 at", f"{way}; layer 1 at", 1
        )

    return Fault(
        "below-plate", "behind the purge line the nozzle goes to 0.6 mm below the plate.",
        "it goes down to the plate's surface.",
        0.6, 0.0, 0.05, "mm below the plate", write, place=(150.0, 60.0), line=r"^G0 Z-0\.6", within=0.001,
    )  # fmt: skip


def beyond_reach() -> Fault:
    """The parking place beyond what the nozzle reaches, or a little before that."""

    def write(first: str, wrong: bool) -> str:
        way = f"G0 X{230 if wrong else 224} Y200 F6000"
        return program(Job((first,), (plain_block(),), PLAIN, shutdown=(way, *OFF)))

    return Fault(
        "beyond-reach", "the nozzle is to be parked at X 230, and reaches X 225.",
        "it is parked at X 224, beside the plate and within reach.",
        5.0, 0.0, 0.0, "mm beyond", write, place=(230.0, 200.0), line=r"^G0 X230", within=0.001,
        cards={"printer": {"reach": REACH}},
    )  # fmt: skip


PATH = (drives_into_print, head_hits_print, below_plate, beyond_reach)
