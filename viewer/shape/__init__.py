"""Stage 5, beads to shape: ``masks -> over_air | thickness | travel -> walk``; ``ground``, ``outside``, ``widths``.

Everything that measures the geometry of what is laid, and judges nothing. The public entrance is `shape_of`.
"""

from __future__ import annotations

from viewer.shape.columns import ShapeColumns
from viewer.shape.spots import ShapeFigures
from viewer.shape.walk import USUAL_ANGLE_DEG, shape_of

__all__ = ["USUAL_ANGLE_DEG", "ShapeColumns", "ShapeFigures", "shape_of"]
