"""What is written and drawn over the picture of the whole part: axes with their names, a scale."""

from __future__ import annotations

import math
from typing import Final

import numpy as np

from viewer.arrays import U8
from viewer.part.view import PartView
from viewer.shown.pictures.bead_values import round_step
from viewer.shown.pictures.colours import Rgb

_GLYPHS: Final = {
    "0": "0e11131519110e", "1": "040c040404040e", "2": "0e11010204081f", "3": "1f02040201110e", "4": "02060a121f0202",
    "5": "1f101e0101110e", "6": "0608101e11110e", "7": "1f010204080808", "8": "0e11110e11110e", "9": "0e11110f01020c",
    "X": "11110a040a1111", "Y": "11110a04040404", "Z": "1f01020408101f", "m": "00001a15151511", ".": "00000000000c0c",
}  # fmt: skip
"""Seven rows of five pixels each, two hexadecimal digits a row: a picture on the console has no fonts."""
SCALE_SHARE: Final = 0.12
"""Length of the scale, at most, as a share of the picture's width."""
AXIS_SHARE: Final = 0.05


def inscribe(image: U8, view: PartView, ink: Rgb, ground: Rgb) -> None:
    """Draw the axes and a scale of a round length into the lower corners; ``image`` (rows, columns, 3) is changed.

    The scale stands on a patch of the ground's colour, so that it can be read where beads reach into the corner.
    """
    rows, columns, _ = image.shape
    pixel = max(1, round(columns / 700))
    _axes(image, view, ink, pixel)
    length = round_step(SCALE_SHARE * columns / view.px_per_mm / 2.0)
    long_px = length * view.px_per_mm
    right, down = columns - 8.0 * pixel, rows - 8.0 * pixel
    text = f"{length:g} mm"
    wide = max(long_px, 6.0 * pixel * len(text))
    _clear(image, (down - 17.0 * pixel, right - wide - 4.0 * pixel), ground)
    draw_line(image, (down, right - long_px), (down, right), 1.2 * pixel, ink)
    for end in (right - long_px, right):
        draw_line(image, (down - 3.0 * pixel, end), (down, end), 1.2 * pixel, ink)
    _write(image, text, (down - 13.0 * pixel, right - 6.0 * pixel * len(text)), pixel, ink)


def _clear(image: U8, corner: tuple[float, float], ground: Rgb) -> None:
    """Fill from (row, column) to the lower right corner with the ground's colour."""
    image[max(round(corner[0]), 0) :, max(round(corner[1]), 0) :] = ground


def _axes(image: U8, view: PartView, ink: Rgb, pixel: int) -> None:
    """Draw the directions of X, Y and Z; one that points at the eye is left out."""
    rows, columns, _ = image.shape
    long_px = AXIS_SHARE * columns
    down0, across0 = rows - 1.45 * long_px, 1.45 * long_px
    for k, name in enumerate("XYZ"):
        dx, dy = view.right[k] * long_px, -view.up[k] * long_px
        size = math.hypot(dx, dy)
        if size < 0.15 * long_px:
            continue
        draw_line(image, (down0, across0), (down0 + dy, across0 + dx), 1.2 * pixel, ink)
        beyond = 1.0 + 6.0 * pixel / size
        _write(
            image, name, (down0 + dy * beyond - 3.5 * pixel, across0 + dx * beyond - 2.5 * pixel), pixel, ink
        )


def draw_line(
    image: U8, start: tuple[float, float], end: tuple[float, float], width_px: float, ink: Rgb
) -> None:
    """Draw a straight line from (row, column) to (row, column), anti-aliased, with round ends."""
    reach = 0.5 * width_px + 1.0
    rows, columns, _ = image.shape
    top, bottom = (
        max(math.floor(min(start[0], end[0]) - reach), 0),
        min(math.ceil(max(start[0], end[0]) + reach), rows - 1),
    )
    left, right = (
        max(math.floor(min(start[1], end[1]) - reach), 0),
        min(math.ceil(max(start[1], end[1]) + reach), columns - 1),
    )
    if top > bottom or left > right:
        return
    row, column = np.mgrid[top : bottom + 1, left : right + 1].astype(np.float64)
    dy, dx = end[0] - start[0], end[1] - start[1]
    size = max(dy * dy + dx * dx, 1e-12)
    along = np.clip(((row - start[0]) * dy + (column - start[1]) * dx) / size, 0.0, 1.0)
    off = np.hypot(row - start[0] - along * dy, column - start[1] - along * dx)
    share = np.clip(0.5 * width_px + 0.5 - off, 0.0, 1.0)[..., None]
    own = image[top : bottom + 1, left : right + 1]
    own[:] = np.rint(own * (1.0 - share) + np.array(ink) * share).astype(np.uint8)


def _write(image: U8, text: str, place: tuple[float, float], pixel: int, ink: Rgb) -> None:
    """Write from (row, column) on, each dot a square of so many pixels; what lies outside of the picture is left out."""
    rows, columns, _ = image.shape
    for n, letter in enumerate(text):
        dots = bytes.fromhex(_GLYPHS.get(letter, "00" * 7))
        for y, line in enumerate(dots):
            for x in range(5):
                top, left = round(place[0]) + y * pixel, round(place[1]) + (6 * n + x) * pixel
                if line >> (4 - x) & 1 and 0 <= top < rows and 0 <= left < columns:
                    image[top : top + pixel, left : left + pixel] = ink
