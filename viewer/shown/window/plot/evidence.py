"""What is drawn of a finding's extent in the layer on show: areas, stretches of beads, measures; no Qt."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from itertools import pairwise
from typing import Final

import numpy as np

from viewer.checks.extent import BeadRun, Extent, Measure, Region
from viewer.program import Program
from viewer.shown.pictures.bead_values import values_of
from viewer.shown.pictures.scene import Point
from viewer.shown.window.model.view_state import ViewState

LEAST_SEEN_MM: Final = 12.0
"""Length and width of what is seen about a small extent: without what lies about it nobody knows where it is."""
MARGIN: Final = 0.3
"""Of the extent's length and width, on each side."""


@dataclass(frozen=True, slots=True)
class Stretch:
    """A line of beads that follow each other, as wide as the widest of them."""

    points: tuple[Point, ...]
    width_mm: float


@dataclass(frozen=True, slots=True)
class MeasureLine:
    """A dimension with its text; a mark where both ends are the same place."""

    start: Point
    end: Point
    text: str


@dataclass(frozen=True, slots=True)
class DrawnEvidence:
    """The extent of a finding in one layer."""

    areas: tuple[tuple[Point, ...], ...]
    stretches: tuple[Stretch, ...]
    measures: tuple[MeasureLine, ...]

    @property
    def points(self) -> Iterable[Point]:
        """All corners and ends."""
        for area in self.areas:
            yield from area
        for stretch in self.stretches:
            yield from stretch.points
        for measure in self.measures:
            yield from (measure.start, measure.end)

    @property
    def box(self) -> tuple[float, float, float, float] | None:
        """Return left, front, width and depth of all of it, mm; None where there is nothing."""
        points = list(self.points)
        if not points:
            return None
        xs, ys = zip(*points, strict=True)
        return min(xs), min(ys), max(xs) - min(xs), max(ys) - min(ys)

    @property
    def seen(self) -> tuple[float, float, float, float] | None:
        """Return what should be seen of the plate, so that all of it lies well inside: left, front, width, depth."""
        box = self.box
        if box is None:
            return None
        sides = []
        for low, size in ((box[0], box[2]), (box[1], box[3])):
            whole = max(size * (1.0 + 2.0 * MARGIN), LEAST_SEEN_MM)
            sides.append((low + 0.5 * size - 0.5 * whole, whole))
        return sides[0][0], sides[1][0], sides[0][1], sides[1][1]


def layer_of(extents: tuple[Extent, ...]) -> int | None:
    """Return the layer in which most of a finding is to be seen: that of its first extent that has one."""
    return next((extent.layer for extent in extents if extent.layer is not None), None)


def evidence_in(program: Program, number: int, extents: tuple[Extent, ...]) -> DrawnEvidence | None:
    """Return what is drawn of a finding in layer `number`; None where it does not reach into it."""
    here = [extent for extent in extents if extent.layer in (number, None)]
    if not any(extent.layer == number for extent in here):
        return None
    areas = tuple(
        area for extent in here if isinstance(extent, Region) for area in extent.polygons if len(area) > 2
    )
    runs = (_stretch(program, extent) for extent in here if isinstance(extent, BeadRun))
    measures = tuple(
        MeasureLine((one.start_mm[0], one.start_mm[1]), (one.end_mm[0], one.end_mm[1]), one.text)
        for one in here
        if isinstance(one, Measure)
    )
    return DrawnEvidence(areas, tuple(run for run in runs if run is not None), measures)


def _stretch(program: Program, run: BeadRun) -> Stretch | None:
    """Return the part of some moves between two lengths along them."""
    moves = program.moves
    if not 0 <= run.first_move <= run.last_move < len(moves):
        return None
    rows = np.arange(run.first_move, run.last_move + 1)
    x0, y0, _ = moves.start_xyz(run.first_move)
    corners = [
        (float(x0), float(y0)),
        *zip(moves.x_mm[rows].tolist(), moves.y_mm[rows].tolist(), strict=True),
    ]
    points: list[Point] = []
    gone = 0.0
    for (ax, ay), (bx, by) in pairwise(corners):
        length = float(np.hypot(bx - ax, by - ay))
        low, high = max(run.from_mm - gone, 0.0), min(run.to_mm - gone, length)
        gone += length
        if length > 0.0 and high > low:
            ends = [
                (ax + share * (bx - ax), ay + share * (by - ay)) for share in (low / length, high / length)
            ]
            points += ends if not points or points[-1] != ends[0] else ends[1:]
    if not points:
        return None
    widths = values_of(program, rows, "width")
    known = widths[np.isfinite(widths)]
    return Stretch(tuple(points), float(known.max()) if len(known) else 0.4)


class EvidenceHere:
    """What is to be drawn of the finding that is looked at in the layer on show, gathered once."""

    def __init__(self) -> None:
        self._about: tuple[object, ...] = ()
        self._found: DrawnEvidence | None = None

    def of(self, state: ViewState) -> DrawnEvidence | None:
        """Return what is to be drawn; None where no finding is looked at, or it does not reach into this layer."""
        about = (state.program, state.layer, state.evidence)
        if about != self._about:
            self._about = about
            self._found = None
            if state.program is not None and state.evidence:
                self._found = evidence_in(state.program, state.layer, state.evidence)
        return self._found
