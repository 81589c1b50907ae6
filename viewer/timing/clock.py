"""What the machine waits for between moves, and the clock of its heaters."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field, replace
from typing import Final

import numpy as np
import numpy.typing as npt

from viewer.arrays import F64, I32, U8
from viewer.cards.printer import PrinterCard
from viewer.read.events import Events
from viewer.read.homing import HOMING_CODES
from viewer.read.machine_state import ALL_HEATERS, CHAMBER, PLATE, MachineState

# positions in ledger.CAUSES
DWELL: Final = 6
HEATING: Final = 7
HOMING: Final = 8
TOOL_CHANGE: Final = 9
PAUSE: Final = 10
PAUSE_CODES: Final = (0, 10, 250, 2260, 6000, 6010)
"""M0, M1, M25, M226, M600, M601 (ten times the number), which wait for somebody."""
_TIMED_PAUSES: Final = (0, 10)
"""Those that may state how long they wait instead."""


@dataclass(frozen=True, slots=True, eq=False)
class Waits:
    """One row a wait, in program order. Pauses and tool changes have a row even if they take no time."""

    move: I32  # (n,) index of the next move
    event: I32  # (n,) row of `Events`
    cause: U8  # (n,) position in `ledger.CAUSES`
    seconds: F64  # (n,)
    start_s: F64  # (n,) time since the start of the program at which the wait begins

    def __len__(self) -> int:
        """Return the number of rows."""
        return len(self.move)

    def before(self, moves: npt.ArrayLike) -> F64:
        """Return the seconds waited until each of ``moves`` began, its own waits included: same shape."""
        total = np.concatenate([[0.0], np.cumsum(self.seconds)])
        return np.asarray(total[np.searchsorted(self.move, np.asarray(moves), side="right")])


_Words = dict[str, float]
_Key = tuple[str, int]


def stops_of(events: Events, state: MachineState) -> I32:
    """Return the moves before which the machine stands still, sorted: (stops,).

    Dwell, homing, levelling, waits for heat (also those of a heated chamber, whose time no card knows),
    pauses, M400, and T words (also behind M6) that change the tool.
    """
    rows = _rows(events, _HANDLERS.keys() | _STANDING)
    return np.unique(events.move[np.concatenate([rows, state.tools.event, state.waits.event])])


def waits_for(
    events: Events, state: MachineState, moving_before: Callable[[npt.ArrayLike], F64], printer: PrinterCard
) -> Waits:
    """Walk through the events and give what each waits for.

    * G4: S seconds, or else P milliseconds.
    * G28, G161, G162: the card's time, a third of it for each axis named. G29 and its fractional kin: the card's
      levelling time; a fractional one with S or Z (`G29.2 S0`) only sets something and takes none.
    * T, M6 T: the card's time where the tool changes; the program starts with tool 0, and a tool taken before
      filament is fed takes no time.
    * M0 M1 M25 M226 M600 M601: the card's time; M0 and M1 with P (ms) or S (s) wait that long.
    * Heat: the targets and waits of `state`, those of G and M commands. Temperatures move straight towards
      the target at the card's rates from the room's, and go on while the machine does other things. A heated
      chamber (M141, M191) is not timed, and the targets of word commands are left out: whether those wait is
      not in the program.

    Parameters
    ----------
    events : Events
        In program order.
    state : MachineState
        Of these events.
    moving_before : callable
        Time of all moves before each of the given ones, seconds (`Plan.moving_before`).
    printer : PrinterCard
        Seconds and heating rates.

    Returns
    -------
    Waits
        Read-only columns.
    """
    script = _Script.of(events, state)
    rows = script.rows
    causes, lasting = np.full(len(rows), -1, np.int8), np.zeros(len(rows))
    starts = moving_before(events.move[rows])
    for k, answer in enumerate(_answers(_Bench(printer), script, starts)):
        starts[k], causes[k], lasting[k] = answer
    found = (lasting > 0.0) | (causes == PAUSE) | (causes == TOOL_CHANGE)
    waits = Waits(
        move=events.move[rows[found]],
        event=rows[found].astype(np.int32),
        cause=causes[found].astype(np.uint8),
        seconds=lasting[found],
        start_s=starts[found],
    )
    for column in (waits.move, waits.event, waits.cause, waits.seconds, waits.start_s):
        column.flags.writeable = False
    return waits


@dataclass(frozen=True, slots=True)
class HeaterTemperature:
    """A heater at a moment, by the heat clock of `waits_for`; degC."""

    is_c: float
    target_c: float
    """0: off, or never set."""


def nozzle_before(
    move: int,
    events: Events,
    state: MachineState,
    moving_before: Callable[[npt.ArrayLike], F64],
    printer: PrinterCard,
) -> HeaterTemperature:
    """Return how hot the nozzle in use is when a move begins; the arguments are those of `waits_for`."""
    number = 0 if state.one_nozzle else int(state.tool_of(move))
    return _heater_before(number, move, _Script.of(events, state), moving_before, printer)


def plate_before(
    move: int,
    events: Events,
    state: MachineState,
    moving_before: Callable[[npt.ArrayLike], F64],
    printer: PrinterCard,
) -> HeaterTemperature:
    """Return how hot the plate is when a move begins; the arguments are those of `waits_for`."""
    return _heater_before(PLATE, move, _Script.of(events, state), moving_before, printer)


def _heater_before(
    number: int,
    move: int,
    script: _Script,
    moving_before: Callable[[npt.ArrayLike], F64],
    printer: PrinterCard,
) -> HeaterTemperature:
    events = script.events
    script = replace(script, rows=script.rows[events.move[script.rows] <= move])
    bench = _Bench(printer)
    moving_s = moving_before(events.move[script.rows])
    waited = sum(lasting for _, _, lasting in _answers(bench, script, moving_s))
    heater = bench.heater(number)
    return HeaterTemperature(heater.at(float(moving_before([move])[0]) + waited), heater.target_c)


@dataclass(frozen=True, slots=True)
class _Script:
    """What the machine does at each row of `Events` that it answers."""

    events: Events
    rows: npt.NDArray[np.intp]
    tool_changes: frozenset[int]
    targets: dict[int, list[tuple[int, float]]]
    """(heater, degC) that a row sets, in order; the chamber's left out."""
    waits: dict[int, tuple[int, bool]]
    """The heater that a row waits for, and whether for cooling too; the chamber's left out."""

    @classmethod
    def of(cls, events: Events, state: MachineState) -> _Script:
        """Take heat and tool changes from the machine's state, all else from the events."""
        targets = state.targets.rows((state.targets.event >= 0) & (state.targets.heater != CHAMBER))
        set_by: dict[int, list[tuple[int, float]]] = {}
        columns = (targets.event.tolist(), targets.heater.tolist(), targets.target_c.tolist())
        for row, heater, target_c in zip(*columns, strict=True):
            set_by.setdefault(row, []).append((heater, target_c))
        waits = state.waits.rows(state.waits.heater != CHAMBER)
        waited_for = zip(waits.heater.tolist(), waits.cooling.tolist(), strict=True)
        rows = np.concatenate([_rows(events, _HANDLERS), state.tools.event, targets.event, waits.event])
        return cls(
            events, np.unique(rows), frozenset(state.changes.event.tolist()), set_by,
            dict(zip(waits.event.tolist(), waited_for, strict=True)),
        )  # fmt: skip


def _answers(bench: _Bench, script: _Script, moving_s: F64) -> Iterator[tuple[float, int, float]]:
    """Yield start, cause and length of what each row makes the machine wait; `moving_s` (rows,) are the moves before."""
    waited = 0.0
    for row, moved in zip(script.rows.tolist(), moving_s.tolist(), strict=True):
        bench.now_s = moved + waited
        cause, lasting = _answer(bench, script, row)
        waited += lasting
        yield bench.now_s, cause, lasting


def _answer(bench: _Bench, script: _Script, row: int) -> tuple[int, float]:
    """Return the cause and length of one event's wait; -1 for one without."""
    for heater, target_c in script.targets.get(row, ()):
        bench.heater(heater).aim(bench.now_s, target_c)
    heating_s = bench.heating_s(*script.waits[row]) if row in script.waits else -1.0
    if row in script.tool_changes and heating_s <= bench.printer.tool_change_s:
        return TOOL_CHANGE, bench.printer.tool_change_s
    if row in script.waits:
        return HEATING, heating_s  # the early dialect's M6 takes a tool and waits, both at once
    handler = _HANDLERS.get((chr(script.events.letter[row]), int(script.events.code[row])))
    return handler(bench.printer, _stated(script.events, row)) if handler else (-1, 0.0)


def _stated(events: Events, row: int) -> _Words:
    """Return the words of a row that have a value, and axes without one."""
    words = events.words(row)
    return {name: value for name, value in words.items() if name in "XYZ" or not math.isnan(value)}


def _rows(events: Events, keys: set[_Key] | dict[_Key, _Handler]) -> npt.NDArray[np.intp]:
    """Return the rows of these commands, in program order."""
    wanted = [(ord(letter) << 24) + code for letter, code in keys]
    return np.flatnonzero(np.isin((events.letter.astype(np.int64) << 24) + events.code, wanted))


@dataclass(slots=True)
class _Heater:
    """One heater: where it was when last told, and where it goes; degC, s."""

    warming_c_s: float
    cooling_c_s: float
    room_c: float
    was_c: float
    since_s: float = 0.0
    target_c: float = 0.0  # 0 or less: off

    def at(self, now_s: float) -> float:
        """Return the temperature at a moment."""
        goal = max(self.target_c, self.room_c)
        passed = now_s - self.since_s
        if goal >= self.was_c:
            return min(goal, self.was_c + self.warming_c_s * passed)
        return max(goal, self.was_c - self.cooling_c_s * passed)

    def aim(self, now_s: float, target_c: float) -> None:
        """Set the target."""
        self.was_c, self.since_s = self.at(now_s), now_s
        self.target_c = target_c

    def left_s(self, now_s: float, *, cooling: bool) -> float:
        """Return the seconds left at a moment to the target; 0 on the way down unless ``cooling``."""
        missing = max(self.target_c, self.room_c) - self.at(now_s)
        if missing >= 0.0:
            return missing / self.warming_c_s
        return -missing / self.cooling_c_s if cooling else 0.0


@dataclass(slots=True)
class _Bench:
    """The machine as far as its waits go: the heaters and the time."""

    printer: PrinterCard
    now_s: float = 0.0
    heaters: dict[int, _Heater] = field(default_factory=dict)
    """By their number in `MachineState`."""

    def heater(self, number: int) -> _Heater:
        """Return a heater, at the room's temperature when first asked for."""
        if number not in self.heaters:
            heat = self.printer.heat
            rates = (
                (heat.plate_warming_c_s, heat.plate_cooling_c_s)
                if number == PLATE
                else (heat.nozzle_warming_c_s, heat.nozzle_cooling_c_s)
            )
            self.heaters[number] = _Heater(*rates, heat.room_c, heat.room_c)
        return self.heaters[number]

    def heating_s(self, number: int, cooling: bool) -> float:
        """Return how long a heater, or all that are on, take to their targets from now on, in seconds."""
        if number == ALL_HEATERS:
            awaited = [heater for heater in self.heaters.values() if heater.target_c > 0.0]
        else:
            awaited = [self.heater(number)]
        return max((heater.left_s(self.now_s, cooling=cooling) for heater in awaited), default=0.0)


_Handler = Callable[[PrinterCard, _Words], tuple[int, float]]


def _stated_seconds(words: _Words) -> float | None:
    """Return S (seconds) or P (milliseconds), None where neither is there."""
    if "S" in words:
        return max(words["S"], 0.0)
    return max(words["P"], 0.0) / 1000.0 if "P" in words else None


def _dwell(_printer: PrinterCard, words: _Words) -> tuple[int, float]:
    return DWELL, _stated_seconds(words) or 0.0


def _home(printer: PrinterCard, words: _Words) -> tuple[int, float]:
    named = sum(axis in words for axis in "XYZ")
    return HOMING, printer.homing.seconds * (named / 3.0 if named else 1.0)


def _level(printer: PrinterCard, _words: _Words) -> tuple[int, float]:
    return HOMING, printer.levelling_s


def _level_kin(printer: PrinterCard, words: _Words) -> tuple[int, float]:
    return HOMING, 0.0 if "S" in words or "Z" in words else printer.levelling_s


def _pause(printer: PrinterCard, _words: _Words) -> tuple[int, float]:
    return PAUSE, printer.pause_s


def _pause_or_time(printer: PrinterCard, words: _Words) -> tuple[int, float]:
    stated = _stated_seconds(words)
    return PAUSE, printer.pause_s if stated is None else stated


_HANDLERS: Final[dict[_Key, _Handler]] = {
    ("G", 40): _dwell,
    **{("G", code): _home for code in HOMING_CODES},
    ("G", 290): _level,
    **{("G", code): _level_kin for code in range(291, 300)},
    **{("M", code): _pause_or_time if code in _TIMED_PAUSES else _pause for code in PAUSE_CODES},
}
_STANDING: Final[set[_Key]] = {("M", 4000)}
"""Make the machine stand still without a time of their own; so do all waits for heat."""
