"""Kernel on all moves: how much path has which bead width."""

# mypy: allow-untyped-defs, allow-untyped-calls
from __future__ import annotations

import numpy as np

from viewer.jit import kernel

BEAD = 1  # as viewer.read.moves; a kernel's constants stand in its own family
HOLD = 7  # as viewer.layers.layers; the only role behind it is purge
WIDTH_BIN_MM = 0.002
WIDTH_BINS = 4096


@kernel
def add_widths(kind, role, fed_mm, length_mm, first_move, thickness_mm, area_mm2, path_mm):
    """Add the path length of the part's beads to bins of their width: ``path_mm`` (bins,), 0 at the beginning.

    Oblong section: A = (w - t) t + pi t^2/4; a bead with less than pi t^2/4 is round. Hold-down and purge
    are left out.
    """
    layer = 0
    last = len(thickness_mm)
    begin = first_move[0]
    for i in range(begin, first_move[last]):
        while layer + 1 < last and i >= first_move[layer + 1]:
            layer += 1
        if kind[i] != BEAD or role[i] >= HOLD or not length_mm[i] > 0.0:
            continue
        t = thickness_mm[layer]
        area = fed_mm[i] * area_mm2 / length_mm[i]
        disc = 0.25 * np.pi * t * t
        width = (area - disc) / t + t if area >= disc else np.sqrt(4.0 * area / np.pi)
        path_mm[min(int(width / WIDTH_BIN_MM), WIDTH_BINS - 1)] += length_mm[i]
