"""Will it hold: how the first layer lies on the plate, measured on its beads drawn as true footprints.

Objects printed one after another each have a first layer; they are taken together. Part is every bead but
hold-down (skirt, brim, raft) and purge; support counts as part, because it is printed with it.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

import numpy as np
import numpy.typing as npt

from viewer.arrays import F64, I32, U8
from viewer.beads.draw import ASLANT_RAD, Grid, draw_mask
from viewer.beads.masks import close_gaps, region_sums
from viewer.beads.regions import label_cells
from viewer.beads.section import USUAL_FILAMENT_MM, Beads, layer_beads, turned_xy
from viewer.cards.printer import Plate
from viewer.figures.hull import hull, polygon_area
from viewer.layers.layers import HOLD, PURGE, Layers
from viewer.read.moves import Moves

PART_BIT = 1
HOLD_BIT = 2
FINE_MM = 0.05
USUAL_CELLS = 2_000_000
"""A grid with more cells than this at `FINE_MM` is drawn coarser, up to `COARSE_MM`."""
COARSE_MM = 0.1
MAX_CELLS = 16_000_000
"""A plate that would need more than this at `COARSE_MM` (400 mm square) is drawn coarser still."""
MAX_PIECES = 300
"""An object on more islands than this is taken as one: it is lettering or lace, not parts."""
MAX_FEET = 1000
"""Up to this many objects printed one after another are measured separately; a plate holds some dozens."""


@dataclass(frozen=True, slots=True)
class Island:
    """One connected piece of the first layer."""

    area_mm2: float  # covered by beads
    centre_mm: tuple[float, float]  # of that area
    part_mm2: float  # of the area, what is part; 0: hold-down alone

    @property
    def has_part(self) -> bool:
        """Whether it is more than hold-down."""
        return self.part_mm2 > 0.0


@dataclass(frozen=True, slots=True, eq=False)
class Foot:
    """What one of the objects printed one after another stands on: convex hulls, counterclockwise."""

    object: int
    part_xy_mm: F64  # (k, 2) of its part beads' footprints; (0, 2) on a raft
    held_xy_mm: F64  # (k, 2) with the hold-down that touches it (a brim does, a skirt does not)
    at_mm: tuple[float, float]  # a place in it: the middle of its first bead
    move: int  # its first bead: of the part, if there is one

    @property
    def is_flat(self) -> bool:
        """Whether its beads cover no area: they lie on one line without any width (no amount of filament is stated)."""
        return len(self.held_xy_mm) == 0


@dataclass(frozen=True, slots=True, eq=False)
class FirstLayer:
    """The first layer's figures.

    Several parts printed together, layer by layer, are one object here; ``islands`` tells them apart.
    """

    contact_mm2: float  # covered by part beads
    hold_mm2: float  # covered by hold-down and not by part
    outline_mm2: float  # the part's, with gaps narrower than a bead closed
    islands: tuple[Island, ...]  # the largest first
    feet: tuple[Foot, ...]  # one an object
    pieces: tuple[Foot, ...]  # one an island of an object that has several with part
    edge_mm: (
        float | None
    )  # least distance of the part's beads to the plate's edge; negative: beyond; None: unknown
    hold_edge_mm: float | None  # the same for hold-down
    cell_mm: float  # of the grid on which areas were counted

    @property
    def coverage(self) -> float | None:
        """Contact over outline: 1 without gaps between beads; None without part."""
        return self.contact_mm2 / self.outline_mm2 if self.outline_mm2 > 0.0 else None

    @property
    def hull_mm2(self) -> float:
        """Area of the convex hulls of the objects' parts, added up."""
        return sum(polygon_area(foot.part_xy_mm) for foot in self.feet)


def first_layer(
    moves: Moves,
    layers: Layers,
    roles: U8,
    plate: Plate | None = None,
    filament_diameter_mm: float = USUAL_FILAMENT_MM,
) -> FirstLayer:
    """Measure the first layer, of all objects together.

    Parameters
    ----------
    moves, layers
        The program's columns.
    roles
        (moves,) the role of each move.
    plate
        Where beads may lie; None, or without its sizes: the distance to its edge is not known.
    filament_diameter_mm
        Of the filament as fed, for the beads' widths.

    Returns
    -------
    FirstLayer
        Areas are those of cells of ``cell_mm`` whose centres are covered.
    """
    beads, owner = _first_beads(moves, layers, filament_diameter_mm)
    role = roles[beads.move]
    kept = role != PURGE
    beads, owner, role = beads.where(kept), owner[kept], role[kept]
    is_hold = role == HOLD
    part, hold = beads.where(~is_hold), beads.where(is_hold)
    aslant = beads.turned(ASLANT_RAD)
    drawn = _Drawn.of(aslant, is_hold)
    islands, with_part = drawn.islands()
    label = drawn.labels_at(aslant)
    touching = ~is_hold | with_part[label]
    return FirstLayer(
        contact_mm2=drawn.area(drawn.mask & PART_BIT),
        hold_mm2=drawn.area(drawn.mask == HOLD_BIT),
        outline_mm2=drawn.area(drawn.outline),
        islands=islands,
        feet=_feet(beads, owner, is_hold, touching),
        pieces=_pieces(beads, owner, is_hold, label),
        edge_mm=edge_distance(part, plate),
        hold_edge_mm=edge_distance(hold, plate),
        cell_mm=drawn.grid.cell_mm,
    )


def _first_beads(moves: Moves, layers: Layers, diameter_mm: float) -> tuple[Beads, I32]:
    """Return the beads of every layer that rests on the plate, and the object (n,) of each."""
    numbers = np.flatnonzero(layers.is_first) + 1
    pieces = [layer_beads(moves, layers, int(number), diameter_mm) for number in numbers]
    owner = [np.full(len(p), layers.object[n - 1], np.int32) for p, n in zip(pieces, numbers, strict=True)]
    return Beads.joined(pieces), np.concatenate([np.empty(0, np.int32), *owner])


@dataclass(frozen=True, slots=True, eq=False)
class _Drawn:
    """The first layer on its grid, turned by `ASLANT_RAD`."""

    grid: Grid
    mask: U8  # (h, w) PART_BIT, HOLD_BIT
    outline: U8  # (h, w) the part with its gaps closed
    labels: I32  # (h, w) number of the island, from 1; 0: bare plate
    count: int

    @classmethod
    def of(cls, beads: Beads, is_hold: npt.NDArray[np.bool_]) -> _Drawn:
        """Draw the beads, turned already; a gap is closed where it is narrower than the part's usual bead."""
        part = beads.where(~is_hold)
        gap_mm = _usual_width(part)
        grid, shape = _fitted(beads, gap_mm)
        mask = np.zeros(shape, np.uint8)
        draw_mask(mask, beads, grid, np.where(is_hold, np.uint8(HOLD_BIT), np.uint8(PART_BIT)))
        outline = close_gaps(mask, PART_BIT, part, grid, gap_mm)
        return cls(grid, mask, outline, *label_cells(outline | mask))

    def area(self, cells: npt.NDArray[np.generic]) -> float:
        """Return the area, mm2, of the cells that are not 0."""
        return float(np.count_nonzero(cells)) * self.grid.cell_mm**2

    def islands(self) -> tuple[tuple[Island, ...], npt.NDArray[np.bool_]]:
        """Return the islands, largest first, and for each label (count + 1,) whether it holds part."""
        sums = region_sums(self.labels, self.mask, PART_BIT, self.count)
        cell = self.grid.cell_mm
        order = np.argsort(-sums[1:, 0], kind="stable") + 1
        found = tuple(
            Island(
                float(n) * cell**2,
                turned_xy(
                    self.grid.left_mm + (float(x / n) + 0.5) * cell,
                    self.grid.front_mm + (float(y / n) + 0.5) * cell,
                    -ASLANT_RAD,
                ),
                float(inside) * cell**2,
            )
            for n, x, y, inside in sums[order]
            if n > 0
        )
        return found, sums[:, 3] > 0

    def labels_at(self, beads: Beads) -> I32:
        """Return the label (n,) under the middle of each bead (turned); 0 where one is too thin for the grid."""
        row = (0.5 * (beads.y0_mm + beads.y1_mm) - self.grid.front_mm) / self.grid.cell_mm
        column = (0.5 * (beads.x0_mm + beads.x1_mm) - self.grid.left_mm) / self.grid.cell_mm
        return np.asarray(self.labels[row.astype(np.intp), column.astype(np.intp)])


def _usual_width(beads: Beads) -> float:
    """Return the median bead width, mm, each bead counted by its length; 0 without beads."""
    if not len(beads):
        return 0.0
    length = np.hypot(beads.x1_mm - beads.x0_mm, beads.y1_mm - beads.y0_mm).astype(np.float64)
    order = np.argsort(beads.width_mm)
    reached = np.cumsum(length[order])
    return float(beads.width_mm[order[np.searchsorted(reached, 0.5 * reached[-1])]])


def _fitted(beads: Beads, margin_mm: float) -> tuple[Grid, tuple[int, int]]:
    """Return a grid that holds all footprints and a margin, and its rows and columns; the size is bounded."""
    if not len(beads):
        return Grid(0.0, 0.0, FINE_MM), (1, 1)
    low_x, low_y, high_x, high_y = _bounds(beads)
    margin = margin_mm + 2.0 * COARSE_MM
    wide, deep = high_x - low_x + 2.0 * margin, high_y - low_y + 2.0 * margin
    cell = max(FINE_MM, min(COARSE_MM, (wide * deep / USUAL_CELLS) ** 0.5), (wide * deep / MAX_CELLS) ** 0.5)
    return Grid(low_x - margin, low_y - margin, cell), (int(deep / cell) + 2, int(wide / cell) + 2)


def _bounds(beads: Beads) -> tuple[float, float, float, float]:
    """Return the box of the footprints, mm: low x, low y, high x, high y."""
    r = 0.5 * beads.width_mm.astype(np.float64)
    return (
        float((np.minimum(beads.x0_mm, beads.x1_mm) - r).min()),
        float((np.minimum(beads.y0_mm, beads.y1_mm) - r).min()),
        float((np.maximum(beads.x0_mm, beads.x1_mm) + r).max()),
        float((np.maximum(beads.y0_mm, beads.y1_mm) + r).max()),
    )


def _feet(
    beads: Beads, owner: I32, is_hold: npt.NDArray[np.bool_], touching: npt.NDArray[np.bool_]
) -> tuple[Foot, ...]:
    """Return the hulls of the first `MAX_FEET` objects; one without part below stands on all its hold-down."""
    feet = []
    begins = np.flatnonzero(np.diff(owner, prepend=-1))[: MAX_FEET + 1]  # the beads come object by object
    for begin, end in pairwise([*begins.tolist(), len(owner)][: MAX_FEET + 1]):
        own = np.arange(begin, end)
        is_part = ~is_hold[own]
        held = own[touching[own]] if is_part.any() else own
        feet.append(_foot(beads, int(owner[begin]), own[is_part], held))
    return tuple(feet)


def _foot(beads: Beads, owner: int, part: npt.NDArray[np.intp], held: npt.NDArray[np.intp]) -> Foot:
    """Return the foot of some beads (rows); `held` has the part's and those of the hold-down that touches it."""
    first = int(part[0] if len(part) else held[0])
    at = (
        0.5 * float(beads.x0_mm[first] + beads.x1_mm[first]),
        0.5 * float(beads.y0_mm[first] + beads.y1_mm[first]),
    )
    return Foot(owner, hull(beads.where(part)), hull(beads.where(held)), at, int(beads.move[first]))


def _pieces(beads: Beads, owner: I32, is_hold: npt.NDArray[np.bool_], labels: I32) -> tuple[Foot, ...]:
    """Return the islands of each object that has several with part; none of one in more than `MAX_PIECES`."""
    found: list[Foot] = []
    for number in np.unique(owner).tolist():
        own = np.flatnonzero((owner == number) & (labels > 0))
        with_part = np.unique(labels[own[~is_hold[own]]])
        if not 1 < len(with_part) <= MAX_PIECES:
            continue
        for label in with_part.tolist():
            held = own[labels[own] == label]
            found.append(_foot(beads, number, held[~is_hold[held]], held))
    return tuple(found)


def edge_distance(beads: Beads, plate: Plate | None) -> float | None:
    """Return the least distance, mm, from a footprint to the plate's edge.

    Negative: so far beyond it. None: there are no beads, or the plate's sizes are not known.
    """
    if plate is None or not len(beads):
        return None
    if plate.shape == "circle":
        if plate.diameter_mm is None:
            return None
        reach = 0.5 * beads.width_mm + np.maximum(
            np.hypot(beads.x0_mm - plate.left_mm, beads.y0_mm - plate.front_mm),
            np.hypot(beads.x1_mm - plate.left_mm, beads.y1_mm - plate.front_mm),
        )
        return 0.5 * plate.diameter_mm - float(reach.max())
    if plate.box_mm is None:
        return None
    low_x, low_y, high_x, high_y = _bounds(beads)
    left, front, right, back = plate.box_mm
    return min(low_x - left, low_y - front, right - high_x, back - high_y)
