"""The `Settings` table: what changes rarely, one row a distinct combination, and an index for every move."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from viewer.arrays import F64, I32, I64
from viewer.read.comments.remarks import Remarks
from viewer.read.events import Events
from viewer.read.homing import homes_one_way
from viewer.read.machine_state import MachineState
from viewer.read.moves import Moves
from viewer.units import S_PER_MIN

FIELDS = (
    "tool",  # number of the tool, 0 where none was chosen
    "speed_factor",  # M220, 1 = 100 %
    "accel_print_mm_s2",  # M204 P or S; NaN: not stated
    "accel_travel_mm_s2",  # M204 T, or S
    "accel_retract_mm_s2",  # M204 R
    "max_x_mm_s",
    "max_y_mm_s",
    "max_z_mm_s",
    "max_e_mm_s",  # M203 (mm/s) and the like
    "accel_x_mm_s2",
    "accel_y_mm_s2",
    "accel_z_mm_s2",
    "accel_e_mm_s2",  # M201
    "jerk_x_mm_s",
    "jerk_y_mm_s",
    "jerk_z_mm_s",
    "jerk_e_mm_s",  # M205 X Y Z E, M566 (instant speed change)
    "junction_deviation_mm",  # M205 J (junction deviation)
    "corner_mm_s",  # corner speed at a right angle (word commands)
    "min_segment_time_s",  # M205 B (smallest segment time)
    "max_path_mm_s",  # speed limit along the path from a word command
    "fan",  # M106, 0 .. 1 (part-cooling fan, P0 or none)
    "nozzle_c",  # target of the nozzle in use, NaN: never set
    "plate_c",  # target of the plate, NaN: never set
    "object",  # number of the object mark, -1: none
)


@dataclass(frozen=True, slots=True, eq=False)
class Settings:
    """Rows are distinct combinations of `FIELDS`; NaN means that the program never stated it.

    The limits are what the *program* states; whether the machine obeys them is the printer card's word.
    """

    table: F64  # (rows, len(FIELDS))
    of_move: I32  # (moves,) row of `table` that holds during the move
    object_names: tuple[str, ...]  # name of object number i

    def column(self, field: str) -> F64:
        """Return one field for every row of `table`: (rows,)."""
        return self.table[:, FIELDS.index(field)]

    def commanded_mm_s(self, moves: Moves, rows: npt.NDArray[np.integer] | slice = slice(None)) -> F64:
        """Return the speed that some moves are commanded at, the program's factor (M220) in it; 0: none was given yet.

        A factor that is not positive counts as 1.
        """
        factor = self.column("speed_factor")[self.of_move[rows]]
        return np.asarray(moves.speed_mm_s[rows] * np.where(factor > 0.0, factor, 1.0), np.float64)


_Place = tuple[npt.ArrayLike, npt.ArrayLike]
"""Lines, which are the order, and indices of the next moves."""


@dataclass(slots=True)
class _Changes:
    """Changes of one field."""

    line: list[npt.NDArray[np.int64]]
    move: list[npt.NDArray[np.int64]]
    value: list[F64]

    def add(self, place: _Place, value: npt.ArrayLike) -> None:
        """Add values that hold from places on; NaN changes nothing."""
        values = np.atleast_1d(np.asarray(value, np.float64))
        known = ~np.isnan(values)
        line, move = (np.atleast_1d(np.asarray(part, np.int64))[known] for part in place)
        self.put(line, move, values[known])

    def put(self, line: I64, move: I64, value: F64) -> None:
        """Add values that hold from places on; NaN takes back what was stated before."""
        if len(value):
            self.line.append(line)
            self.move.append(move)
            self.value.append(value)


_BEGINNING = {"tool": 0.0, "speed_factor": 1.0, "fan": 0.0, "object": -1.0}
MM_S_CEILING = 2000.0
"""No axis is faster (common practice, no source): with a larger M203 all of the program's are in mm/min."""


def build_settings(events: Events, remarks: Remarks, moves: int, state: MachineState) -> Settings:
    """Collect what changes rarely from events and word commands.

    Parameters
    ----------
    moves
        Number of moves.
    state
        Tool and heat of the same events and word commands.
    """
    changes = {field: _Changes([], [], []) for field in FIELDS}
    _accelerations(events, changes)
    _speeds_and_corners(events, changes)
    _factors_and_fan(events, changes)
    _tools_and_heat(state, changes)
    changes["object"].add((remarks.objects.line, remarks.objects.move), remarks.objects.value)
    for move, line, stated in remarks.limits:
        for field, value in stated.items():
            if field not in ("nozzle_c", "plate_c"):
                changes[field].add((line, move), value)
    return _tabulate(changes, moves, remarks.object_names)


def _at(events: Events, letter: str, number: float) -> tuple[npt.NDArray[np.intp], _Place]:
    rows = events.rows(letter, number)
    return rows, (events.line[rows], events.move[rows])


def _accelerations(events: Events, changes: dict[str, _Changes]) -> None:
    rows, place = _at(events, "M", 204)
    both = _positive(events.values("S", rows))
    for field, letter in (("print", "P"), ("travel", "T"), ("retract", "R")):
        own = _positive(events.values(letter, rows))
        stated = own if field == "retract" else np.where(np.isnan(own), both, own)
        changes[f"accel_{field}_mm_s2"].add(place, stated)
    rows, place = _at(events, "M", 201)
    for axis in "xyze":
        changes[f"accel_{axis}_mm_s2"].add(place, _positive(events.values(axis.upper(), rows)))


def _speeds_and_corners(events: Events, changes: dict[str, _Changes]) -> None:
    rows, place = _at(events, "M", 203)
    stated = {axis: _positive(events.values(axis.upper(), rows)) for axis in "xyze"}
    in_minutes = any(bool(np.any(values > MM_S_CEILING)) for values in stated.values())
    for axis, values in stated.items():
        changes[f"max_{axis}_mm_s"].add(place, values / S_PER_MIN if in_minutes else values)
    for number, scale in ((205, 1.0), (566, 1.0 / S_PER_MIN)):
        rows, place = _at(events, "M", number)
        for axis in "xyze":
            changes[f"jerk_{axis}_mm_s"].add(place, _positive(events.values(axis.upper(), rows)) * scale)
    rows, place = _at(events, "M", 205)
    changes["junction_deviation_mm"].add(place, _positive(events.values("J", rows)))
    changes["min_segment_time_s"].add(place, events.values("B", rows) * 1e-6)


def _factors_and_fan(events: Events, changes: dict[str, _Changes]) -> None:
    rows, place = _at(events, "M", 220)
    changes["speed_factor"].add(place, _positive(events.values("S", rows)) / 100.0)
    rows, place = _at(events, "M", 106)
    part_fan = ~(events.values("P", rows) > 0.0)
    power = events.values("S", rows)
    fractions = bool(len(rows)) and bool(np.nanmax(power, initial=0.0) <= 1.0)
    power = np.where(np.isnan(power), 255.0 if not fractions else 1.0, power)
    changes["fan"].add(
        place, np.where(part_fan, np.clip(power / (1.0 if fractions else 255.0), 0.0, 1.0), np.nan)
    )
    rows, place = _at(events, "M", 107)
    part_fan = ~(events.values("P", rows) > 0.0)
    changes["fan"].add(place, np.where(part_fan, 0.0, np.nan))
    if homes_one_way(events):
        for number, stated in ((126, 1.0), (127, 0.0)):
            rows, place = _at(events, "M", number)
            changes["fan"].add(place, np.full(len(rows), stated))


def _tools_and_heat(state: MachineState, changes: dict[str, _Changes]) -> None:
    tools, nozzle, plate = state.tools, state.steps("nozzle"), state.steps("plate")
    changes["tool"].put(tools.line, tools.move, tools.tool.astype(np.float64))
    changes["nozzle_c"].put(nozzle.line, nozzle.move, nozzle.target_c)
    changes["plate_c"].put(plate.line, plate.move, plate.target_c)


def _positive(values: F64) -> F64:
    """Return the values with zero and less as not stated."""
    return np.where(values > 0.0, values, np.nan)


def _in_order(changes: _Changes) -> _Changes:
    if not changes.move:
        return changes
    line, move = np.concatenate(changes.line), np.concatenate(changes.move)
    value = np.concatenate(changes.value)
    order = np.argsort(line, kind="stable")
    return _Changes([line[order]], [move[order]], [value[order]])


def _tabulate(changes: dict[str, _Changes], moves: int, object_names: tuple[str, ...]) -> Settings:
    """Turn changes of fields into distinct rows and the row of each move."""
    merged = {field: _in_order(change) for field, change in changes.items() if change.move}
    points = np.unique(
        np.concatenate([np.zeros(1, np.int64), *(change.move[0] for change in merged.values())])
    )
    points = points[points < max(moves, 1)]
    key = np.zeros(len(points), np.int64)
    columns: dict[str, tuple[F64, npt.NDArray[np.intp]]] = {}
    for field, change in merged.items():
        place = np.searchsorted(change.move[0], points, side="right") - 1
        beginning = _BEGINNING.get(field, np.nan)
        values = np.where(place >= 0, change.value[0][np.maximum(place, 0)], beginning)
        distinct, code = np.unique(values, return_inverse=True, equal_nan=True)
        columns[field] = (values, code)
        key = np.unique(key * len(distinct) + code, return_inverse=True)[1].astype(np.int64)
    _, first, row_of_point = np.unique(key, return_index=True, return_inverse=True)
    table = np.empty((len(first), len(FIELDS)))
    for k, field in enumerate(FIELDS):
        table[:, k] = columns[field][0][first] if field in columns else _BEGINNING.get(field, np.nan)
    lengths = np.diff(np.append(points, moves))
    of_move = np.repeat(row_of_point.astype(np.int32), np.maximum(lengths, 0))
    table.flags.writeable = of_move.flags.writeable = False
    return Settings(table, of_move, object_names)
