"""How far a finding reaches: beads, regions of a layer, and measures to draw. Plain data that the faces draw."""

from __future__ import annotations

from dataclasses import dataclass

Point = tuple[float, float, float]
"""x, y and z, mm."""


@dataclass(frozen=True, slots=True)
class BeadRun:
    """Moves that follow each other in one layer, and the stretch along them that is meant."""

    layer: int
    """From 1."""
    first_move: int
    last_move: int
    """The last one of the run itself."""
    from_mm: float
    """Along the moves, from the beginning of the first one."""
    to_mm: float
    lines: tuple[int, int]
    """Of the first and the last move, from 1."""


@dataclass(frozen=True, slots=True)
class Region:
    """Areas of one layer, each by the corners of its outline."""

    layer: int
    """From 1."""
    polygons: tuple[tuple[tuple[float, float], ...], ...]
    """x and y, mm; the last corner is joined to the first."""


@dataclass(frozen=True, slots=True)
class Measure:
    """A dimension to draw: a line between two points with its text; a mark where both are the same point."""

    layer: int | None
    """From 1; None: it belongs to no layer."""
    start_mm: Point
    end_mm: Point
    text: str
    """``14.0 mm``; "" where nothing need be written."""


Extent = BeadRun | Region | Measure
