"""The beads that lie on the plate, and the gaps between them."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
import numpy.typing as npt

from viewer.arrays import F64, U8
from viewer.beads.draw import ASLANT_RAD, Grid, draw_mask
from viewer.beads.masks import close_gaps
from viewer.beads.regions import label_cells
from viewer.beads.section import Beads, layer_beads, turned_xy
from viewer.layers.layers import HOLD, PURGE, SUPPORT, UNLABELLED
from viewer.layers.naming import RolesFrom
from viewer.shape.columns import ShapeColumns
from viewer.shape.masks import grid_for

MIN_PIECE_MM2: Final = 25.0
"""Smaller pieces of the first layer are mostly edge: their coverage says little (common practice, no source)."""

MAX_SQUARES: Final = 2000


@dataclass(frozen=True, slots=True, eq=False)
class GroundBeads:
    """The beads that lie on the plate, without purge: n rows."""

    beads: Beads
    role: U8  # (n,)
    layer: npt.NDArray[np.intp]  # (n,) from 1
    roles_from: RolesFrom

    @property
    def is_part(self) -> npt.NDArray[np.bool_]:
        """(n,) all but hold-down."""
        return np.asarray(self.role != HOLD)

    @property
    def is_part_alone(self) -> npt.NDArray[np.bool_]:
        """(n,) all but hold-down and support; without comments, what is unlabelled is taken as support."""
        support = (SUPPORT,) if self.roles_from == "comments" else (SUPPORT, UNLABELLED)
        return self.is_part & ~np.isin(self.role, support)

    @property
    def length_mm(self) -> F64:
        """(n,) from end to end."""
        beads = self.beads
        length = np.hypot(beads.x1_mm - beads.x0_mm, beads.y1_mm - beads.y0_mm)
        return np.asarray(length, dtype=np.float64)

    def near(self, place_mm: tuple[float, float], within_mm: float) -> npt.NDArray[np.intp]:
        """Return the rows of the part's beads whose edge is nearer to a place than this, or else of the nearest bead."""
        away = distance_mm(self.beads, place_mm) - 0.5 * self.beads.width_mm
        rows = np.flatnonzero((away < within_mm) & self.is_part)
        return rows if len(rows) else np.array([np.argmin(np.where(self.is_part, away, np.inf))])


def ground_beads(columns: ShapeColumns) -> GroundBeads:
    """Return the beads of all layers that lie on the plate."""
    layers, diameter = columns.layers, columns.drawn_diameter_mm
    numbers = np.flatnonzero(layers.is_first) + 1
    beads = Beads.joined([layer_beads(columns.moves, layers, int(n), diameter) for n in numbers])
    beads = beads.where(columns.roles[beads.move] != PURGE)
    return GroundBeads(beads, columns.roles[beads.move], layers.of_moves(beads.move), columns.roles_from)


def distance_mm(beads: Beads, place_mm: tuple[float, float]) -> F64:
    """Return (n,) the distance of the beads' middle lines from a place."""
    dx, dy = (beads.x1_mm - beads.x0_mm).astype(np.float64), (beads.y1_mm - beads.y0_mm).astype(np.float64)
    px, py = place_mm[0] - beads.x0_mm, place_mm[1] - beads.y0_mm
    at = ((px * dx + py * dy) / np.maximum(dx * dx + dy * dy, 1e-12)).clip(0.0, 1.0)
    return np.asarray(np.hypot(px - at * dx, py - at * dy), dtype=np.float64)


def middle_xy(beads: Beads) -> tuple[float, float]:
    """Return the middle of the box around the ends of some beads, mm."""
    x, y = np.concatenate([beads.x0_mm, beads.x1_mm]), np.concatenate([beads.y0_mm, beads.y1_mm])
    return 0.5 * float(x.min() + x.max()), 0.5 * float(y.min() + y.max())


@dataclass(frozen=True, slots=True)
class GappyPiece:
    """The connected piece of the first layer that is covered least."""

    coverage: float  # 0 .. 1, of its area with gaps up to a bead closed
    place_mm: tuple[float, float]  # middle of its gaps
    pieces: int  # number of pieces that there are
    gaps: tuple[tuple[tuple[float, float], ...], ...] = ()  # corners of the squares in which the gaps lie


def worst_piece(part: Beads) -> GappyPiece:
    """Return the piece that is covered least, of those that are large enough to tell.

    The beads are drawn aslant on a grid of 0.05 to 0.1 mm, so that lines along an axis do not beat with its rows.
    """
    piece = _worst_drawn(part.turned(ASLANT_RAD))
    gaps = tuple(tuple(turned_xy(x, y, -ASLANT_RAD) for x, y in corners) for corners in piece.gaps)
    return GappyPiece(piece.coverage, turned_xy(*piece.place_mm, -ASLANT_RAD), piece.pieces, gaps)


def _worst_drawn(part: Beads) -> GappyPiece:
    width = float(np.median(part.width_mm))
    low_x, low_y = min(part.x0_mm.min(), part.x1_mm.min()), min(part.y0_mm.min(), part.y1_mm.min())
    high_x, high_y = max(part.x0_mm.max(), part.x1_mm.max()), max(part.y0_mm.max(), part.y1_mm.max())
    coarse = grid_for((float(low_x), float(low_y), float(high_x), float(high_y)), 2.0 + 2.0 * width)
    # half as coarse as for shapes: a gap is often narrower than a cell there
    grid = Grid(coarse.grid.left_mm, coarse.grid.front_mm, 0.5 * coarse.grid.cell_mm)
    mask = np.zeros((2 * coarse.shape[0], 2 * coarse.shape[1]), np.uint8)
    draw_mask(mask, part, grid)
    labels, count = label_cells(close_gaps(mask, 1, part, grid, width))
    whole = np.bincount(labels.ravel(), minlength=count + 1)[1:]
    filled = np.bincount(labels[mask != 0], minlength=count + 1)[1:]
    share = filled / np.maximum(whole, 1)
    large = whole * grid.cell_mm**2 >= MIN_PIECE_MM2
    if large.any():
        worst = int(np.argmin(np.where(large, share, np.inf))) + 1
    else:
        worst = int(np.argmax(whole - filled)) + 1
    rows, columns = np.nonzero((labels == worst) & (mask == 0))
    if not len(rows):
        return GappyPiece(1.0, middle_xy(part), count)
    x, y = float(columns.mean()), float(rows.mean())
    if labels[int(y), int(x)] != worst:  # gaps about a hole have their middle in it
        nearest = int(np.argmin((columns - x) ** 2 + (rows - y) ** 2))
        x, y = float(columns[nearest]), float(rows[nearest])
    place = (grid.left_mm + (x + 0.5) * grid.cell_mm, grid.front_mm + (y + 0.5) * grid.cell_mm)
    return GappyPiece(float(share[worst - 1]), place, count, _squares(grid, rows, columns))


def _squares(
    grid: Grid, rows: npt.NDArray[np.intp], columns: npt.NDArray[np.intp]
) -> tuple[tuple[tuple[float, float], ...], ...]:
    """Return the squares that hold some cells: single cells, or larger ones where these are too many to draw."""
    size = 1
    places = np.unique(np.stack([rows, columns], axis=1), axis=0)
    while len(places) > MAX_SQUARES:
        size *= 2
        places = np.unique(np.stack([rows // size, columns // size], axis=1), axis=0)
    side = size * grid.cell_mm
    corners = ((0, 0), (1, 0), (1, 1), (0, 1))
    return tuple(
        tuple((grid.left_mm + (column + dx) * side, grid.front_mm + (row + dy) * side) for dx, dy in corners)
        for row, column in places.tolist()
    )
