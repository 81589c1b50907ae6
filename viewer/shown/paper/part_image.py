"""The whole part as a picture on the job sheet."""

from __future__ import annotations

from typing import Final

from viewer.program import Program
from viewer.shown.paper.image_tag import image_tag
from viewer.shown.pictures.part_picture import Wanted, part_picture

WIDE_PX: Final = 280
"""On the page, in pixels of 1/96 inch."""
DRAWN_PX: Final = (840, 500)
"""Width and height of the picture: three pixels of it on one of the page."""


def part_image(program: Program) -> str:
    """Return an ``img`` that shows the whole part from a corner; "" where there is nothing to draw."""
    if not len(program.layers):
        return ""
    width, height = DRAWN_PX
    picture = part_picture(program, "corner", Wanted(width=width, height=height, inscribed=False))
    return image_tag(picture, f"the part of {program.path.name}", WIDE_PX)
