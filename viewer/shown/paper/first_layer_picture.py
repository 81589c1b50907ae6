"""The first layer on its plate as an SVG drawing, to scale, for paper."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

import numpy as np

from viewer.beads.section import Beads
from viewer.cards.printer import Plate
from viewer.layers.layers import HOLD, PURGE
from viewer.program import Program
from viewer.shown.numbers import place_text

PART_INK: Final = "#1f3b57"
HOLD_INK: Final = "#8a7a5c"
PLATE_INK: Final = "#555555"
"""Against white at least 4:1; the part is darker than the hold-down in grey as well."""
WIDTH_STEP_MM: Final = 0.05
"""Beads whose widths round to the same step are one stroke: a hair on paper."""
MARGIN_MM: Final = 4.0
MAX_BEADS: Final = 60_000
"""More would make a page of many MB; the drawing then says that it is not complete."""


@dataclass(frozen=True, slots=True)
class Box:
    """What the drawing shows, mm."""

    left: float
    front: float
    right: float
    back: float

    def joined(self, other: Box) -> Box:
        """Return the box around both."""
        return Box(
            min(self.left, other.left), min(self.front, other.front),
            max(self.right, other.right), max(self.back, other.back),
        )  # fmt: skip


def first_layer_svg(program: Program, width_mm: float = 76.0) -> str:
    """Draw the first layer of all objects with the plate's outline; "" where there is nothing to draw.

    Parameters
    ----------
    width_mm
        Of the drawing on paper; it is at most half as high again.
    """
    beads, is_hold = _first_beads(program)
    plate = _plate_box(program.printer.plate)
    if not len(beads):
        return ""
    around = _box_of(beads)
    box = around if plate is None else plate.joined(around)
    wide, deep = box.right - box.left + 2 * MARGIN_MM, box.back - box.front + 2 * MARGIN_MM
    scale = min(width_mm / wide, 1.5 * width_mm / deep)
    shown = beads.where(np.arange(min(len(beads), MAX_BEADS)))
    pieces = [
        f'<svg xmlns="http://www.w3.org/2000/svg" role="img" width="{wide * scale:.1f}mm" '
        f'height="{deep * scale:.1f}mm" viewBox="{box.left - MARGIN_MM:.2f} {-box.back - MARGIN_MM:.2f} {wide:.2f} '
        f'{deep:.2f}">',
        f"<title>First layer, {place_text(around.right - around.left)} by {place_text(around.back - around.front)} mm"
        "</title>",
        *_plate_outline(program.printer.plate),
        *_strokes(shown, is_hold[: len(shown)]),
        "</svg>",
    ]
    return "\n".join(pieces)


def is_complete(program: Program) -> bool:
    """Whether the drawing shows every bead of the first layer."""
    return len(_first_beads(program)[0]) <= MAX_BEADS


def _first_beads(program: Program) -> tuple[Beads, np.ndarray[tuple[int], np.dtype[np.bool_]]]:
    """Return the beads of the layers that rest on the plate, purge left out, and which of them are hold-down."""
    numbers = np.flatnonzero(program.layers.is_first) + 1
    beads = Beads.joined([program.beads_of(int(number)) for number in numbers])
    role = program.roles[beads.move]
    kept = role != PURGE
    return beads.where(kept), role[kept] == HOLD


def _box_of(beads: Beads) -> Box:
    reach = 0.5 * beads.width_mm
    return Box(
        float((np.minimum(beads.x0_mm, beads.x1_mm) - reach).min()),
        float((np.minimum(beads.y0_mm, beads.y1_mm) - reach).min()),
        float((np.maximum(beads.x0_mm, beads.x1_mm) + reach).max()),
        float((np.maximum(beads.y0_mm, beads.y1_mm) + reach).max()),
    )


def _plate_box(plate: Plate) -> Box | None:
    box = plate.box_mm
    return None if box is None else Box(*box)


def _plate_outline(plate: Plate) -> Iterator[str]:
    box, look = _plate_box(plate), f'fill="none" stroke="{PLATE_INK}" stroke-width="0.8"'
    if box is None:
        return
    if plate.shape == "circle":
        yield f'<circle cx="{plate.left_mm:.2f}" cy="{-plate.front_mm:.2f}" r="{(box.right - box.left) / 2:.2f}" {look}/>'
    else:
        yield (
            f'<rect x="{box.left:.2f}" y="{-box.back:.2f}" width="{box.right - box.left:.2f}" '
            f'height="{box.back - box.front:.2f}" {look}/>'
        )


def _strokes(beads: Beads, is_hold: np.ndarray[tuple[int], np.dtype[np.bool_]]) -> Iterator[str]:
    """Yield one path for each ink and width."""
    steps = np.maximum(np.rint(beads.width_mm / WIDTH_STEP_MM).astype(np.int64), 1)
    for hold, ink in ((True, HOLD_INK), (False, PART_INK)):
        for step in np.unique(steps[is_hold == hold]).tolist():
            own = beads.where((is_hold == hold) & (steps == step))
            yield (
                f'<path fill="none" stroke="{ink}" stroke-width="{step * WIDTH_STEP_MM:.2f}" '
                f'stroke-linecap="round" stroke-linejoin="round" d="{_path(own)}"/>'
            )


def _path(beads: Beads) -> str:
    """Return the path data; a bead that begins where the one before ended goes on with its line. Y points up."""
    parts = []
    last = None
    columns = (beads.x0_mm, beads.y0_mm, beads.x1_mm, beads.y1_mm)
    for x0, y0, x1, y1 in zip(*(np.round(column, 2).tolist() for column in columns), strict=True):
        if (x0, y0) != last:
            parts.append(f"M{x0:.2f} {-y0:.2f}")
        parts.append(f"L{x1:.2f} {-y1:.2f}")
        last = (x1, y1)
    return "".join(parts)
