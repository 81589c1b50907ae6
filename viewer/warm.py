"""Compile every kernel once, on a tiny program, so that the first real one need not wait."""

from __future__ import annotations

import os
import tempfile
from pathlib import Path

import numpy as np

TINY = """G90
M83
G28
M104 S200
G1 Z0.2 F600
G1 X10 Y10 F6000
; layer 1
G1 X30 Y10 E0.8 F1200
G1 X30 Y30 E0.8
G2 X10 Y30 I-10 J0 E1
G1 X10 Y10 E0.8
; layer 2
G1 Z0.4
G1 X30 Y10 E0.8
G1 X30 Y30 E0.8
G1 X10 Y10 E1
M104 S0
M84
"""


def warm_up() -> None:
    """Run every kernel on a tiny program; some 20 s when nothing is compiled yet, some tenths of a second else."""
    from viewer.beads.draw import View, draw_lines, draw_picture, nearest_bead
    from viewer.program import open_program

    handle, name = tempfile.mkstemp(prefix="beadline-", suffix=".gcode")
    try:
        with os.fdopen(handle, "w", encoding="ascii") as file:
            file.write(TINY)
        program = open_program(name)
        _ = program.figures
        beads = program.beads_of(1)
        image = np.zeros((8, 8), np.uint32)
        view = View(0.0, 40.0, 0.2)
        draw_picture(image, beads, np.zeros(len(beads.x0_mm), np.uint8), np.zeros(256, np.uint32), view)
        draw_lines(image, (beads.x0_mm, beads.y0_mm, beads.x1_mm, beads.y1_mm), 1.0, 0, view)
        nearest_bead(10.0, 10.0, beads)
    finally:
        Path(name).unlink(missing_ok=True)
