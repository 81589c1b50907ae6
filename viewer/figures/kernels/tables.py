"""One pass over the moves: filament drawn, paths, extents and flows, by layer, role and tool."""

from __future__ import annotations

import numpy as np

from viewer.jit import kernel

_i = np.int64
_BEAD, _RETRACT, _PLACE = _i(1), _i(3), _i(5)
_PURGE = _i(8)
_PART, _PURGED, _OTHERS = _i(0), _i(6), _i(12)  # places in `extent`
TOOLS = _i(64)

# columns of the layer table
BEAD_MM, TRAVEL_MM, WIPE_MM, DRAWN_MM, BEAD_S, PEAK_FLOW, FED_MM = (_i(k) for k in range(7))
LAYER_COLUMNS = 7
# places in `extent`: lowest and highest x y z of beads that are no purge, then of all beads, then of all moves
EXTENT_PLACES = 18
# places in `counts`: motions of each kind as commanded (an arc counts once), then the wiped and the fed filament
KINDS = 6


@kernel
def _stretch(extent, at, x, y, z):
    extent[at] = min(extent[at], x)
    extent[at + 1] = max(extent[at + 1], x)
    extent[at + 2] = min(extent[at + 2], y)
    extent[at + 3] = max(extent[at + 3], y)
    extent[at + 4] = min(extent[at + 4], z)
    extent[at + 5] = max(extent[at + 5], z)


@kernel
def tabulate(
    x, y, z, length, filament, line, kind, setting, role, time, peak, first_move, tool_of_setting, area_mm2,
    by_layer, role_drawn, role_path, layer_role_path, tool_drawn, tool_before, extent, counts, net,
):  # fmt: skip
    """Sum up the moves.

    Parameters
    ----------
    x ... peak
        Columns of moves, settings, roles and timing.
    first_move
        Of the layers, int32 (layers + 1,).
    tool_of_setting
        int64, the tool of each row of the settings table.
    area_mm2
        Cross-section of the filament.
    by_layer
        float64 (layers + 2, LAYER_COLUMNS), zeros: row 0 the prelude, the last row the coda.
    role_drawn, role_path, layer_role_path
        float64 (roles,), (roles,), (layers + 2, roles), zeros. Path of beads, mm.
    tool_drawn, tool_before
        float64 (TOOLS,), zeros: drawn in all, and drawn before the first layer.
    extent
        float64 (EXTENT_PLACES,): lowest places hold inf, highest -inf.
    counts
        int64 (KINDS,), zeros: motions as commanded.
    net
        float64 (2,), zeros: net sum of filament; filament of beads alone.

    Notes
    -----
    Filament counts as drawn when a tool's running sum exceeds its highest value so far, so that retract and
    prime cancel.
    """
    n = len(kind)
    layers = len(first_move) - 1
    run = np.zeros(TOOLS)
    best = np.zeros(TOOLS)
    layer = 0
    px, py, pz = 0.0, 0.0, 0.0
    last_line = -1
    last_sort = _OTHERS
    last_role = 0
    for i in range(n):
        while layer <= layers and first_move[layer] <= i:
            layer += 1
        k = np.int64(kind[i])
        nx, ny, nz = np.float64(x[i]), np.float64(y[i]), np.float64(z[i])
        if line[i] != last_line or k == _PLACE:
            counts[k] += 1
            last_line = line[i]
        path = np.float64(length[i])
        fed = np.float64(filament[i])
        sort = _OTHERS
        if k == _BEAD:
            r = np.int64(role[i])
            last_role = r
            by_layer[layer, BEAD_MM] += path
            by_layer[layer, BEAD_S] += time[i]
            by_layer[layer, FED_MM] += fed
            role_path[r] += path
            layer_role_path[layer, r] += path
            net[1] += fed
            if path > 0.0:
                flow = fed / path * area_mm2 * peak[i]
                by_layer[layer, PEAK_FLOW] = max(by_layer[layer, PEAK_FLOW], flow)
            inside = layer > 0 and layer <= layers and r != _PURGE
            sort = _PART if inside else _PURGED
            if last_sort != sort:
                _stretch(extent, sort, px, py, pz)
        elif k == 0:
            by_layer[layer, TRAVEL_MM] += path
        elif k == 2:
            by_layer[layer, WIPE_MM] += path
        if fed != 0.0:
            tool = tool_of_setting[setting[i]]
            net[0] += fed
            run[tool] += fed
            drawn = run[tool] - best[tool]
            if drawn > 0.0:
                best[tool] = run[tool]
                by_layer[layer, DRAWN_MM] += drawn
                role_drawn[last_role if layer > 0 else _PURGE] += drawn
                if layer == 0:
                    tool_before[tool] += drawn
        _stretch(extent, sort, nx, ny, nz)
        last_sort = sort
        px, py, pz = nx, ny, nz
    for axis in range(
        0, 6, 2
    ):  # all beads are those of the part and the purged; all moves are beads and others
        for inner, outer in ((_PART, _PURGED), (_PURGED, _OTHERS)):
            extent[outer + axis] = min(extent[outer + axis], extent[inner + axis])
            extent[outer + axis + 1] = max(extent[outer + axis + 1], extent[inner + axis + 1])
    for tool in range(TOOLS):
        tool_drawn[tool] = best[tool]
