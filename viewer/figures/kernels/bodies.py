"""The kernels that tell the parts printed together apart: their shadow on the plate, their mass and height."""

# mypy: allow-untyped-defs, allow-untyped-calls
from __future__ import annotations

import numpy as np

from viewer.jit import kernel

_i = np.int64
_BEAD, _HOLD, _PURGE = _i(1), _i(7), _i(8)


@kernel
def stretch_box(kind, roles, x, y, first, last, box):
    """Stretch ``box`` (4,) of low x, high x, low y, high y over both ends of the part's beads among some moves."""
    for i in range(max(first, 1), last):
        if kind[i] == _BEAD and roles[i] != _HOLD and roles[i] != _PURGE:
            for j in range(i - 1, i + 1):
                box[0] = min(box[0], x[j])
                box[1] = max(box[1], x[j])
                box[2] = min(box[2], y[j])
                box[3] = max(box[3], y[j])


@kernel
def mark_path(kind, roles, x, y, first, last, left, front, cell, mask):
    """Set the cells of ``mask`` (rows, columns) through which the middle lines of the part's beads go.

    One cell a step of at most a cell's side: a line that only cuts a corner may leave that cell out. All beads lie
    within the mask.
    """
    scale = 1.0 / cell
    for i in range(max(first, 1), last):
        if kind[i] == _BEAD and roles[i] != _HOLD and roles[i] != _PURGE:
            px = (np.float64(x[i - 1]) - left) * scale
            py = (np.float64(y[i - 1]) - front) * scale
            dx = (np.float64(x[i]) - left) * scale - px
            dy = (np.float64(y[i]) - front) * scale - py
            steps = np.int64(max(abs(dx), abs(dy))) + 1
            share = 1.0 / steps
            dx *= share
            dy *= share
            for _ in range(steps + 1):
                mask[np.uint64(py), np.uint64(px)] = 1
                px += dx
                py += dy


@kernel
def add_bodies(
    kind,
    roles,
    x,
    y,
    z,
    filament,
    first_move,
    thickness,
    first_layer,
    last_layer,
    left,
    front,
    cell,
    labels,
    sums,
    top,
):
    """Add up the filament, its moments and the greatest height of each body, by the label at the bead's mid-point.

    ``sums`` (bodies + 1, 4) of m, m x, m y, m z; ``top`` (bodies + 1,). Each bead's mass sits at its mid-point, half
    a thickness below the nozzle's path.
    """
    scale = 1.0 / cell
    for layer in range(first_layer, last_layer):
        half = 0.5 * thickness[layer]
        for i in range(max(first_move[layer], 1), first_move[layer + 1]):
            if kind[i] == _BEAD and roles[i] != _HOLD and roles[i] != _PURGE:
                mx = 0.5 * (np.float64(x[i - 1]) + np.float64(x[i]))
                my = 0.5 * (np.float64(y[i - 1]) + np.float64(y[i]))
                mz = 0.5 * (np.float64(z[i - 1]) + np.float64(z[i])) - half
                body = labels[np.uint64((my - front) * scale), np.uint64((mx - left) * scale)]
                m = np.float64(filament[i])
                sums[body, 0] += m
                sums[body, 1] += m * mx
                sums[body, 2] += m * my
                sums[body, 3] += m * mz
                top[body] = max(top[body], np.float64(z[i]))
