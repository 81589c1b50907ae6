"""A picture as an ``img`` tag that holds its PNG: browsers and simple rich-text engines know both."""

from __future__ import annotations

from base64 import b64encode
from html import escape

from viewer.arrays import U8
from viewer.shown.pictures.png import png_bytes


def image_tag(image: U8, alt: str, width: int, height: int | None = None) -> str:
    """Return a picture (rows, columns, 3) as an ``img`` tag.

    Parameters
    ----------
    alt
        Says in words what the picture shows.
    width, height
        On paper, in pixels of 1/96 inch; without a height it follows from the width.
    """
    data = b64encode(png_bytes(image)).decode("ascii")
    size = f'width="{width}"' if height is None else f'width="{width}" height="{height}"'
    return (
        f'<img {size} style="vertical-align: middle" alt="{escape(alt)}" src="data:image/png;base64,{data}">'
    )
