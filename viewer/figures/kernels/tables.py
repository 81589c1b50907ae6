"""One pass over the moves: filament drawn, paths, extents and flows, by layer, role and tool."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final, NamedTuple

import numpy as np

from viewer.figures.kernels.columns import BEAD, PLACE, PURGE, TRAVEL, WIPE, Moves
from viewer.jit import inner_kernel, kernel

if TYPE_CHECKING:
    from viewer.arrays import F32, F64, I32, I64, U8

TOOLS: Final = np.int64(64)
"""Tools that are told apart, as in the reader."""
KINDS: Final = 6

# columns of the layer table
BEAD_MM, TRAVEL_MM, WIPE_MM, DRAWN_MM, BEAD_S, PEAK_FLOW, FED_MM = (np.int64(k) for k in range(7))
LAYER_COLUMNS: Final = 7

# places in `Sums.extent`: lowest and highest x y z of beads that are no purge, then of the other beads (in the end of
# all beads), then of all other moves (in the end of all moves)
PART: Final = np.int64(0)
PURGED: Final = np.int64(6)
OTHERS: Final = np.int64(12)
EXTENT_PLACES: Final = 18

# places in `Sums.net`
ALL_FED: Final = 0
BEADS_FED: Final = 1


class Rows(NamedTuple):
    """What other stages say of each move: (n,) each."""

    setting: I32  # row of the settings table
    role: U8
    time_s: F32
    peak_mm_s: F32


class Sums(NamedTuple):
    """What is summed up; zeros at first, but for ``extent``."""

    by_layer: F64  # (layers + 2, LAYER_COLUMNS) row 0 the prelude, the last row the coda
    layer_role_path: F64  # (layers + 2, roles) path of beads, mm
    role_drawn: F64  # (roles,) filament, mm
    role_path: F64  # (roles,) path of beads, mm
    tool_drawn: F64  # (TOOLS,) filament, mm
    tool_before: F64  # (TOOLS,) the same before the first layer
    extent: F64  # (EXTENT_PLACES,) lowest places hold inf, highest -inf
    counts: I64  # (KINDS,) motions of each kind as commanded: an arc counts once
    net: F64  # (2,) net sum of all filament fed; of the beads alone


@inner_kernel
def _stretch(extent, at, x, y, z):
    """Stretch lowest and highest x y z over a point."""
    extent[at] = min(extent[at], x)
    extent[at + 1] = max(extent[at + 1], x)
    extent[at + 2] = min(extent[at + 2], y)
    extent[at + 3] = max(extent[at + 3], y)
    extent[at + 4] = min(extent[at + 4], z)
    extent[at + 5] = max(extent[at + 5], z)


@inner_kernel
def _join_extents(extent):
    """Stretch the extent of other beads over the part's, and that of other moves over all beads'."""
    for axis in range(0, 6, 2):
        for inner, outer in ((PART, PURGED), (PURGED, OTHERS)):
            extent[outer + axis] = min(extent[outer + axis], extent[inner + axis])
            extent[outer + axis + 1] = max(extent[outer + axis + 1], extent[inner + axis + 1])


@inner_kernel
def _add_bead(sums, layer, role, path, fed, seconds, peak, area_mm2):
    """Add one bead to its layer and its role; its flow is Q = A v = fed / path x area x speed reached, mm3/s."""
    sums.by_layer[layer, BEAD_MM] += path
    sums.by_layer[layer, BEAD_S] += seconds
    sums.by_layer[layer, FED_MM] += fed
    sums.role_path[role] += path
    sums.layer_role_path[layer, role] += path
    sums.net[BEADS_FED] += fed
    if path > 0.0:
        flow = fed / path * area_mm2 * peak
        sums.by_layer[layer, PEAK_FLOW] = max(sums.by_layer[layer, PEAK_FLOW], flow)


@kernel
def tabulate(
    moves: Moves, rows: Rows, first_move: I32, tool_of_setting: I64, area_mm2: float, sums: Sums
) -> None:
    """Sum up the moves.

    Parameters
    ----------
    moves, rows
        Columns of the moves.
    first_move
        Of the layers, (layers + 1,).
    tool_of_setting
        The tool of each row of the settings table.
    area_mm2
        Cross-section of the filament.
    sums
        Changed.

    Notes
    -----
    Filament counts as drawn when a tool's running sum exceeds its highest value so far, so that retract and
    prime cancel.
    """
    layers = len(first_move) - 1
    run = np.zeros(TOOLS)  # running sum of each tool's filament, mm
    best = np.zeros(TOOLS)  # its highest value so far
    layer = 0
    px, py, pz = 0.0, 0.0, 0.0
    last_line = -1
    last_sort = OTHERS
    last_role = 0  # of the last bead: what is primed before the first bead of another role goes with it
    for i in range(len(moves.kind)):
        while layer <= layers and first_move[layer] <= i:
            layer += 1
        kind = np.int64(moves.kind[i])
        x, y, z = np.float64(moves.x_mm[i]), np.float64(moves.y_mm[i]), np.float64(moves.z_mm[i])
        if moves.line[i] != last_line or kind == PLACE:
            sums.counts[kind] += 1
            last_line = moves.line[i]
        path = np.float64(moves.length_mm[i])
        fed = np.float64(moves.fed_mm[i])
        sort = OTHERS
        if kind == BEAD:
            role = np.int64(rows.role[i])
            last_role = role
            _add_bead(sums, layer, role, path, fed, rows.time_s[i], rows.peak_mm_s[i], area_mm2)
            inside = layer > 0 and layer <= layers and role != PURGE
            sort = PART if inside else PURGED
            if last_sort != sort:  # where it starts was counted with another sort
                _stretch(sums.extent, sort, px, py, pz)
        elif kind == TRAVEL:
            sums.by_layer[layer, TRAVEL_MM] += path
        elif kind == WIPE:
            sums.by_layer[layer, WIPE_MM] += path
        if fed != 0.0:
            tool = tool_of_setting[rows.setting[i]]
            sums.net[ALL_FED] += fed
            run[tool] += fed
            drawn = run[tool] - best[tool]
            if drawn > 0.0:
                best[tool] = run[tool]
                sums.by_layer[layer, DRAWN_MM] += drawn
                sums.role_drawn[last_role if layer > 0 else PURGE] += drawn
                if layer == 0:
                    sums.tool_before[tool] += drawn
        _stretch(sums.extent, sort, x, y, z)
        last_sort = sort
        px, py, pz = x, y, z
    _join_extents(sums.extent)
    for tool in range(TOOLS):
        sums.tool_drawn[tool] = best[tool]
