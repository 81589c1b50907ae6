"""The speed of a layer, or around a moment, as columns of a picture; no Qt."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np

from viewer.arrays import F64, I64, U8
from viewer.numerals import count_text, number_text
from viewer.program import Program
from viewer.timing.limiters import LIMITERS, Limiters
from viewer.why.along import SpeedAlong, speed_along

AROUND_S: Final = 4.0
"""Shown before and after a chosen moment."""
ABOVE: Final = 1.15
"""The scale goes so far above the highest speed; a commanded speed beyond it is drawn at its edge."""


@dataclass(frozen=True, slots=True, eq=False)
class SpeedCurve:
    """Speed over time in columns as wide as a pixel."""

    along: SpeedAlong
    begin_s: float
    end_s: float
    top_mm_s: float
    """Of the scale."""
    low_mm_s: F64  # (columns,)
    high_mm_s: F64  # (columns,)
    commanded_mm_s: F64  # (columns,) of the move in the column's middle, 0: it waits, or none is commanded
    limiter: U8  # (columns,) 0: as commanded, or it waits

    def row_at(self, elapsed_s: float) -> int | None:
        """Return the row in `along.move` of the move that runs at a moment; None: the machine waits."""
        row = int(np.searchsorted(self.along.start_s, elapsed_s, side="right")) - 1
        return row if row >= 0 and elapsed_s <= self.along.end_s[row] else None


def span_of(program: Program, layer: int, moment_s: float | None) -> tuple[float, float]:
    """Return begin and end of what is shown, elapsed s: the layer, or the seconds around a moment in it."""
    starts = program.timing.moments.layer_start_s
    begin, end = float(starts[layer - 1]), float(starts[layer])
    if moment_s is None:
        return begin, end
    middle = begin + moment_s
    return max(middle - AROUND_S, 0.0), min(middle + AROUND_S, program.timing.total_s)


def speed_curve(program: Program, span: tuple[float, float], columns: int, limiters: Limiters) -> SpeedCurve:
    """Return the speeds of a span in columns.

    Each column has the lowest and the highest speed in its time: short moves are many to a pixel.
    """
    begin, end = span
    along = speed_along(program, begin, end, limiters)
    edges = np.linspace(begin, end, columns + 1)
    low, high = _envelope(along.time_s, along.speed_mm_s, edges)
    middles = 0.5 * (edges[1:] + edges[:-1])
    row = np.searchsorted(along.start_s, middles, side="right") - 1
    commanded, limiter = np.zeros(columns), np.zeros(columns, np.uint8)
    if len(along.move):
        runs = (row >= 0) & (middles <= along.end_s[row])
        commanded[runs] = along.commanded_mm_s[row[runs]]
        limiter[runs] = along.limiter[row[runs]]
    top = ABOVE * float(high.max(initial=0.0)) or 1.0
    return SpeedCurve(along, begin, end, top, low, high, commanded, limiter)


def _envelope(times: F64, speeds: F64, edges: F64) -> tuple[F64, F64]:
    """Return the least and the greatest value of a line through points between each two edges: (edges - 1,) each."""
    if not len(times):
        return np.zeros(len(edges) - 1), np.zeros(len(edges) - 1)
    at_edges = np.interp(edges, times, speeds, left=0.0, right=0.0)
    places: I64 = np.searchsorted(times, edges)
    values = np.insert(speeds, places, at_edges)
    begins = places + np.arange(len(edges))  # where the edges stand among the values
    low, high = (
        np.asarray(reduce.reduceat(values, begins[:-1]), np.float64) for reduce in (np.minimum, np.maximum)
    )
    # a piece ends before the next edge, which belongs to both; the last piece runs to the end of the values
    last = values[begins[-2] : begins[-1] + 1]
    low[-1], high[-1] = last.min(), last.max()
    return np.minimum(low, at_edges[1:]), np.maximum(high, at_edges[1:])


def words_at(program: Program, curve: SpeedCurve, elapsed_s: float) -> str:
    """Return what happens at a moment: "line 6083: 41 of 60 mm/s, held back by top speed of X"."""
    row = curve.row_at(elapsed_s)
    if row is None:
        return "the machine waits"
    speed = number_text(float(np.interp(elapsed_s, curve.along.time_s, curve.along.speed_mm_s)))
    wanted = float(curve.along.commanded_mm_s[row])
    limiter = int(curve.along.limiter[row])
    of = f" of {number_text(wanted)}" if wanted > 0.0 else ""
    held = f", held back by {LIMITERS[limiter - 1]}" if limiter else ""
    line = count_text(int(program.moves.line[curve.along.move[row]]))
    return f"line {line}: {speed}{of} mm/s{held}"
