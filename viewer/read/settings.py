"""The `Settings` table: what changes rarely, one row a distinct combination, and an index for every move."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from viewer.read.events import Events
from viewer.read.moves import F64, I32
from viewer.read.remarks import Remarks
from viewer.units import S_PER_MIN

FIELDS = (
    "tool",  # number of the tool, 0 where none was chosen
    "speed_factor",  # M220, 1 = 100 %
    "accel_print_mm_s2",  # M204 P or S; NaN: not stated
    "accel_travel_mm_s2",  # M204 T, or S
    "accel_retract_mm_s2",  # M204 R
    "top_x_mm_s",
    "top_y_mm_s",
    "top_z_mm_s",
    "top_e_mm_s",  # M203 (mm/s) and the like
    "accel_x_mm_s2",
    "accel_y_mm_s2",
    "accel_z_mm_s2",
    "accel_e_mm_s2",  # M201
    "jump_x_mm_s",
    "jump_y_mm_s",
    "jump_z_mm_s",
    "jump_e_mm_s",  # M205 X Y Z E, M566 (instant speed change)
    "deviation_mm",  # M205 J (junction deviation)
    "corner_mm_s",  # corner speed at a right angle (word commands)
    "least_segment_s",  # M205 B (smallest segment time)
    "top_path_mm_s",  # speed limit along the path from a word command
    "fan",  # M106, 0 .. 1 (part-cooling fan, P0 or none)
    "nozzle_c",  # target of the current tool, NaN: never set
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
        """Give one field for every row of `table`: (rows,)."""
        return self.table[:, FIELDS.index(field)]


_Place = tuple[npt.ArrayLike, npt.ArrayLike]
"""Lines, which give the order, and indices of the next moves."""


@dataclass(slots=True)
class _Changes:
    """Changes of one field."""

    line: list[npt.NDArray[np.int64]]
    move: list[npt.NDArray[np.int64]]
    value: list[F64]

    def add(self, place: _Place, value: npt.ArrayLike) -> None:
        values = np.atleast_1d(np.asarray(value, np.float64))
        known = ~np.isnan(values)
        if known.any():
            line, move = (np.atleast_1d(np.asarray(part, np.int64))[known] for part in place)
            self.line.append(line)
            self.move.append(move)
            self.value.append(values[known])


_BEGINNING = {"tool": 0.0, "speed_factor": 1.0, "fan": 0.0, "object": -1.0}
MM_S_CEILING = 2000.0
"""No axis is faster (common practice, no source): a larger M203 is in mm/min."""


def build_settings(events: Events, remarks: Remarks, moves: int) -> Settings:
    """Collect what changes rarely from events and word commands.

    Parameters
    ----------
    moves
        Number of moves.
    """
    changes = {field: _Changes([], [], []) for field in FIELDS}
    _accelerations(events, changes)
    _speeds_and_corners(events, changes)
    _factors_and_fan(events, changes)
    _tools_and_heat(events, remarks, changes)
    changes["object"].add((remarks.objects.line, remarks.objects.move), remarks.objects.value)
    for move, line, stated in remarks.limits:
        for field, value in stated.items():
            if field != "nozzle_c":
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
    in_minutes = np.zeros(len(rows), np.bool_)
    for values in stated.values():
        in_minutes |= np.nan_to_num(values) > MM_S_CEILING
    for axis, values in stated.items():
        changes[f"top_{axis}_mm_s"].add(place, np.where(in_minutes, values / S_PER_MIN, values))
    for number, scale in ((205, 1.0), (566, 1.0 / S_PER_MIN)):
        rows, place = _at(events, "M", number)
        for axis in "xyze":
            changes[f"jump_{axis}_mm_s"].add(place, _positive(events.values(axis.upper(), rows)) * scale)
    rows, place = _at(events, "M", 205)
    changes["deviation_mm"].add(place, _positive(events.values("J", rows)))
    changes["least_segment_s"].add(place, events.values("B", rows) * 1e-6)


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


def _tools_and_heat(events: Events, remarks: Remarks, changes: dict[str, _Changes]) -> None:
    """Follow the target of the tool in use and of the plate; some hundreds of events at most."""
    tool = 0
    targets: dict[int, float] = {}
    wanted = np.isin(events.code, (1040, 1090, 1400, 1900)) & (events.letter == ord("M"))
    wanted |= (events.letter == ord("T")) | ((events.letter == ord("M")) & (events.code == 60))
    wanted |= (events.letter == ord("G")) & (events.code == 100)
    words = [
        (line, move, -1, stated["nozzle_c"]) for move, line, stated in remarks.limits if "nozzle_c" in stated
    ]
    rows = np.flatnonzero(wanted).tolist()
    commands = [(int(events.line[row]), int(events.move[row]), int(row), np.nan) for row in rows]
    for line, move, row, value in sorted(commands + words):
        place = (line, move)
        if row < 0:
            targets[tool] = value
            changes["nozzle_c"].add(place, value)
            continue
        letter, number, said = chr(events.letter[row]), int(events.code[row]) // 10, events.words(row)
        target = said.get("S", said.get("R", np.nan))
        of_tool = said.get("T", said.get("P", np.nan) if letter == "G" else np.nan)
        if letter == "T" or (letter == "M" and number == 6):
            tool = number if letter == "T" else int(of_tool) if 0 <= of_tool < 64 else tool
            changes["tool"].add(place, tool)
            changes["nozzle_c"].add(place, targets.get(tool, np.nan))
        elif letter == "M" and number in (140, 190):
            changes["plate_c"].add(place, target)
        elif not np.isnan(target):
            whose = int(of_tool) if 0 <= of_tool < 64 else tool
            targets[whose] = target
            if whose == tool:
                changes["nozzle_c"].add(place, target)


def _positive(values: F64) -> F64:
    """Give the values with zero and less as not stated."""
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
