"""How far apart beads lie: their width as the program lays them, whatever filament and nozzle the cards name.

Walls that touch and solid fill are laid so that the filament fills the space between them. There the distance s of two
parallel beads follows from the cross-section A and the thickness t alone::

     ____ ____ ____
    (____|____|____)  t        A = s t, the same for every model of a bead's section
         |<-->|
            s

So s tells the beads' width without the filament's diameter, and A of the fed length and a diameter, compared with s t,
tells whether the diameter is right. Sparse infill lies wider apart; what is looked for is the smallest distance that many
beads have.
"""

# mypy: allow-untyped-calls
from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import Final

import numpy as np
import numpy.typing as npt

from viewer.arrays import F64, read_only
from viewer.layers.kernels import gaps as k
from viewer.layers.layers import Layers
from viewer.read.moves import BEAD, Moves

SAMPLE_LAYERS: Final = 24
"""Layers that are looked at, spread evenly over the program."""
SAMPLE_BEADS: Final = 20_000
"""Beads of a layer that are looked at, the first ones."""
PLACES: Final = 400
"""Places of a layer at which the distance is measured, spread evenly over the path."""
SLOTS: Final = 1 << 15
"""Places of the kernel's table, a power of two."""
BIN_MM: Final = 0.02
LEAST_MM: Final = 0.2
"""Smaller distances are overlaps (common practice, no source): nozzles are rarely smaller."""
FRACTION: Final = 0.55
"""Where beads touch, distances below this share of the usual one are overlaps and rare; sparse infill is wider than its
beads by more (measured on 48 real programs)."""
WELL_POPULATED: Final = 0.2
"""A smaller distance counts when it is as frequent as this share of the most frequent one."""
MIN_SHARE: Final = 0.05
LAYER_SHARE: Final = 1.0 / 3.0
"""A smaller distance counts when this share of the layers has it."""
WITHIN: Final = 0.15
"""What differs from the mode by less than this share belongs to it: outer and inner walls differ a little."""
SURE_SHARE: Final = 0.25
SURE_PLACES: Final = 100


@dataclass(frozen=True, slots=True)
class Spacing:
    """The distance of neighbouring beads that touch, and how sure it is."""

    distance_mm: float  # between the middle lines; NaN where no beads lie beside one another
    share: float  # 0 .. 1, of the path that was looked at, what lies so far from its neighbour
    places: int  # number of places with this distance
    layers: int  # number of layers with this distance
    thickness_mm: float  # median of these places' layers
    fed_mm_per_mm3: float
    """Length of filament fed for each mm3 that the beads fill, mm/mm3: 1 / (cross-section of the filament) where all is
    right; the median of these places."""

    @property
    def is_known(self) -> bool:
        """Whether there are beads beside one another at all."""
        return self.places > 0

    @property
    def is_sure(self) -> bool:
        """Whether enough of the path has this distance to conclude something from it."""
        return self.share >= SURE_SHARE and self.places >= SURE_PLACES

    @property
    def width_mm(self) -> float:
        """Width of an oblong bead that fills its share of the layer: w = s + t (1 - pi/4), from A = s t."""
        return self.distance_mm + (1.0 - 0.25 * np.pi) * self.thickness_mm

    def fill_ratio(self, filament_area_mm2: float) -> float:
        """Return the space that beads take over the volume fed for it: 1 where filament so thick is right."""
        fed = self.fed_mm_per_mm3 * filament_area_mm2
        return 1.0 / fed if fed > 0.0 else float("inf")


NO_SPACING: Final = Spacing(float("nan"), 0.0, 0, 0, float("nan"), float("nan"))


class LateSpacing:
    """A program's spacing, measured once, when it is first asked for."""

    def __init__(self, moves: Moves, layers: Layers) -> None:
        self._moves, self._layers = moves, layers

    @cached_property
    def found(self) -> Spacing:
        """What `measure_spacing` returns."""
        return measure_spacing(self._moves, self._layers)


@dataclass(frozen=True, slots=True, eq=False)
class _Places:
    """Places along beads, n rows; their weights add up to 1."""

    distance_mm: F64
    fed: F64  # filament fed for a mm of the bead, mm
    thickness_mm: F64
    layer: npt.NDArray[np.intp]
    weight: F64


def measure_spacing(moves: Moves, layers: Layers) -> Spacing:
    """Measure how far apart the beads lie that touch one another.

    Parameters
    ----------
    moves, layers
        The program's columns; roles are not needed.

    Returns
    -------
    Spacing
        `NO_SPACING` where no beads lie beside one another (a spiral, a single wall).

    Notes
    -----
    In up to 24 layers, at up to 400 places each, the distance to the nearest parallel bead is measured, square to the
    bead. The most frequent distance is taken, or a smaller one that is well populated.
    """
    places = _measured(moves, layers)
    if places is None:
        return NO_SPACING
    mode = _mode_mm(places)
    if not mode > 0.0:
        return NO_SPACING
    own = np.abs(places.distance_mm - mode) <= WITHIN * mode
    distance = _weighted_median(places.distance_mm[own], places.weight[own])
    space = places.distance_mm[own] * places.thickness_mm[own]
    return Spacing(
        distance_mm=distance,
        share=float(places.weight[own].sum()),
        places=int(np.count_nonzero(own)),
        layers=len(np.unique(places.layer[own])),
        thickness_mm=_weighted_median(places.thickness_mm[own], places.weight[own]),
        fed_mm_per_mm3=_weighted_median(places.fed[own] / space, places.weight[own]),
    )


def _measured(moves: Moves, layers: Layers) -> _Places | None:
    """Return the places of a sample of layers; None without beads."""
    count = len(layers)
    chosen = np.unique(np.linspace(0, count - 1, min(count, SAMPLE_LAYERS)).round().astype(np.intp))
    table = np.empty(SLOTS, np.int32), np.empty(2 * SLOTS, np.int32), np.empty(2 * SLOTS, np.int32)
    columns = [read_only(c) for c in (moves.kind, moves.x_mm, moves.y_mm, moves.length_mm, moves.fed_mm)]
    rows: list[F64] = []
    for layer in chosen.tolist():
        first, last, path = _part(moves, layers, layer)
        if not 0.0 < path < np.inf or not layers.thickness_mm[layer] > 0.0:
            continue
        found = np.empty((PLACES + 1, 2))
        done = k.measure_gaps(*columns, first, last, path / PLACES, *table, found)  # type: ignore[call-arg]
        rest = np.full((done, 3), (layers.thickness_mm[layer], layer, path / PLACES))
        rows.append(np.concatenate([found[:done], rest], axis=1))
    if not sum(map(len, rows)):
        return None
    distance, fed, thickness, number, weight = np.concatenate(rows).T
    return _Places(distance, fed, thickness, number.astype(np.intp), weight / weight.sum())


def _part(moves: Moves, layers: Layers, layer: int) -> tuple[int, int, float]:
    """Return the moves of a layer that are looked at, and the path of their beads, mm."""
    first, last = int(layers.first_move[layer]), int(layers.first_move[layer + 1])
    beads = np.flatnonzero(moves.kind[first:last] == BEAD)
    if len(beads) > SAMPLE_BEADS:
        last = first + int(beads[SAMPLE_BEADS])
        beads = beads[:SAMPLE_BEADS]
    return first, last, float(moves.length_mm[first + beads].sum(dtype=np.float64))


def _mode_mm(places: _Places) -> float:
    """Return the most frequent distance, or a well populated one below `FRACTION` of it, mm; NaN without any."""
    near = np.isfinite(places.distance_mm)
    bins = int(k.FARTHEST_MM / BIN_MM) + 3
    at = (places.distance_mm[near] / BIN_MM).astype(np.intp) + 1
    one = np.bincount(at, places.weight[near], bins)
    three = np.convolve(one, np.ones(3), "same")
    top = int(np.argmax(three))
    if not three[top] > 0.0:
        return float("nan")
    enough = max(WELL_POPULATED * float(three[top]), MIN_SHARE)
    for lower in range(int(LEAST_MM / BIN_MM) + 1, int(FRACTION * top) + 1):
        is_peak = three[lower - 1] <= three[lower] >= three[lower + 1]
        if is_peak and three[lower] >= enough and _is_common(places, _middle_mm(lower)):
            return _refined_mm(places, _middle_mm(lower))
    return _refined_mm(places, _middle_mm(top))


def _middle_mm(number: int) -> float:
    return (number - 0.5) * BIN_MM


def _refined_mm(places: _Places, distance_mm: float) -> float:
    """Return the median of the distances in the three bins about one."""
    own = np.abs(places.distance_mm - distance_mm) <= 1.5 * BIN_MM
    return _weighted_median(places.distance_mm[own], places.weight[own])


def _is_common(places: _Places, distance_mm: float) -> bool:
    """Whether enough layers have a distance, not only a few odd ones."""
    own = np.abs(places.distance_mm - distance_mm) <= 1.5 * BIN_MM
    return len(np.unique(places.layer[own])) >= LAYER_SHARE * len(np.unique(places.layer))


def _weighted_median(values: F64, weight: F64) -> float:
    order = np.argsort(values)
    reached = np.cumsum(weight[order])
    return float(values[order[np.searchsorted(reached, 0.5 * reached[-1])]])
