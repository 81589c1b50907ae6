"""`painting`: a painter that has ended when its block ends, however that ends."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager

from PySide6.QtGui import QPaintDevice, QPainter


@contextmanager
def painting(device: QPaintDevice) -> Iterator[QPainter]:
    """Return a painter for a widget's paint event.

    A failure keeps the frame it came from, and with it the painter; Qt may not find it at work after the event.
    """
    painter = QPainter(device)
    try:
        yield painter
    finally:
        painter.end()
