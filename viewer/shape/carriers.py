"""What carries a layer: the layers below it, looked up by height, and the plate.

Layers of support alone may stand at heights of their own between those of the part, and parts on one plate may have
layers of different heights. So the layer printed before is not always the one that carries.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Final

import numpy as np

from viewer.beads.section import Beads
from viewer.layers.layers import Layers
from viewer.shape.masks import INFILL_BIT, KEPT, LayerMask, MaskBuffers

FLAT_MM: Final = 0.01
"""Less than this is rounding of the program's decimals."""
NEAR_LAYERS: Final = 2.0
"""What lies up to this many usual thicknesses below a layer's top carries it."""
PLATE_LAYERS: Final = 2.0
"""The plate carries what begins up to this many thicknesses above it: beads sink onto it. Common practice, no source."""
GAP_MM: Final = 0.5
"""Support up to this far below (or two thicknesses) carries: common practice is a gap of one layer or two."""


def plate_reach_mm(layers: Layers, base: int, usual_mm: float, nozzle_mm: float) -> float:
    """Return up to which height beads that begin there are carried by the plate, mm.

    The plate lies below the object's first layer, number ``base``. That one is no thicker than the nozzle is wide:
    where the program's heights do not begin at the plate, its own thickness is not known.
    """
    first = min(float(layers.thickness_mm[base - 1]), nozzle_mm)
    return float(layers.height_mm[base - 1]) - first + PLATE_LAYERS * max(first, usual_mm) + FLAT_MM


def further_down(above: LayerMask, earlier: Sequence[LayerMask], usual_mm: float) -> Iterator[Beads]:
    """Return the beads that carry the layer, of the layers further down than the one before it.

    The nearest layer that holds part carries, and what lies within two usual thicknesses: the turns of a spiral do not
    meet at one place, and over a slot of one layer's height a bead sinks by that height. Support and
    raft are printed with a gap to the part: of these, what lies within three thicknesses carries.
    """
    for drawn in earlier:
        if drawn.height_mm >= _least_mm(above, usual_mm):
            yield drawn.beads
        else:
            yield from support_near(above, (drawn,), usual_mm)


def _least_mm(above: LayerMask, usual_mm: float) -> float:
    """Return the least height of layers that carry."""
    return above.height_mm - max(NEAR_LAYERS * usual_mm, above.thickness_mm) - FLAT_MM


def support_near(above: LayerMask, below: Sequence[LayerMask], usual_mm: float) -> Iterator[Beads]:
    """Return the support and raft of the layers that lie near enough to carry."""
    least = above.height_mm - above.thickness_mm - max(GAP_MM, 2.0 * usual_mm) - FLAT_MM
    for drawn in below:
        support = drawn.beads.where(drawn.bits > INFILL_BIT)
        if drawn.height_mm >= least and len(support):
            yield support


def hollows_below(
    buffers: MaskBuffers, above: LayerMask, below: Sequence[LayerMask], usual_mm: float
) -> Iterator[None]:
    """Gather the hollows of the layers that carry in `MaskBuffers.inside`, one layer after another.

    Infill may be laid in every second layer only, so that one layer alone does not tell what is inside. The nearest
    layer that holds part counts however far down it is.
    """
    buffers.inside.fill(0)
    parts = [drawn for drawn in below if drawn.has_part][: KEPT - 1]
    for number, drawn in enumerate(parts):
        if number == 0 or drawn.height_mm >= _least_mm(above, usual_mm):
            np.bitwise_or(buffers.inside, drawn.hollows(buffers), out=buffers.inside)
            yield


def widened(beads: Beads, by_mm: float) -> Beads:
    """Return the same beads, wider by ``by_mm`` on either side."""
    width = beads.width_mm + np.float32(2.0 * by_mm)
    return Beads(beads.x0_mm, beads.y0_mm, beads.x1_mm, beads.y1_mm, width, beads.thickness_mm, beads.move)
