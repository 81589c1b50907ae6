"""A layer as SVG, the whole of it, for the console and Python."""

from __future__ import annotations

import numpy as np

from viewer.errors import BeadlineError
from viewer.program import Program
from viewer.shown.pictures.bead_values import Ranges
from viewer.shown.pictures.choices import Colouring, Shown
from viewer.shown.pictures.scene import Scene, build_scene, whole_layer
from viewer.shown.pictures.svg import SeenArea, Vectors, svg_lines

SHOWN: frozenset[Shown] = frozenset({"below", "plate"})
BESIDE_MM = 3.0


def layer_svg(program: Program, number: int, colouring: Colouring = "role", dark: bool = False) -> str:
    """Return a layer (from 1) as SVG in mm: every bead a line of its true width with round ends.

    Raises
    ------
    BeadlineError
        There is no such layer, or nothing lies in it.
    """
    if not 1 <= number <= len(program.layers):
        raise BeadlineError(f"There is no layer {number}; the program has {len(program.layers)}.")
    scene = build_scene(program, number, colouring, dark, Ranges(program))
    title = f"{program.path.name}, layer {number} of {len(program.layers)}"
    vectors = Vectors(title, scene, whole_layer(program, number), SHOWN, _area(scene))
    return "\n".join(svg_lines(vectors, program.printer.plate))


def _area(scene: Scene) -> SeenArea:
    """Return the rectangle about the beads of a layer.

    Raises
    ------
    BeadlineError
        It has none.
    """
    beads = scene.beads.where(np.arange(scene.earlier, len(scene.beads)))
    if not len(beads):
        raise BeadlineError(f"Layer {scene.number} has no beads to draw.")
    half = 0.5 * beads.width_mm
    left = float((np.minimum(beads.x0_mm, beads.x1_mm) - half).min()) - BESIDE_MM
    front = float((np.minimum(beads.y0_mm, beads.y1_mm) - half).min()) - BESIDE_MM
    right = float((np.maximum(beads.x0_mm, beads.x1_mm) + half).max()) + BESIDE_MM
    back = float((np.maximum(beads.y0_mm, beads.y1_mm) + half).max()) + BESIDE_MM
    return SeenArea(left, front, right - left, back - front)
