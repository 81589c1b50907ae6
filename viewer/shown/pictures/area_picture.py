"""What two programs lay at one height, drawn over the picture of the layer: hatched, each its own way; no Qt."""

from __future__ import annotations

from typing import Final

import numpy as np

from viewer.beads.draw import U32, Grid, View, premultiplied
from viewer.shown.pictures.cells import cells_at_pixels
from viewer.shown.pictures.colours import ui
from viewer.why.areas import IN_A, IN_B, Areas

STRIPE_PX: Final = 7
"""From stripe to stripe."""
LINE_PX: Final = 2
"""Width of a stripe."""
INKS: Final = {IN_A: "stop", IN_B: "accent"}
"""The colour of what only A has, and of what only B has."""


def draw_areas(image: U32, areas: Areas, view: View, dark: bool, ratio: float) -> None:
    """Hatch what only one of two programs lays, over what stands in the image: (rows, columns).

    What only A has rises to the right, what only B has falls; both are framed. So they are told apart without colour.
    """
    grid = Grid(areas.left_mm, areas.front_mm, areas.cell_mm)
    kind = cells_at_pixels(areas.cells, grid, view, (image.shape[0], image.shape[1]), beside=0)
    colours = ui(dark)
    step, line = max(round(STRIPE_PX * ratio), 2), max(round(LINE_PX * ratio), 1)
    rows, columns = np.arange(image.shape[0])[:, None], np.arange(image.shape[1])[None, :]
    for bit, slope in ((IN_A, rows + columns), (IN_B, rows - columns)):
        own = kind == bit
        if own.any():
            ink = int(premultiplied(np.array((*colours[INKS[bit]], 255), np.uint8)))
            ground = int(premultiplied(np.array((*colours["plate"], 255), np.uint8)))
            image[own] = np.where(
                (slope % step < line)[own] | _edge(own)[own], np.uint32(ink), np.uint32(ground)
            )


def _edge(
    own: np.ndarray[tuple[int, ...], np.dtype[np.bool_]],
) -> np.ndarray[tuple[int, ...], np.dtype[np.bool_]]:
    """Return which pixels of a region have a neighbour outside of it."""
    inside = own.copy()
    inside[1:] &= own[:-1]
    inside[:-1] &= own[1:]
    inside[:, 1:] &= own[:, :-1]
    inside[:, :-1] &= own[:, 1:]
    return own & ~inside
