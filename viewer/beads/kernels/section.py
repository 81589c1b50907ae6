"""The kernels that turn moves into beads: width, selection, mass moments."""

# mypy: allow-untyped-defs, allow-untyped-calls
from __future__ import annotations

import numpy as np

from viewer.jit import kernel

BEAD = 1
HOLD = 7
PURGE = 8
WIDE = 20.0
"""A bead wider than this many thicknesses is a blob: common practice, no source (beads are one to eight)."""


@kernel
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
    kind, x, y, z, length, filament, first, last, layer, first_move, thickness, filament_area,
    x0, y0, x1, y1, width, thick, move,
):  # fmt: skip
    """Fill the columns of the beads among the moves ``first`` to ``last`` (exclusive) and give their number.

    ``layer`` is the row of the first move's layer, -1 in the prelude. ``first_move`` (layers + 1,) and
    ``thickness`` (layers,) are the layers' columns. A bead of the prelude lies on the plate, so that its
    height is its thickness; one after the last layer has the last layer's.
    """
    layers = len(thickness)
    found = 0
    for i in range(first, last):
        if kind[i] != BEAD:
            continue
        while layer < layers - 1 and i >= first_move[layer + 1]:
            layer += 1
        t = np.float64(z[i])
        if layer >= 0 and layers > 0:
            t = thickness[min(layer, layers - 1)]
        x0[found] = x[i - 1] if i > 0 else 0.0
        y0[found] = y[i - 1] if i > 0 else 0.0
        x1[found] = x[i]
        y1[found] = y[i]
        width[found] = _width(filament[i] * filament_area / length[i], np.float64(length[i]), t)
        thick[found] = t
        move[found] = i
        found += 1
    return found


@kernel
def add_moments(kind, x, y, z, filament, roles, first_move, thickness, owner, sums):
    """Add up each object's filament and its moments in float64: ``sums`` (objects, 4) of m, m x, m y, m z.

    Each bead's mass sits at its mid-point, half a thickness below the nozzle's path. Hold-down and purge are
    left out, and so are the prelude and what comes after the last layer.
    """
    for layer in range(len(thickness)):
        half = 0.5 * thickness[layer]
        m = 0.0
        mx = 0.0
        my = 0.0
        mz = 0.0
        for i in range(max(first_move[layer], 1), first_move[layer + 1]):
            if kind[i] == BEAD and roles[i] != HOLD and roles[i] != PURGE:
                share = 0.5 * filament[i]
                m += share
                mx += share * (np.float64(x[i - 1]) + np.float64(x[i]))
                my += share * (np.float64(y[i - 1]) + np.float64(y[i]))
                mz += share * (np.float64(z[i - 1]) + np.float64(z[i]))
        k = owner[layer]
        sums[k, 0] += 2.0 * m
        sums[k, 1] += mx
        sums[k, 2] += my
        sums[k, 3] += mz - 2.0 * m * half
