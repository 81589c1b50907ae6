"""What is measured over the layers: places with their measures, and places of neighbouring layers joined to one."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Generic, TypeVar

from viewer.arrays import F64

Box = tuple[float, float, float, float]
"""Low x, low y, high x, high y, mm."""
_RECENT = 12
"""The number of spots of a track that are compared with the next one, at most."""
_GAP_LAYERS = 2
"""Places this many layers apart may be one: a thin place or an overhang can leave out a layer."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Spot:
    """One place in one layer."""

    layer: int  # from 1
    place_mm: tuple[float, float]
    box_mm: Box
    move: int  # the first bead there
    last_move: int  # the last


@dataclass(frozen=True, slots=True, kw_only=True)
class Overhang(Spot):
    """Part over air, held at one side at most."""

    area_mm2: float  # of the beads beyond the angle
    reach_mm: float  # how far the layer's edge lies beyond the layer below
    angle_deg: float  # from upright: atan(reach / thickness)


@dataclass(frozen=True, slots=True, kw_only=True)
class MidAirStart(Spot):
    """A piece of a layer with nothing below it, and nothing beside it but for one narrow place."""

    area_mm2: float
    is_held: bool  # at one narrow place, from which it reaches far
    is_clear: bool  # nothing in the layers further down either


@dataclass(frozen=True, slots=True, kw_only=True)
class Bridge(Spot):
    """Beads over air held at both ends."""

    span_mm: float  # the longest, along the bead
    area_mm2: float


@dataclass(frozen=True, slots=True, kw_only=True)
class ThinPlace(Spot):
    """Part that is thinner than two beads."""

    thickness_mm: float  # mean
    bead_mm: float  # mean bead width there
    length_mm: float  # of the bead
    is_post: bool  # short in every direction


@dataclass(frozen=True, slots=True, kw_only=True)
class BareTravel(Spot):
    """Travel without retraction."""

    open_mm: float  # longest stretch over open space


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class ShapeFigures:
    """What `viewer.shape.shape_of` measures: columns of n layers, and places in the order of layers."""

    overhang_mm2: F64  # (n,) area of part beyond the angle that is not held at both ends
    bridge_mm: F64  # (n,) longest span held at both ends
    open_mm: F64  # (n,) longest stretch of travel over open space without retraction
    angle_deg: float  # from upright; what reaches out further counts as overhang
    doubtful_layers: (
        int  # not measured but for travel: how wide the beads are is not known (all layers, or none)
    )
    cell_mm: float  # of the coarsest grid that was drawn
    overhangs: tuple[Overhang, ...]
    starts: tuple[MidAirStart, ...]
    bridges: tuple[Bridge, ...]
    thin_places: tuple[ThinPlace, ...]
    bare_travels: tuple[BareTravel, ...]


_S = TypeVar("_S", bound=Spot)


@dataclass(slots=True, eq=False)
class Track(Generic[_S]):
    """Places of neighbouring layers that lie over one another."""

    spots: list[_S]

    @property
    def first_layer(self) -> int:
        """From 1."""
        return self.spots[0].layer

    @property
    def last_layer(self) -> int:
        """From 1."""
        return self.spots[-1].layer

    def recent(self, layer: int, gap: int) -> list[_S]:
        """Return the spots of the layer itself and ``gap`` below: several pieces of a layer may be one place."""
        return [spot for spot in self.spots[-_RECENT:] if layer - spot.layer <= gap]

    @property
    def layers(self) -> int:
        """How many layers have it."""
        return len({spot.layer for spot in self.spots})


def join_spots(spots: Iterable[_S], margin_mm: float = 0.5, gap_layers: int = _GAP_LAYERS) -> list[Track[_S]]:
    """Join spots of neighbouring layers whose boxes, wider by a margin, overlap; in order of their first layer.

    A spot goes to the first track that it meets; where a place forks, each branch but one makes a track of its own.
    Pieces of one layer that meet are one place.
    """
    found: list[Track[_S]] = []
    active: list[Track[_S]] = []
    for spot in spots:
        active = [track for track in active if spot.layer - track.last_layer <= gap_layers]
        met = [track for track in active if _touches(track.recent(spot.layer, gap_layers), spot, margin_mm)]
        if not met:
            track = Track([spot])
            found.append(track)
            active.append(track)
            continue
        for other in met[1:]:
            if _touches([own for own in other.spots if own.layer == spot.layer], spot, margin_mm):
                met[0].spots = sorted(met[0].spots + other.spots, key=lambda own: own.layer)
                found.remove(other)
                active.remove(other)
        met[0].spots.append(spot)
    return found


def _touches(spots: Iterable[_S], spot: _S, margin_mm: float) -> bool:
    return any(_meet(own.box_mm, spot.box_mm, margin_mm) for own in spots)


def _meet(a: Box, b: Box, margin: float) -> bool:
    return a[0] - margin <= b[2] and b[0] - margin <= a[2] and a[1] - margin <= b[3] and b[1] - margin <= a[3]
