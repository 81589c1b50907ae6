"""The layer strip in numbers, without Qt: a value a layer, columns of pixels, ticks, marks.

::

    layers     1    2    3    4    5          few layers: each is some columns wide, with a gap
    columns    |xxx.|xxx.|xxx.|xxx.|xxx.|

    layers     1 2 3 4 5 6 7 8 9 10 11 12     more layers than columns: a column shows the
    columns    |     |     |     |        |     highest of its layers
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

import numpy as np

from viewer.arrays import F64, I32, U8
from viewer.checks.run import Report
from viewer.figures.tables import Totals
from viewer.layers.layers import Layers
from viewer.program import Program
from viewer.read.notes import MESSAGE
from viewer.shown.cause_words import CAUSE_GROUPS
from viewer.shown.window.model.view_state import StripQuantity
from viewer.timing import CAUSES
from viewer.why.causes import Cause, CauseTimes

GAP_FROM: Final = 4
"""Bars of at least this number of columns leave the last one empty; narrower ones would turn into stripes."""
ROUTINE: Final = 4
"""A message whose wording returns in more than one layer of this number tells progress, not a place."""

MAX_NUMBERS: Final = 16
"""More numbers of layers below the bars would be a band of figures."""

MARK_KINDS: Final = ("stop", "look", "pause", "tool change", "note", "message")
"""Kinds of marks, the gravest first: findings by their severity, and what the program does."""
_PAUSE, _TOOL, _MESSAGE = (MARK_KINDS.index(kind) for kind in ("pause", "tool change", "message"))


def values_of(
    program: Program,
    quantity: StripQuantity,
    overhang_mm2: F64 | None,
    cause: Cause | None = None,
    times: CauseTimes | None = None,
) -> F64 | None:
    """Return one value a layer: (layers,); None where they are not known.

    Parameters
    ----------
    overhang_mm2
        (layers,) from the findings, None as long as there are none.
    cause
        The cause of the time that is looked at: of the times by cause only its own are shown.
    times
        Its times, where they are computed.
    """
    n = len(program.layers)
    table: Totals = program.totals
    if quantity == "causes" and cause is not None:
        if cause.limit and times is not None:
            return times.by_layer[1 : n + 1]
        return program.timing.ledger.by_layer[1 : n + 1, CAUSES.index(cause.name)]
    if quantity in ("time", "causes"):
        return np.asarray(program.timing.ledger.by_layer[1 : n + 1].sum(axis=1))
    if quantity == "filament":
        return table.layers.drawn_mm[1 : n + 1]
    if quantity == "peak flow":
        return table.layers.peak_flow_mm3_s[1 : n + 1]
    return overhang_mm2 if overhang_mm2 is not None and len(overhang_mm2) == n else None


def stack_of(program: Program) -> F64:
    """Return the seconds of each layer by group of causes: (layers, groups), in the order of `CAUSE_GROUPS`."""
    table = program.timing.ledger.by_layer[1 : len(program.layers) + 1]
    groups = [[CAUSES.index(cause) for cause in causes] for causes in CAUSE_GROUPS.values()]
    return np.stack([table[:, group].sum(axis=1) for group in groups], axis=1)


def overhang_of(report: Report | None) -> F64 | None:
    """Return the area that overhangs in each layer, mm2: (layers,); None where it was not measured."""
    return None if report is None or report.shape is None else report.shape.overhang_mm2


@dataclass(frozen=True, slots=True, eq=False)
class Bars:
    """Layers on columns of pixels."""

    layer: I32  # (columns,) number of the layer that the column shows, from 1
    value: F64  # (columns,) its value; 0 in the gap between two bars
    layers: int

    def place(self, number: int) -> tuple[int, int]:
        """Return the first column of layer `number` and the one after its last."""
        columns, at = len(self.layer), number - 1
        first = at * columns // self.layers
        return first, max(first + 1, number * columns // self.layers)

    def count_at(self, column: float) -> int:
        """Return how many layers share the column at a place along the strip."""
        columns = len(self.layer)
        c = min(max(int(column), 0), columns - 1)
        return max(1, -(-(c + 1) * self.layers // columns) + (-c * self.layers // columns))

    def at(self, column: float) -> int:
        """Return the layer shown at a place along the strip, the nearest one beyond its ends."""
        return int(self.layer[min(max(int(column), 0), len(self.layer) - 1)])


def bars_of(values: F64, columns: int) -> Bars:
    """Put one value a layer on columns of pixels.

    Parameters
    ----------
    values
        (layers,), at least one.
    columns
        How many columns there are, at least one.
    """
    n = len(values)
    if n <= columns:
        edges = np.arange(n + 1) * columns // n
        of_column = np.repeat(np.arange(n), np.diff(edges))
        shown = values[of_column].astype(np.float64)
        if columns // n >= GAP_FROM:
            shown[edges[1:] - 1] = 0.0
    else:
        firsts = -(-np.arange(columns) * n // columns)
        shown = np.maximum.reduceat(values, firsts).astype(np.float64)
        highest = values == np.repeat(shown, np.diff(np.append(firsts, n)))
        peaks = np.flatnonzero(highest)
        of_column = peaks[np.searchsorted(peaks, firsts)]
    return Bars((of_column + 1).astype(np.int32), shown, n)


@dataclass(frozen=True, slots=True)
class Axis:
    """The value axis: where its ticks stand and what they say."""

    unit: str
    top: float
    """The value at the upper end."""
    ticks: tuple[tuple[float, str], ...]
    root: bool = False
    """Heights are square roots of the values."""

    def share(self, value: F64) -> F64:
        """Return how high bars of some values are, 1 = up to the upper end."""
        share = np.asarray(value, np.float64) / self.top
        return np.sqrt(share) if self.root else share


_UNITS: Final[dict[StripQuantity, tuple[tuple[float, str], ...]]] = {
    "time": ((1.0, "s"), (60.0, "min"), (3600.0, "h")),
    "filament": ((1.0, "mm"), (1000.0, "m")),
    "peak flow": ((1.0, "mm³/s"),),
    "overhang": ((1.0, "mm²"),),
    "causes": ((1.0, "s"), (60.0, "min"), (3600.0, "h")),
}
_HEADROOM = 1.08
ROOT_FROM: Final = 4.0
"""Where one value is this many times the middle one, a linear scale shows little but that one (often the first
layer's time): then heights are square roots, and that is said in the strip."""


def axis_of(quantity: StripQuantity, highest: float, middle: float = 0.0) -> Axis:
    """Choose two or three round ticks above zero for values up to `highest`.

    Parameters
    ----------
    middle
        Median of the values above zero; 0: the scale is linear.
    """
    size, unit = next(
        ((s, name) for s, name in reversed(_UNITS[quantity]) if highest >= 2.0 * s), _UNITS[quantity][0]
    )
    if not highest > 0.0:
        return Axis(unit, 1.0, ((0.0, "0"),))
    step = nice_step(highest / size / 3.999)
    digits = max(
        0, -math.floor(math.log10(step) + 1e-9) + (step / 10 ** math.floor(math.log10(step)) % 1 > 0)
    )
    count = math.floor(highest / size / step + 1e-9)
    above = ((k * step * size, f"{k * step:.{digits}f}") for k in range(1, count + 1))
    root = middle > 0.0 and highest >= ROOT_FROM * middle
    return Axis(unit, highest * _HEADROOM, ((0.0, "0"), *above), root)


def middle_of(values: F64) -> float:
    """Return the median of the values above zero; 0 where there is none."""
    above = values[values > 0.0]
    return float(np.median(above)) if len(above) else 0.0


def nice_step(least: float) -> float:
    """Return the smallest of 1, 2, 2.5, 5 times a power of ten that is not below `least` (> 0)."""
    power = 10.0 ** math.floor(math.log10(least))
    return next(
        factor * power for factor in (1.0, 2.0, 2.5, 5.0, 10.0) if factor * power >= least * (1 - 1e-12)
    )


def layer_ticks(layers: int, columns: float, label: float) -> tuple[int, ...]:
    """Return the layers to be numbered along the strip so that labels `label` wide do not touch."""
    least = max(1.0, 3.0 * label * layers / max(columns, 1.0), layers / MAX_NUMBERS)
    power = 10 ** math.floor(math.log10(least))
    step = next(factor * power for factor in (1, 2, 5, 10) if factor * power >= least)
    ticks = list(range(step, layers + 1, step))
    return tuple(ticks if ticks and ticks[0] - 1 < least and step > 1 else [1, *(t for t in ticks if t > 1)])


@dataclass(frozen=True, slots=True, eq=False)
class Marks:
    """What stands above the bars, sorted by layer."""

    layer: I32  # (n,) from 1
    kind: U8  # (n,) place in MARK_KINDS
    row: I32  # (n,) of `Events` (pause, tool change), of `Notes` (message), or of the findings

    def __len__(self) -> int:
        """Return the number of marks."""
        return len(self.layer)


def marks_of(program: Program, findings: tuple[tuple[int | None, str], ...]) -> Marks:
    """Collect the marks of a program.

    Parameters
    ----------
    findings
        Layer (None: of no layer, not marked) and severity of each.
    """
    moments, events = program.timing.moments, program.events
    pauses = moments.pause_event.astype(np.int64)
    changes = moments.tool_change_event.astype(np.int64)
    messages = _telling_messages(program)
    placed = [i for i, (layer, _) in enumerate(findings) if layer is not None]
    layer = np.concatenate(
        [
            _layers_at(program.layers, events.move[pauses]),
            _layers_at(program.layers, events.move[changes]),
            _layers_at(program.layers, program.notes.move[messages]),
            np.array([findings[i][0] for i in placed], np.int64),
        ]
    )
    kind = np.concatenate(
        [
            np.repeat([_PAUSE, _TOOL, _MESSAGE], [len(pauses), len(changes), len(messages)]),
            np.array([MARK_KINDS.index(findings[i][1]) for i in placed], np.int64),
        ]
    )
    row = np.concatenate([pauses, changes, messages, np.array(placed, np.int64)])
    order = np.lexsort((kind, layer)) if len(program.layers) else np.zeros(0, np.intp)
    return Marks(layer[order].astype(np.int32), kind[order].astype(np.uint8), row[order].astype(np.int32))


def _layers_at(layers: Layers, moves: I32) -> I32:
    """Return the layer of each move; what comes before the first or after the last counts to it."""
    return np.clip(layers.of_moves(moves), 1, max(len(layers), 1)).astype(np.int32)


def _telling_messages(program: Program) -> I32:
    """Return the rows of messages that are not shown layer after layer."""
    notes = program.notes
    rows = np.flatnonzero((notes.flags & MESSAGE) > 0).astype(np.int32)
    shapes = notes.shape[rows]
    often = np.bincount(shapes[shapes >= 0], minlength=1) > max(3, len(program.layers) // ROUTINE)
    return rows[~((shapes >= 0) & often[np.maximum(shapes, 0)])]


@dataclass(frozen=True, slots=True)
class Cluster:
    """Marks that stand so close that one sign serves for all."""

    x: float
    first: int
    """Row of `Marks` of the first one."""
    end: int
    gravest: int
    """Row of `Marks` of the gravest one: its sign is drawn."""


def clusters_of(marks: Marks, x: F64, apart: float) -> tuple[Cluster, ...]:
    """Join marks that are less than `apart` from the first of them.

    Parameters
    ----------
    x
        (marks,) place of each along the strip, rising.
    """
    found: list[Cluster] = []
    first = 0
    while first < len(marks):
        end = int(np.searchsorted(x, x[first] + apart, side="left"))
        gravest = first + int(np.argmin(marks.kind[first:end]))
        found.append(Cluster(float(x[first]), first, end, gravest))
        first = end
    return tuple(found)
