"""The pieces of a layer, their points and what is known of them; the limits by which roles are read from them.

A *piece* is a closed loop or an open run of beads. Its points are ``points[first]`` to ``points[last]``; segment s
runs from point s to s + 1, from a loop's last point to its first::

      first         s        s + 1                last = first + 3
        o-----------o----------o                     o-------o
                          open piece                 | loop  |      the side from the last point to the first
                                                     o - - - o      may be a gap of some tenths of a bead's width
                                                    last    first

What is known of points and pieces stands in records (`POINT`, `PIECE`): every array handed on costs time to compile.

Where to find the rules: ``chains`` (what is a loop), ``spacing`` (distance of parallel lines), ``probes`` (what lies
beside a piece), ``holding`` (hold-down), ``fill`` (air, nested loops as fill), ``walls`` (outline, inner loops),
``speeds`` (solid loops told by their speed), ``labels`` (open pieces; all roles written), ``roles`` (their order). All
limits stand here. They are common practice, no source.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Final, NamedTuple

import numpy as np

from viewer.jit import inner_kernel

if TYPE_CHECKING:
    from viewer.arrays import F64, I32, I64

POINT = np.dtype(
    [
        ("x", "f8"),  # mm
        ("y", "f8"),
        ("spacing", "f8"),  # of the long bead that begins here to its nearest parallel one, mm, inf: none
        ("row", "i4"),  # the move that ends here
        ("piece", "i4"),  # whose bead begins here
    ]
)
PIECE = np.dtype(
    [
        ("area", "f8"),  # of a loop, mm2, counter-clockwise > 0; 0: an open piece
        ("path", "f8"),  # mm
        ("rest", "f8"),  # area without the loops in it, mm2
        ("edges", "f8"),  # path with the loops in it, mm
        ("gap", "f8"),  # mean gap between these, mm
        ("pitch", "f8"),  # of fill that a loop alone may be, mm
        ("filled", "f8"),  # path of the open pieces in it, mm; 0 where they are too few for fill
        ("first", "i4"),  # points
        ("last", "i4"),
        ("chain", "i4"),
        ("hit", "i4"),  # see `searches.first_hit`
        ("parent", "i4"),  # the smallest loop around it, -1: none
        ("used", "u1"),  # searches look at it
        ("held", "u1"),  # hold-down
        ("along", "u1"),  # see `probes`
        ("beyond", "u1"),
        ("dense", "u1"),
        ("air", "u1"),  # a loop with nothing in it
        ("nested", "u1"),  # one of NOT_ALONE ... PAIRED
        ("depth", "u1"),  # which wall it is, 1 the outermost
        ("role", "u1"),
    ]
)
FRAME = np.dtype(
    [
        ("left", "f8"),  # of the lowest cell, mm
        ("front", "f8"),
        ("cell", "f8"),  # side of a cell, mm
        ("columns", "i8"),
        ("rows", "i8"),
    ]
)

# `PIECE.nested`: what is known of a loop as nested fill
NOT_ALONE: Final = 0
"""Something lies close to a side of it."""
ALONE: Final = 1
"""Air is to both sides."""
LIKE_FILL: Final = 2
"""Loops follow each other there at a pitch; in the end: it is fill."""
PAIRED: Final = 3
"""It looks like fill, and so does the loop around it or in it."""

APART_MM: Final = 0.05
"""A way without filament longer than this ends a chain."""
PART_BEADS: Final = 200_000
"""A layer of more beads is looked at in parts of this size, each by itself, to keep memory within bounds."""
FIRST_LAYERS: Final = 3
"""Hold-down is looked for in this many layers of an object; the next one shows where the part goes on."""
PROBES: Final = 8
"""This many places of a loop are looked at."""
PROBES_OPEN: Final = 4
"""And at most this many of an open piece."""
SEARCHED_PER_BEAD: Final = 50
"""A layer's searches may look at this many segments a bead; what is left then counts as lying alone."""
SEARCHED_AT_LEAST: Final = 100_000
"""Or at this many: a layer of few beads costs nothing."""
DENSE: Final = 1.6
"""Beads nearer than this many widths touch: a solid (about 60 % infill)."""
LONG: Final = 2.0
"""Beads of this many widths are lines, shorter ones the connectors between."""
FARTHEST: Final = 25.0
"""Lines farther apart, in widths, are no fill: 4 % infill."""
HOLLOW: Final = 1.6
"""Wider gaps within a loop, in widths, are air where no fill is."""
NEAR: Final = 1.1
"""Nested fill has a loop as near as this many pitches to one side ..."""
NEXT: Final = 2.05
"""... and as near as this many to the other."""
DEEPEST: Final = 63
"""Walls are counted up to this depth."""
DEEP: Final = 16
"""A loop within the outline is written as DEEP + depth, until all layers have told how many walls there are."""
LOOSE: Final = 9
"""Parallel lines outside of every loop are written as LOOSE, or LOOSE + SPARSE, until all layers have told whether the
part has walls: supports if so, fill if not."""
HELD: Final = 11
"""Such lines that are hold-down where the part has walls: HELD, or HELD + SPARSE."""
WOUND: Final = 13
"""A loop with air inside that touches its parent and runs around as the part's outermost loops do: see `walls`."""
SPARSE: Final = 1
"""Added where lines do not touch."""


class Grid(NamedTuple):
    """The segments by the cells of a grid that they cross: cell c owns ``listed[ends[c - 1]:ends[c]]``."""

    frame: Any  # (1,) FRAME
    ends: I32  # (cells,)
    listed: I32  # (entries,) segments


class Layer(NamedTuple):
    """A layer, or a part of one: records of `POINT` and `PIECE`, and a grid over the segments."""

    points: Any  # (room,) POINT
    pieces: Any  # (room,) PIECE
    grid: Grid


class Tally(NamedTuple):
    """What is counted over layers."""

    budget: I64  # (1,) segments that the searches in this layer may still look at
    filled_mm2: I64  # (DEEPEST + 1,) area of the rooms with fill behind 1, 2, ... walls
    holes_mm: F64  # (2,) path of holes' outlines that run around against the outermost loops, and with them
    path_mm: F64  # (layers,) of all pieces
    loose_mm: F64  # (layers,) of parallel lines outside of every loop


@inner_kernel
def end_of(s, points, pieces):
    """Return the end point of segment s, -1 where none begins in s: at an open piece's last point."""
    piece = pieces[points[s].piece]
    if s < piece.last:
        return np.int64(s + 1)
    return np.int64(piece.first) if piece.area != 0.0 else np.int64(-1)
