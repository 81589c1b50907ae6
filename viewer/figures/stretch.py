"""The figures of one move, or of all moves that one line of a program makes."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from viewer.beads.section import range_beads, section_area, width_of
from viewer.layers.layers import Layers
from viewer.read.moves import BEAD, Moves
from viewer.read.settings import Settings
from viewer.timing import Timing


@dataclass(frozen=True, slots=True, kw_only=True)
class Stretch:
    """Moves of one kind that follow one another: a bead, or all the short ones that make up an arc."""

    kind: int  # as in `viewer.read.moves`
    length_mm: float  # of the path
    fed_mm: float  # filament, signed
    rise_mm: float  # how much higher it ends than it begins
    width_mm: float | None  # of a bead
    seconds: float
    commanded_mm_s: float  # with the speed factor M220; 0: none was given yet
    reached_mm_s: float  # of the filament where it moves alone


def stretch_of(
    moves: Moves,
    layers: Layers,
    settings: Settings,
    timing: Timing,
    first: int,
    end: int,
    filament_diameter_mm: float,
) -> Stretch:
    """Return the figures of the moves ``first`` to ``end`` (exclusive), which are of one kind."""
    own = slice(first, end)
    kind = int(moves.kind[first])
    length = float(moves.length_mm[own].sum(dtype=np.float64))
    fed = float(moves.fed_mm[own].sum(dtype=np.float64))
    return Stretch(
        kind=kind,
        length_mm=length,
        fed_mm=fed,
        rise_mm=float(moves.z_mm[end - 1]) - moves.start_xyz(first)[2],
        width_mm=_width(moves, layers, first, end, filament_diameter_mm) if kind == BEAD else None,
        seconds=float(timing.time_s[own].sum(dtype=np.float64)),
        commanded_mm_s=float(settings.commanded_mm_s(moves, slice(first, first + 1))[0]),
        reached_mm_s=float(timing.peak_mm_s[own].max()),
    )


def _width(moves: Moves, layers: Layers, first: int, end: int, diameter_mm: float) -> float:
    """Return the width of a bead; of several the one that all their filament makes over all their path."""
    beads = range_beads(moves, layers, first, end, diameter_mm)
    if len(beads) == 1:
        return float(beads.width_mm[0])
    own = slice(first, end)
    length = moves.length_mm[own].sum(dtype=np.float64)
    area = section_area(moves.fed_mm[own].sum(dtype=np.float64), length, diameter_mm)
    return float(width_of(area, float(beads.thickness_mm[0])))


def stretches_of_line(moves: Moves, line: int) -> tuple[tuple[int, int], ...]:
    """Return the rows of moves that a line makes, as runs of one kind: first and last (exclusive)."""
    first, end = (int(k) for k in np.searchsorted(moves.line, [line, line + 1]))
    cuts = first + 1 + np.flatnonzero(np.diff(moves.kind[first:end]))
    edges = [first, *cuts.tolist(), end]
    return tuple((a, b) for a, b in pairwise(edges) if b > a)
