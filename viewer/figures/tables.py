"""The layer table, filament by tool and role, paths, counts and extents: one pass over the moves."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from viewer.arrays import F32, F64, U8, columns_of, freeze, read_only
from viewer.figures.kernels import tables as k
from viewer.figures.kernels.columns import Moves as MoveColumns
from viewer.layers.layers import ROLE_NAMES, Layers
from viewer.read.moves import Moves
from viewer.read.settings import Settings


@dataclass(frozen=True, slots=True)
class Extent:
    """Lowest and highest coordinates, mm; None where there is nothing."""

    x: tuple[float, float]
    y: tuple[float, float]
    z: tuple[float, float]


@dataclass(frozen=True, slots=True, eq=False)
class LayerTable:
    """One row a layer in between; row 0 is the prelude, the last row the coda: (layers + 2,) each."""

    bead_mm: F64
    travel_mm: F64
    wipe_mm: F64
    drawn_mm: F64  # filament drawn while the layer is printed
    bead_s: F64  # time of the beads alone
    peak_flow_mm3_s: F64  # highest flow of a bead, at the speed reached
    volume_mm3: F64  # of the beads
    role_mm: F64  # (layers + 2, roles) path of the beads by role

    @property
    def mean_flow_mm3_s(self) -> F64:
        """Volume over the time of the beads; 0 where there is none."""
        return np.divide(
            self.volume_mm3, self.bead_s, out=np.zeros_like(self.volume_mm3), where=self.bead_s > 0
        )


@dataclass(frozen=True, slots=True, eq=False)
class Totals:
    """Sums over the whole program."""

    layers: LayerTable
    counts: dict[str, int]
    """Motions as commanded, by kind; an arc counts once."""
    drawn_by_tool_mm: dict[int, float]
    part_by_tool_mm: dict[int, float]
    """The same without what is drawn before the first layer."""
    drawn_by_role_mm: dict[str, float]
    path_by_role_mm: dict[str, float]
    net_mm: float
    """Plain sum of all filament moves."""
    bead_filament_mm: float
    """Filament of the beads alone."""
    forward_mm: float
    """All filament fed forward, mm: what was pulled back and fed again counts twice."""
    extent: Extent | None
    """Of the beads' centre lines, purge left out."""
    extent_all: Extent | None
    """Of all beads' centre lines."""
    extent_moves: Extent | None
    """Of all moves."""

    @property
    def drawn_mm(self) -> float:
        """How far filament went forward in all, retract and prime cancelling."""
        return math.fsum(self.drawn_by_tool_mm.values())

    @property
    def part_mm(self) -> float:
        """`drawn_mm` without what is drawn before the first layer."""
        return math.fsum(self.part_by_tool_mm.values())


def tabulate(
    moves: Moves, settings: Settings, layers: Layers, roles: U8, time_s: F32, peak_mm_s: F32, area_mm2: float
) -> Totals:
    """Sum up the moves of a program.

    Parameters
    ----------
    roles
        (moves,) role of each move.
    time_s, peak_mm_s
        (moves,) from the planner.
    area_mm2
        Cross-section of the filament.
    """
    sums = _empty_sums(len(layers) + 2)
    rows = k.Rows(read_only(settings.of_move), read_only(roles), read_only(time_s), read_only(peak_mm_s))
    tools = read_only(settings.column("tool").astype(np.int64))
    k.tabulate(columns_of(MoveColumns, moves), rows, read_only(layers.first_move), tools, area_mm2, sums)
    freeze(sums.by_layer, sums.layer_role_path)
    used = np.flatnonzero(sums.tool_drawn > 0.0).tolist()
    names = ("travels", "beads", "wipes", "retracts", "primes")
    return Totals(
        layers=LayerTable(
            bead_mm=sums.by_layer[:, k.BEAD_MM],
            travel_mm=sums.by_layer[:, k.TRAVEL_MM],
            wipe_mm=sums.by_layer[:, k.WIPE_MM],
            drawn_mm=sums.by_layer[:, k.DRAWN_MM],
            bead_s=sums.by_layer[:, k.BEAD_S],
            peak_flow_mm3_s=sums.by_layer[:, k.PEAK_FLOW],
            volume_mm3=sums.by_layer[:, k.FED_MM] * area_mm2,
            role_mm=sums.layer_role_path,
        ),
        counts={name: int(count) for name, count in zip(names, sums.counts, strict=False)},
        drawn_by_tool_mm={tool: float(sums.tool_drawn[tool]) for tool in used},
        part_by_tool_mm={tool: float(sums.tool_drawn[tool] - sums.tool_before[tool]) for tool in used},
        drawn_by_role_mm=_named(sums.role_drawn),
        path_by_role_mm=_named(sums.role_path),
        net_mm=float(sums.net[k.ALL_FED]),
        bead_filament_mm=float(sums.net[k.BEADS_FED]),
        forward_mm=float(moves.fed_mm.sum(where=moves.fed_mm > 0.0, dtype=np.float64)),
        extent=_extent(sums.extent[k.PART : k.PURGED]),
        extent_all=_extent(sums.extent[k.PURGED : k.OTHERS]),
        extent_moves=_extent(sums.extent[k.OTHERS :]),
    )


def _empty_sums(rows: int) -> k.Sums:
    """Return sums of nothing for a layer table of some rows."""
    roles = len(ROLE_NAMES)
    return k.Sums(
        by_layer=np.zeros((rows, k.LAYER_COLUMNS)),
        layer_role_path=np.zeros((rows, roles)),
        role_drawn=np.zeros(roles),
        role_path=np.zeros(roles),
        tool_drawn=np.zeros(k.TOOLS),
        tool_before=np.zeros(k.TOOLS),
        extent=np.tile([np.inf, -np.inf], k.EXTENT_PLACES // 2),
        counts=np.zeros(k.KINDS, np.int64),
        net=np.zeros(2),
    )


def _named(values: F64) -> dict[str, float]:
    return {name: float(value) for name, value in zip(ROLE_NAMES, values, strict=True) if value > 0.0}


def _extent(places: npt.NDArray[np.float64]) -> Extent | None:
    if not np.isfinite(places).all():
        return None
    # float32 coordinates: what lies behind the fifth decimal is noise
    lo_x, hi_x, lo_y, hi_y, lo_z, hi_z = np.round(places, 5).tolist()
    return Extent((lo_x, hi_x), (lo_y, hi_y), (lo_z, hi_z))
