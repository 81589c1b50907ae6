"""The small picture of a survey's row: the whole part, a few centimetres wide on paper."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

if TYPE_CHECKING:  # not at run time: who names this function to a worker need not wait for the engine
    from viewer.program import Program

WIDTH_PX: Final = 168
HEIGHT_PX: Final = 126
"""Twice the size at which the page shows it: sharp on paper and on dense screens."""
PICTURE_SHAPE: Final = WIDTH_PX / HEIGHT_PX


def small_picture(program: Program) -> bytes:
    """Return the whole part of a program as a small PNG, light, without axes and scale."""
    from viewer.shown.pictures.part_picture import Wanted, part_picture
    from viewer.shown.pictures.png import png_bytes

    return png_bytes(part_picture(program, wanted=Wanted(width=WIDTH_PX, height=HEIGHT_PX, inscribed=False)))
