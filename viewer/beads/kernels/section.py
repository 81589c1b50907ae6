"""The kernels that turn moves into beads: width, selection, mass moments."""

# mypy: allow-untyped-defs, allow-untyped-calls
from __future__ import annotations

from typing import TYPE_CHECKING, Final

import numpy as np

from viewer.beads.kernels.columns import BEAD, HOLD, PURGE, Beads, Layers, Moves
from viewer.jit import inner_kernel, kernel

if TYPE_CHECKING:
    from viewer.arrays import F64, U8

WIDE: Final = 20.0
"""A bead wider than this many thicknesses is a blob: common practice, no source (beads are one to eight)."""


@inner_kernel
def _width(area, length, thickness):
    """Return the width, mm, of a bead of cross-section ``area`` (mm2); see `viewer.beads.section`."""
    round_area = 0.25 * np.pi * thickness * thickness
    if thickness <= 0.0 or area < round_area:
        return np.sqrt(4.0 * area / np.pi)
    width = (area - round_area) / thickness + thickness
    if width <= WIDE * thickness:
        return width
    # a blob: w L + pi w^2/4 = V/t, the root written so that it does not cancel for long beads
    spread = area * length / thickness
    return 2.0 * spread / (length + np.sqrt(length * length + np.pi * spread))


@kernel
def gather_beads(
    moves: Moves, layers: Layers, first: int, last: int, layer: int, filament_area: float, beads: Beads
) -> int:
    """Fill the columns of the beads among the moves ``first`` to ``last`` (exclusive) and return their number.

    ``layer`` is the row of the first move's layer, -1 in the prelude; ``filament_area`` in mm2. A bead of the prelude
    lies on the plate, so that its height is its thickness; one after the last layer has the last layer's.
    """
    x, y, first_move, thickness = moves.x_mm, moves.y_mm, layers.first_move, layers.thickness_mm
    count = len(thickness)
    found = 0
    for i in range(first, last):
        if moves.kind[i] != BEAD:
            continue
        while layer < count - 1 and i >= first_move[layer + 1]:
            layer += 1
        t = np.float64(moves.z_mm[i])
        if layer >= 0 and count > 0:
            t = thickness[min(layer, count - 1)]
        beads.x0_mm[found] = x[i - 1] if i > 0 else 0.0
        beads.y0_mm[found] = y[i - 1] if i > 0 else 0.0
        beads.x1_mm[found] = x[i]
        beads.y1_mm[found] = y[i]
        length = moves.length_mm[i]
        beads.width_mm[found] = _width(moves.fed_mm[i] * filament_area / length, np.float64(length), t)
        beads.thickness_mm[found] = t
        beads.move[found] = i
        found += 1
    return found


@kernel
def add_moments(moves: Moves, roles: U8, layers: Layers, sums: F64) -> None:
    """Add up each object's filament and its moments in float64: ``sums`` (objects, 4) of m, m x, m y, m z.

    Each bead's mass sits at its mid-point, half a thickness below the nozzle's path. Hold-down and purge are
    left out, and so are the prelude and what comes after the last layer.
    """
    x, y, z, first_move = moves.x_mm, moves.y_mm, moves.z_mm, layers.first_move
    for layer in range(len(layers.thickness_mm)):
        half = 0.5 * layers.thickness_mm[layer]
        m = 0.0
        mx = 0.0
        my = 0.0
        mz = 0.0
        for i in range(max(first_move[layer], 1), first_move[layer + 1]):
            if moves.kind[i] == BEAD and roles[i] != HOLD and roles[i] != PURGE:
                share = 0.5 * moves.fed_mm[i]
                m += share
                mx += share * (np.float64(x[i - 1]) + np.float64(x[i]))
                my += share * (np.float64(y[i - 1]) + np.float64(y[i]))
                mz += share * (np.float64(z[i - 1]) + np.float64(z[i]))
        k = layers.object[layer]
        sums[k, 0] += 2.0 * m
        sums[k, 1] += mx
        sums[k, 2] += my
        sums[k, 3] += mz - 2.0 * m * half
