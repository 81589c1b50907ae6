"""The value of each bead that colours can show, and the range of values that a colour bar spans; no Qt."""

from __future__ import annotations

import math
from dataclasses import dataclass, field, replace

import numpy as np
import numpy.typing as npt

from viewer.arrays import F64
from viewer.beads.section import section_area, width_of
from viewer.program import Program
from viewer.read.moves import BEAD
from viewer.shown.cause_words import cause_title
from viewer.shown.pictures.choices import Colouring
from viewer.why.causes import Cause, CauseTimes
from viewer.why.plate_map import PlateMap, plate_map
from viewer.why.ramps import braking_share, lost_share

Rows = npt.NDArray[np.intp]
SAMPLE = 200_000
"""Number of beads, evenly spaced, that stand for all when the range of values is looked for."""
TAILS_PERCENT = (0.5, 99.5)
"""The bar spans the values between these percentiles: one blob of ten times the usual flow would leave
all other beads the same colour. What lies beyond takes the end's colour, and the bar says so."""
EVERYTHING = (0.0, 100.0)
STEPS = 4
"""Approximate number of steps between the ticks of a bar."""
ALIKE = 0.02

UNITS: dict[Colouring, tuple[str, str]] = {
    "speed": ("speed reached", "mm/s"),
    "flow": ("flow", "mm³/s"),
    "width": ("width", "mm"),
    "thickness": ("thickness", "mm"),
    "time": ("when in the layer", "s"),
    "braking": ("share of time speeding up and braking", "%"),
    "lost": ("share of time lost against the commanded speed", "%"),
    "cause": ("time of each bead", "s"),
    "layer map": ("time over the plate, this layer", "s/mm²"),
    "program map": ("time over the plate, all layers", "s/mm²"),
}


@dataclass(frozen=True, slots=True)
class Span:
    """Lowest and highest value of a colour bar, and the ticks between."""

    low: float
    high: float
    ticks: tuple[float, ...]
    below: bool = False
    """There are lower values."""
    above: bool = False

    def told_of(self, values: F64) -> Span:
        """Return the span that says whether any of some values, those that are drawn, lie beyond its ends."""
        known = values[np.isfinite(values)]
        if not len(known):
            return self
        near = 1e-6 * max(abs(self.low), abs(self.high)) + 1e-9
        below, above = float(known.min()) < self.low - near, float(known.max()) > self.high + near
        return replace(self, below=self.below or below, above=self.above or above)


@dataclass(slots=True)
class Ranges:
    """The spans of one program, each computed when first asked for and the same for all its layers.

    Only so do the colours of two layers mean the same; the time is each layer's own.
    """

    program: Program
    """As on its card: under a trial the spans stay, so that colours change where times do."""
    _known: dict[Colouring, Span] = field(default_factory=dict)
    _causes: dict[Cause | None, Span] = field(default_factory=dict)
    _map: tuple[Program, PlateMap] | None = None

    def knows(self, colouring: Colouring, times: CauseTimes | None = None) -> bool:
        """Whether a span is there without looking through the program."""
        if colouring == "program map":
            return self._map is not None
        if colouring == "cause":
            return (None if times is None else times.cause) in self._causes
        return colouring in ("role", "braking", "lost", "time", "layer map") or colouring in self._known

    def of_cause(self, times: CauseTimes | None) -> Span:
        """Return the span of the seconds of beads: of one cause, or all of them."""
        cause = None if times is None else times.cause
        if cause not in self._causes:
            every = self.program.timing.time_s if times is None else times.seconds
            values = every if times is not None and not times.of_beads else every[_beads(self.program)]
            values = values[values > 0.0]
            some = values[:: max(1, -(-len(values) // SAMPLE))].astype(np.float64)
            self._causes[cause] = span_of(np.append(some, 0.0))
        return self._causes[cause]

    def map_of(self, program: Program) -> PlateMap:
        """Return where on the plate the time of all moves is spent."""
        if self._map is None or self._map[0] is not program:
            self._map = program, plate_map(program)
        return self._map[1]

    def of(self, colouring: Colouring, number: int) -> Span:
        """Return the span for layer `number`."""
        if colouring in ("braking", "lost"):
            return Span(0.0, 100.0, (0.0, 25.0, 50.0, 75.0, 100.0))
        if colouring == "time":
            starts = self.program.timing.moments.layer_start_s
            return span_of(np.array([0.0, starts[number] - starts[number - 1]]), EVERYTHING)
        if colouring not in self._known:
            rows = _sample(self.program)
            self._known[colouring] = span_of(
                values_of(self.program, rows, colouring),
                EVERYTHING if colouring == "thickness" else TAILS_PERCENT,
            )
        return self._known[colouring]


def values_of(program: Program, rows: Rows, colouring: Colouring) -> F64:
    """Return the value of each of the beads ``rows`` (move indices), (n,), in the unit of `UNITS`.

    NaN where it is not known: the time of beads that were laid before the first layer.
    """
    moves, timing = program.moves, program.timing
    if colouring == "speed":
        return timing.peak_mm_s[rows].astype(np.float64)
    if colouring == "thickness":
        return _thickness(program, rows)
    if colouring == "time":
        return _seconds_in_layer(program, rows)
    if colouring == "braking":
        return 100.0 * braking_share(program, rows)
    if colouring == "lost":
        return 100.0 * lost_share(program, rows)
    if colouring == "cause":
        return timing.time_s[rows].astype(np.float64)
    area = section_area(moves.fed_mm[rows], moves.length_mm[rows], program.filament_diameter_mm)
    if colouring == "flow":
        return np.asarray(area * timing.peak_mm_s[rows])
    return width_of(area, _thickness(program, rows))


def cause_values(program: Program, rows: Rows, times: CauseTimes | None) -> F64:
    """Return the seconds of moves of the cause that is looked at, or what they take in all; NaN where there are none."""
    seconds = (program.timing.time_s if times is None else times.seconds)[rows].astype(np.float64)
    return np.where(seconds > 0.0, seconds, np.nan)


def cause_key(times: CauseTimes | None) -> tuple[str, str]:
    """Return title and unit of the colours of a cause."""
    title, unit = UNITS["cause"]
    return (title, unit) if times is None else (cause_title(times.cause), unit)


def _thickness(program: Program, rows: Rows) -> F64:
    """Return the thickness of the layer that each bead belongs to; before the first, its height."""
    layers = program.layers
    numbers = np.minimum(layers.of_moves(rows), len(layers))
    heights = program.moves.z_mm[rows].astype(np.float64)
    if not len(layers):
        return heights
    return np.where(numbers > 0, layers.thickness_mm[np.maximum(numbers, 1) - 1], heights)


def _seconds_in_layer(program: Program, rows: Rows) -> F64:
    """Return when each bead begins, from the beginning of its layer."""
    starts = program.timing.moments.layer_start_s
    numbers = program.layers.of_moves(rows)
    known = (numbers >= 1) & (numbers < len(starts))
    begins = np.full(len(rows), np.nan)
    if known.any():
        begins[known] = _begins(program, rows[known]) - starts[numbers[known] - 1]
    return np.where(begins < 0.0, 0.0, begins)


def _begins(program: Program, rows: Rows) -> F64:
    """Return when moves begin; sums the stretch they lie in once, not once for each."""
    first, last = int(rows.min()), int(rows.max())
    times = program.timing.time_s[first:last].astype(np.float64)
    moving = np.concatenate([[0.0], np.cumsum(times)])[rows - first]
    waits = program.timing.waits.before(rows) - program.timing.waits.before(np.array([first]))
    return np.asarray(program.timing.progress.time_at_move(first)[0] + moving + waits)


def span_of(values: F64, percentiles: tuple[float, float] = TAILS_PERCENT) -> Span:
    """Return a span with round ends that holds the values between two percentiles; NaN counts for nothing."""
    known = values[np.isfinite(values)]
    if not len(known):
        return Span(0.0, 0.0, (0.0,))
    lowest, highest = float(known.min()), float(known.max())
    low, high = (float(value) for value in np.percentile(known, percentiles))
    if _alike(low, high):
        low, high = lowest, highest
    if _alike(low, high):
        return Span(0.5 * (low + high), 0.5 * (low + high), (0.5 * (low + high),))
    step = round_step((high - low) / STEPS)
    first, last = math.floor(low / step + 1e-9), math.ceil(high / step - 1e-9)
    ticks = tuple(k * step for k in range(first, last + 1))
    return Span(ticks[0], ticks[-1], ticks, lowest < ticks[0] - 1e-9, highest > ticks[-1] + 1e-9)


def _alike(low: float, high: float) -> bool:
    """Tell whether two values are one to the eye: a bar from 0.4926 to 0.4932 mm would show noise."""
    return high - low <= ALIKE * max(abs(low), abs(high))


def round_step(least: float) -> float:
    """Return the smallest of 1, 2 or 5 times a power of ten that is not below `least` (> 0)."""
    power = 10.0 ** math.floor(math.log10(least))
    return next(power * k for k in (1.0, 2.0, 5.0, 10.0) if power * k >= least * (1.0 - 1e-9))


def _beads(program: Program) -> Rows:
    """Return the beads of the layers."""
    layers = program.layers
    if not len(layers):
        return np.empty(0, np.intp)
    first, last = int(layers.first_move[0]), int(layers.first_move[-1])
    return first + np.flatnonzero(program.moves.kind[first:last] == BEAD)


def _sample(program: Program) -> Rows:
    """Return at most `SAMPLE` beads of the layers, evenly spaced."""
    rows = _beads(program)
    return rows[:: max(1, -(-len(rows) // SAMPLE))]
