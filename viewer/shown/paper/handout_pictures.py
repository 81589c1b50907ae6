"""Pictures of the handout as ``img`` tags that hold their PNG: browsers and simple rich-text engines know both."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Final

import numpy as np

from viewer.arrays import F64
from viewer.beads.draw import U32, View
from viewer.beads.section import Beads
from viewer.part.solid import Part
from viewer.part.view import Cut
from viewer.program import Program
from viewer.shown.paper.image_tag import image_tag
from viewer.shown.pictures.bead_values import Ranges
from viewer.shown.pictures.colours import ui
from viewer.shown.pictures.layer_picture import draw_below, draw_scene
from viewer.shown.pictures.part_picture import Wanted, picture_from
from viewer.shown.pictures.scene import build_scene, whole_layer

Box = tuple[float, float, float, float]
"""Low x, low y, high x, high y, mm."""
MARGIN: Final = 0.04
"""Room about the layer, as a share of the picture."""


def part_image(
    program: Program, part: Part, cut: Cut | None, alt: str, size: tuple[int, int], finer: int
) -> str:
    """Return the whole part, or what a cut leaves of it, from the usual corner.

    Parameters
    ----------
    part
        The beads of the program as bodies.
    size
        Width and height on paper, in pixels of 1/96 inch.
    finer
        Pixels of the picture for each of them.
    """
    width, height = size
    wanted = Wanted(width=finer * width, height=finer * height, cut=cut)
    return image_tag(picture_from(program, part, "corner", wanted), alt, width, height)


def box_of_layers(program: Program, numbers: Iterable[int]) -> Box:
    """Return the box about the beads of some layers (from 1), mm: one frame for all their pictures."""
    beads = Beads.joined([program.beads_of(number) for number in numbers])
    half = 0.5 * float(beads.width_mm.max(initial=0.0))
    x, y = np.concatenate([beads.x0_mm, beads.x1_mm]), np.concatenate([beads.y0_mm, beads.y1_mm])
    return float(x.min()) - half, float(y.min()) - half, float(x.max()) + half, float(y.max()) + half


def layer_image(
    program: Program, number: int, box_mm: Box, alt: str, size: tuple[int, int], finer: int
) -> str:
    """Return what a box has of layer ``number`` (from 1) from above, in the colours of the roles; see `part_image`."""
    width, height = size
    scene = build_scene(program, number, "role", False, Ranges(program))
    fine = finer * height, finer * width
    view = _fitted(box_mm, fine)
    image = np.empty((*fine, 3), np.float64)
    image[:] = ui(False)["plate"]
    _lay_over(image, draw_below(scene.below, False, view, fine))
    _lay_over(image, draw_scene(scene, whole_layer(program, number), frozenset(), view, fine, 1.0))
    return image_tag(np.rint(image).astype(np.uint8), alt, width, height)


def _fitted(box_mm: Box, size: tuple[int, int]) -> View:
    """Return the view that shows a box as large as it fits in (rows, columns)."""
    left, front, right, back = box_mm
    rows, columns = size
    scale = (1.0 - 2.0 * MARGIN) * min(columns / (right - left), rows / (back - front))
    return View(
        0.5 * (left + right) - 0.5 * columns / scale, 0.5 * (front + back) + 0.5 * rows / scale, scale
    )


def _lay_over(image: F64, over: U32) -> None:
    """Lay a premultiplied picture 0xAARRGGBB over an opaque one (rows, columns, 3)."""
    clear = 1.0 - (over >> 24).astype(np.float64) / 255.0
    for channel, shift in enumerate((16, 8, 0)):
        image[..., channel] = image[..., channel] * clear + (over >> shift & 255)
