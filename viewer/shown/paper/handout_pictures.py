"""Pictures of the handout as ``img`` tags that hold their PNG: browsers and simple rich-text engines know both."""

from __future__ import annotations

import base64
from html import escape
from typing import Final

import numpy as np

from viewer.arrays import F64, U8
from viewer.beads.draw import U32, View
from viewer.part.view import Cut
from viewer.program import Program
from viewer.shown.pictures.bead_values import Ranges
from viewer.shown.pictures.colours import ui
from viewer.shown.pictures.layer_picture import draw_below, draw_scene
from viewer.shown.pictures.part_picture import Wanted, part_picture
from viewer.shown.pictures.png import png_bytes
from viewer.shown.pictures.scene import Scene, build_scene, whole_layer

FINER: Final = 3
"""Pixels of a picture for each pixel of 1/96 inch on paper."""
FINER_PART: Final = 2
"""The same of the whole part: its inscriptions have a size in pixels."""
MARGIN: Final = 0.04
"""Room about the layer, as a share of the picture."""


def image_tag(image: U8, alt: str, width: int, height: int) -> str:
    """Return a picture (rows, columns, 3) as an ``img`` tag of a size in pixels of 1/96 inch."""
    data = base64.b64encode(png_bytes(image)).decode()
    size = f'width="{width}" height="{height}"'
    return (
        f'<img {size} style="vertical-align: middle" alt="{escape(alt)}" src="data:image/png;base64,{data}">'
    )


def part_image(program: Program, cut: Cut | None, alt: str, width: int, height: int) -> str:
    """Return the whole part, or what a cut leaves of it, from the usual corner."""
    wanted = Wanted(width=FINER_PART * width, height=FINER_PART * height, cut=cut)
    return image_tag(part_picture(program, "corner", wanted), alt, width, height)


def layer_image(program: Program, number: int, alt: str, width: int, height: int) -> str:
    """Return layer ``number`` (from 1) from above, its beads in the colours of their roles."""
    scene = build_scene(program, number, "role", False, Ranges(program))
    size = FINER * height, FINER * width
    view = _fitted(scene, size)
    image = np.empty((*size, 3), np.float64)
    image[:] = ui(False)["plate"]
    _lay_over(image, draw_below(scene.below, False, view, size))
    _lay_over(image, draw_scene(scene, whole_layer(program, number), frozenset(), view, size, 1.0))
    return image_tag(np.rint(image).astype(np.uint8), alt, width, height)


def _fitted(scene: Scene, size: tuple[int, int]) -> View:
    """Return the view that shows the layer's own beads as large as they fit in (rows, columns)."""
    beads = scene.beads.where(np.arange(scene.earlier, len(scene.beads)))
    half = 0.5 * float(beads.width_mm.max(initial=0.0))
    x, y = np.concatenate([beads.x0_mm, beads.x1_mm]), np.concatenate([beads.y0_mm, beads.y1_mm])
    left, right, front, back = float(x.min()), float(x.max()), float(y.min()), float(y.max())
    rows, columns = size
    room = 1.0 - 2.0 * MARGIN
    wide, deep = right - left + 2.0 * half, back - front + 2.0 * half
    scale = room * min(columns / wide, rows / deep)
    return View(
        0.5 * (left + right) - 0.5 * columns / scale, 0.5 * (front + back) + 0.5 * rows / scale, scale
    )


def _lay_over(image: F64, over: U32) -> None:
    """Lay a premultiplied picture 0xAARRGGBB over an opaque one (rows, columns, 3)."""
    clear = 1.0 - (over >> 24).astype(np.float64) / 255.0
    for channel, shift in enumerate((16, 8, 0)):
        image[..., channel] = image[..., channel] * clear + (over >> shift & 255)
