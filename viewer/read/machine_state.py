"""The machine's state along a program: the tool in use, and the targets of its nozzles, plate and chamber.

The one place where tool changes and heat commands are decoded; settings, clock and checks read it::

    events ---------decode--> ToolChanges --whose nozzle--+
    events ---------decode--> targets named, G10 stored --+--> Targets, HeatWaits --bisect--> what holds where
    word commands --decode--> targets --------------------+

Everything is in program order: of two commands before the same move the later line counts.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, fields
from typing import Final, Literal, Self

import numpy as np
import numpy.typing as npt

from viewer.arrays import F64, I64, U8, Bool, freeze
from viewer.read.events import Events
from viewer.read.homing import homes_one_way
from viewer.units import MAX_TOOLS

Heater = Literal["nozzle", "plate", "chamber"]

PLATE: Final = MAX_TOOLS
"""Number of the plate's heater; numbers below are those of the tools, each for its own nozzle."""
CHAMBER: Final = MAX_TOOLS + 1
ALL_HEATERS: Final = MAX_TOOLS + 2
"""Of a wait for every heater that is on (M116)."""

_NUMBERS: Final[dict[Heater, range]] = {
    "nozzle": range(MAX_TOOLS),
    "plate": range(PLATE, PLATE + 1),
    "chamber": range(CHAMBER, CHAMBER + 1),
}
_NOZZLE_CODES: Final = (1040, 1090)
_NOZZLE_WAIT: Final = 1330
_PLATE_WAIT: Final = 1340
_PLATE_CODES: Final = (1400, 1900)
_CHAMBER_CODES: Final = (1410, 1910)
MIN_NOZZLE_C: Final = 150.0
"""An M109 of the early dialect that sets this or more is for a nozzle (common practice, no source)."""
_WAITING_CODES: Final = (1090, 1900, 1910, 1160)
_EARLY_WAITS: Final = (60, _NOZZLE_WAIT, _PLATE_WAIT)
"""In programs that home by G161 and G162: M6, M133, M134."""


class _Rows:
    """Columns of the same length: (n,) each, read-only."""

    __slots__ = ()

    def __len__(self) -> int:
        """Return the number of rows."""
        return len(self.line)  # type: ignore[attr-defined] # every table has it

    def rows(self, wanted: npt.NDArray[np.bool_] | npt.NDArray[np.intp]) -> Self:
        """Return some of the rows, chosen by a mask or by their numbers."""
        columns = [getattr(self, column.name)[wanted] for column in fields(self)]  # type: ignore[arg-type]
        freeze(*columns)
        return type(self)(*columns)


@dataclass(frozen=True, slots=True, eq=False)
class ToolChanges(_Rows):
    """Every command that takes another tool than the one in use: T, and M6 or M135 with T."""

    line: I64  # (n,) from 1
    move: I64  # (n,) the next move
    event: I64  # (n,) row of `Events`
    tool: I64  # (n,) 0 .. MAX_TOOLS - 1


@dataclass(frozen=True, slots=True, eq=False)
class Targets(_Rows):
    """Every time that a heater gets a target."""

    line: (
        I64  # (n,) from which on the target holds: of the heat command, or of the tool change that applies it
    )
    move: I64  # (n,) the next move
    event: I64  # (n,) row of `Events`; -1: a word command
    stated_line: I64  # (n,) where the temperature is written: `line`, or that of the G10 before it
    heater: U8  # (n,) number of the tool whose nozzle it is, `PLATE` or `CHAMBER`
    target_c: F64  # (n,) 0 or less: off

    def of(self, heater: Heater) -> Targets:
        """Return the rows of the plate, of the chamber, or of all nozzles."""
        return self.rows(_is(self.heater, heater))


@dataclass(frozen=True, slots=True, eq=False)
class HeatWaits(_Rows):
    """Every command that waits for a temperature: M109, M190, M191, M116; in the early dialect M6, M133, M134."""

    line: I64  # (n,) from 1
    move: I64  # (n,) the next move
    event: I64  # (n,) row of `Events`
    heater: U8  # (n,) as in `Targets`, or `ALL_HEATERS`
    target_c: F64  # (n,) waited for; NaN: none was ever set, or all heaters are waited for
    cooling: Bool  # (n,) whether cooling is waited for too (R, M116), not only warming (S)

    def of(self, heater: Heater) -> HeatWaits:
        """Return the waits that include a kind of heater; M116 waits for each."""
        return self.rows(_is(self.heater, heater) | (self.heater == ALL_HEATERS))


@dataclass(frozen=True, slots=True, eq=False)
class HeatPeriods(_Rows):
    """Stretches of moves ``begin[i]`` to ``end[i]`` (exclusive) with one target; they cover all moves in order."""

    line: I64  # (n,) where the target is written; 0: none was set until then
    begin: I64  # (n,)
    end: I64  # (n,)
    target_c: F64  # (n,) NaN: never set until then


@dataclass(frozen=True, slots=True, eq=False)
class HeatSteps(_Rows):
    """What may change the target of the heater in use, and what holds from there on."""

    line: I64  # (n,) from 1
    move: I64  # (n,) the next move
    stated_line: I64  # (n,) as in `Targets`; 0: the nozzle in use was never set
    target_c: F64  # (n,) NaN: never set


@dataclass(frozen=True, slots=True, eq=False)
class MachineState:
    """The tool in use and all heat targets of one program on a machine with one nozzle, or one a tool."""

    moves: int
    """Number of moves of the program."""
    one_nozzle: bool
    """All tools share nozzle 0; else every tool has its own."""
    tools: ToolChanges
    targets: Targets
    waits: HeatWaits
    _latest: _Latest
    first_fed: int
    """First move that feeds filament; -1: not known, and every change counts."""

    @property
    def changes(self) -> ToolChanges:
        """Rows of `tools` that follow after filament was fed: a tool taken before replaces none that was in use."""
        return self.tools.rows(self.tools.move > self.first_fed)

    def tool_of(self, moves: npt.ArrayLike) -> I64:
        """Return the tool in use during moves, 0 where none was taken before: same shape."""
        return self._tool_after(np.searchsorted(self.tools.move, moves, side="right"))

    def tool_at_line(self, lines: npt.ArrayLike) -> I64:
        """Return the tool in use before lines are carried out: same shape."""
        return self._tool_after(np.searchsorted(self.tools.line, lines, side="left"))

    def target_of(self, heater: Heater, moves: npt.ArrayLike) -> F64:
        """Return the target during moves, degC, NaN where never set: same shape; of the nozzle in use."""
        number = self._in_use(heater, self.tool_of(moves))
        return self._value(
            self._latest.before(number, np.searchsorted(self.targets.move, moves, side="right"))
        )

    def target_at_line(self, heater: Heater, lines: npt.ArrayLike) -> F64:
        """Return the target before lines are carried out, degC, NaN where never set: same shape."""
        number = self._in_use(heater, self.tool_at_line(lines))
        return self._value(
            self._latest.before(number, np.searchsorted(self.targets.line, lines, side="left"))
        )

    def steps(self, heater: Heater) -> HeatSteps:
        """Return what holds after each row of `targets`, and after each tool change; of the nozzle in use."""
        own = np.flatnonzero(_is(self.targets.heater, heater))
        line, move, done = self.targets.line[own], self.targets.move[own], own + 1
        if heater == "nozzle" and not self.one_nozzle:
            before = np.searchsorted(self.targets.line, self.tools.line, side="left")
            line, move = np.append(self.tools.line, line), np.append(self.tools.move, move)
            order = np.argsort(line, kind="stable")  # on one line the tool is taken first
            line, move, done = line[order], move[order], np.append(before, done)[order]
        in_use = self._tool_after(np.searchsorted(self.tools.line, line, side="right"))
        row = self._latest.before(self._in_use(heater, in_use), done)
        stated_line = np.append(self.targets.stated_line, 0)[row]  # -1: 0, appended
        found = HeatSteps(line, move, stated_line, self._value(row))
        freeze(line, move, stated_line, found.target_c)
        return found

    def periods(self, heater: Heater) -> HeatPeriods:
        """Return the periods of one target, of the nozzle in use, of the plate or of the chamber; at least one."""
        steps = self.steps(heater)
        steps = steps.rows(steps.move < self.moves)
        line = np.append(0, steps.stated_line)
        target = np.append(np.nan, steps.target_c)
        begin = np.append(0, steps.move)
        last = np.append(begin[1:] != begin[:-1], True)  # of several before one move the last counts
        line, target, begin = line[last], target[last], begin[last]
        same = (line[1:] == line[:-1]) & ((target[1:] == target[:-1]) | (line[1:] == 0))
        new = np.append(True, ~same)
        begin = begin[new]
        found = HeatPeriods(line[new], begin, np.append(begin[1:], self.moves), target[new])
        freeze(found.line, found.begin, found.end, found.target_c)
        return found

    def last_targets(self) -> Targets:
        """Return the last target of each heater that was ever set, in the order in which they were first set."""
        heater = self.targets.heater
        _, first = np.unique(heater, return_index=True)
        _, from_end = np.unique(heater[::-1], return_index=True)
        return self.targets.rows((len(heater) - 1 - from_end)[np.argsort(first)])

    def lasting_targets(self, after: int) -> Targets:
        """Return the row from which each heater keeps its last target, of those behind move `after` where there are any.

        Many programs end with a command that switches off what is off already: `last_targets` has that one.
        """
        heaters, rows = self.targets.heater, []
        for heater in self.last_targets().heater:
            own = np.flatnonzero(heaters == heater)
            others = np.flatnonzero(self.targets.target_c[own] != self.targets.target_c[own[-1]])
            own = own[others[-1] + 1 if len(others) else 0 :]
            behind = own[self.targets.move[own] > after]
            rows.append(int(behind[0] if len(behind) else own[-1]))
        return self.targets.rows(np.array(rows, np.int64))

    def _tool_after(self, changes: npt.NDArray[np.intp] | np.intp) -> I64:
        """Return the tool in use after a number of changes."""
        return np.asarray(np.append(self.tools.tool, 0)[np.asarray(changes) - 1])  # -1: 0, appended

    def _in_use(self, heater: Heater, tool: I64) -> I64:
        """Return the heater's number for the tool in use."""
        if heater == "nozzle":
            return np.zeros_like(tool) if self.one_nozzle else tool
        return np.full_like(tool, _NUMBERS[heater].start)

    def _value(self, row: I64) -> F64:
        return np.asarray(np.append(self.targets.target_c, np.nan)[row])  # -1: NaN, appended


@dataclass(frozen=True, slots=True, eq=False)
class _Latest:
    """Finds the last row of a group before a place, for many groups and places at once, by bisection."""

    keys: I64  # (n,) group * span + place, sorted
    row: I64  # (n,) row of each key
    span: int

    @classmethod
    def of(cls, group: npt.ArrayLike, place: npt.ArrayLike, span: int) -> _Latest:
        """Index rows by their group and by their place in it, which is less than `span`."""
        keys = np.asarray(group, np.int64) * span + np.asarray(place, np.int64)
        row = np.argsort(keys, kind="stable")
        return cls(keys[row], row, span)

    def before(self, group: npt.ArrayLike, place: npt.ArrayLike) -> I64:
        """Return the last row of each group before each place, -1 where there is none: same shape."""
        base = np.asarray(group, np.int64) * self.span
        at = np.searchsorted(self.keys, base + np.asarray(place, np.int64), side="left") - 1
        found = (at >= 0) & (np.append(self.keys, -1)[at] >= base)
        return np.where(found, np.append(self.row, -1)[at], -1)


def read_machine_state(
    events: Events,
    limits: Sequence[tuple[int, int, dict[str, float]]],
    moves: int,
    *,
    one_nozzle: bool,
    first_fed: int = -1,
) -> MachineState:
    """Follow the tool in use and all heat targets through a program.

    * T, M6 T and M135 T take a tool; the program starts with tool 0. Numbers from `MAX_TOOLS` on, and negative ones,
      are signals to a machine and change nothing.
    * M104, M109: the nozzle of tool T, or else of the tool in use; M140, M190: the plate; M141, M191: the
      chamber. S is the target, or else R; with S a wait ends when it is reached from below, with R alone also
      from above. Without a target they wait for the one set before.
    * G10 P S R: the working and the resting temperature of tool P. They apply at once, by whether the tool is
      in use, and at every change of the tool. With one nozzle only working temperatures apply. With L it is
      something else.
    * M116 waits for every heater that is on.
    * In programs that home by G161 or G162 (`homes_one_way`) M133 waits for the nozzle of tool T or else of the tool
      in use, M134 for the plate, M6 for every heater that is on; and M109 sets the plate's target without waiting,
      unless one of them is `MIN_NOZZLE_C` or hotter (common practice, no source).
    * Word commands set the nozzle in use and the plate; whether they wait is not in the program.

    Parameters
    ----------
    events
        In program order.
    limits
        (move, line, fields of the settings table) of word commands, from `Remarks`.
    moves
        Number of moves.
    one_nozzle
        Whether all tools of the printer share one nozzle.
    first_fed
        First move that feeds filament, `moves` where none does; -1: not known.
    """
    tools = _tool_changes(events)
    parts = [
        _commanded(events, tools, one_nozzle=one_nozzle),
        *_tool_temperatures(events, tools, one_nozzle=one_nozzle),
        *(_stated_in_words(limits, tools, field, one_nozzle=one_nozzle) for field in ("nozzle_c", "plate_c")),
    ]
    merged = Targets(
        *(np.concatenate([getattr(part, column.name) for part in parts]) for column in fields(Targets))
    )
    merged = merged.rows(~np.isnan(merged.target_c))
    targets = merged.rows(
        np.lexsort((merged.event, merged.line))
    )  # stable: a tool rests before another works
    latest = _Latest.of(targets.heater, np.arange(len(targets)), len(targets) + 1)
    waits = _waits(events, tools, targets, latest, one_nozzle=one_nozzle)
    return MachineState(moves, one_nozzle, tools, targets, waits, latest, first_fed)


def _is(number: U8, heater: Heater) -> Bool:
    own = _NUMBERS[heater]
    return (number >= own.start) & (number < own.stop)


def _rows_of(events: Events, letter: str, codes: tuple[int, ...]) -> npt.NDArray[np.intp]:
    return np.flatnonzero((events.letter == ord(letter)) & np.isin(events.code, codes))


def _tool_number(values: F64) -> I64:
    """Return the tools that values name, -1 where they name none."""
    known = (values >= 0.0) & (values < MAX_TOOLS)
    return np.where(known, np.floor(values), -1.0).astype(np.int64)


def _tool_changes(events: Events) -> ToolChanges:
    by_name = (events.letter == ord("M")) & np.isin(events.code, (60, 1350))
    rows = np.flatnonzero((events.letter == ord("T")) | by_name)
    tool = _tool_number(np.where(by_name[rows], events.values("T", rows), np.floor(events.code[rows] / 10.0)))
    rows, tool = rows[tool >= 0], tool[tool >= 0]
    new = np.diff(tool, prepend=0) != 0
    rows, tool = rows[new], tool[new]
    columns = (events.line[rows].astype(np.int64), events.move[rows].astype(np.int64), rows.astype(np.int64))
    freeze(*columns, tool)
    return ToolChanges(*columns, tool)


def _tool_in_use(tools: ToolChanges, events: npt.NDArray[np.intp]) -> I64:
    """Return the tool in use at rows of `Events`."""
    return np.asarray(np.append(tools.tool, 0)[np.searchsorted(tools.event, events, side="right") - 1])


def _targets(
    events: Events, rows: npt.NDArray[np.intp], heater: I64, target_c: F64, stated_line: I64 | None = None
) -> Targets:
    """Return the rows of commands; those with the target NaN set nothing."""
    line = events.line[rows].astype(np.int64)
    stated = line if stated_line is None else stated_line
    return Targets(
        line,
        events.move[rows].astype(np.int64),
        rows.astype(np.int64),
        stated,
        heater.astype(np.uint8),
        target_c,
    )


def _named_heater(events: Events, rows: npt.NDArray[np.intp], tools: ToolChanges, *, one_nozzle: bool) -> I64:
    """Return the heater that M commands are for."""
    code, tool = _meant_codes(events, rows), _tool_number(events.values("T", rows))
    tool = np.where(tool >= 0, tool, _tool_in_use(tools, rows))
    nozzle = np.zeros_like(tool) if one_nozzle else tool
    other = np.where(np.isin(code, (*_PLATE_CODES, _PLATE_WAIT)), PLATE, CHAMBER)
    return np.where(np.isin(code, (*_NOZZLE_CODES, _NOZZLE_WAIT)), nozzle, other)


def _meant_codes(events: Events, rows: npt.NDArray[np.intp]) -> npt.NDArray[np.int32]:
    """Return the codes of M commands as they are usually meant: of the early dialect's M109 that of M140."""
    code = events.code[rows]
    if homes_one_way(events) and not np.any(_set_by(events, _rows_of(events, "M", (1090,))) >= MIN_NOZZLE_C):
        code = np.where(code == 1090, np.int32(1400), code)
    return code


def _set_by(events: Events, rows: npt.NDArray[np.intp]) -> F64:
    """Return the targets that heat commands state: S, or else R; NaN: none."""
    s = events.values("S", rows)
    return np.where(np.isnan(s), events.values("R", rows), s)


def _commanded(events: Events, tools: ToolChanges, *, one_nozzle: bool) -> Targets:
    """Return the targets of M104, M109 and their kin: S, or else R."""
    rows = _rows_of(events, "M", (*_NOZZLE_CODES, *_PLATE_CODES, *_CHAMBER_CODES))
    heater = _named_heater(events, rows, tools, one_nozzle=one_nozzle)
    return _targets(events, rows, heater, _set_by(events, rows))


def _tool_settings(events: Events) -> tuple[npt.NDArray[np.intp], I64]:
    """Return the rows of G10 P, and the tool of each; with L it is something else."""
    rows = _rows_of(events, "G", (100,))
    tool = _tool_number(events.values("P", rows))
    own = (tool >= 0) & np.isnan(events.values("L", rows))
    return rows[own], tool[own]


def _tool_temperatures(events: Events, tools: ToolChanges, *, one_nozzle: bool) -> list[Targets]:
    """Return what G10 P S R sets: at once, and of the tools left and taken at every change."""
    rows, tool = _tool_settings(events)
    if not len(rows):
        return []
    working, resting = events.values("S", rows), events.values("R", rows)
    if one_nozzle:
        resting = np.full(len(rows), np.nan)
    at_once = np.where(tool == _tool_in_use(tools, rows), working, resting)
    left = np.append(0, tools.tool)[: len(tools)]
    found = [(rows, tool, at_once, events.line[rows].astype(np.int64))]
    for changing, stored in ((left, resting), (tools.tool, working)):
        known = np.flatnonzero(~np.isnan(stored))
        latest = _Latest.of(tool[known], rows[known], len(events) + 1).before(changing, tools.event)
        change = np.flatnonzero(latest >= 0)
        stated = known[latest[change]]
        at_change = tools.event[change].astype(np.intp)
        line = events.line[rows[stated]].astype(np.int64)
        found.append((at_change, changing[change], stored[stated], line))
    return [
        _targets(events, at, np.zeros_like(whose) if one_nozzle else whose, target, line)
        for at, whose, target, line in found
    ]


def _stated_in_words(
    limits: Sequence[tuple[int, int, dict[str, float]]], tools: ToolChanges, field: str, *, one_nozzle: bool
) -> Targets:
    """Return what word commands set."""
    said = [(line, move, stated[field]) for move, line, stated in limits if field in stated]
    table = np.array(said, np.float64).reshape(-1, 3)
    line, move = table[:, 0].astype(np.int64), table[:, 1].astype(np.int64)
    in_use = np.append(tools.tool, 0)[np.searchsorted(tools.line, line, side="right") - 1]
    if field == "plate_c":
        heater = np.full(len(line), PLATE)
    else:
        heater = np.zeros_like(in_use) if one_nozzle else in_use
    return Targets(line, move, np.full(len(line), -1), line, heater.astype(np.uint8), table[:, 2])


def _waits(
    events: Events, tools: ToolChanges, targets: Targets, latest: _Latest, *, one_nozzle: bool
) -> HeatWaits:
    rows = _rows_of(events, "M", _WAITING_CODES + (_EARLY_WAITS if homes_one_way(events) else ()))
    rows = rows[_meant_codes(events, rows) != 1400]
    line, code = events.line[rows].astype(np.int64), events.code[rows]
    for_all = (code == 1160) | (code == 60)
    heater = np.where(for_all, ALL_HEATERS, _named_heater(events, rows, tools, one_nozzle=one_nozzle))
    row = latest.before(heater, np.searchsorted(targets.line, line, side="right"))
    only_r = np.isnan(events.values("S", rows)) & ~np.isnan(events.values("R", rows))
    columns = (line, events.move[rows].astype(np.int64), rows.astype(np.int64), heater.astype(np.uint8))
    cooling = for_all | np.isin(code, (_NOZZLE_WAIT, _PLATE_WAIT)) | only_r
    found = HeatWaits(*columns, np.append(targets.target_c, np.nan)[row], cooling)
    freeze(*columns, found.target_c, found.cooling)
    return found
