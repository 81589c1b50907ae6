"""What the machine waits for between moves, and the clock of its heaters."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from typing import Final

import numpy as np
import numpy.typing as npt

from viewer.arrays import F64, I32, U8
from viewer.cards.printer import PrinterCard
from viewer.read.events import Events

# positions in ledger.CAUSES
DWELL: Final = 6
HEATING: Final = 7
HOMING: Final = 8
TOOL_CHANGE: Final = 9
PAUSE: Final = 10

TOOL_NUMBERS: Final = 64
"""T words from here on, and negative ones, are signals to a machine and change no tool (T255, T1000, T-1)."""


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


def stops_of(events: Events) -> I32:
    """Return the moves before which the machine stands still, sorted: (stops,).

    Dwell, homing, levelling, waits for heat (also those of a heated chamber, whose time no card knows),
    pauses, M400, and T words (also behind M6) that change the tool.
    """
    rows = _rows(events, _HANDLERS.keys() - _RUNNING | _STANDING)
    rows = np.concatenate([rows, _tool_changes(events)[0]])
    return np.unique(events.move[rows])


def waits_for(events: Events, moving_before: Callable[[npt.ArrayLike], F64], printer: PrinterCard) -> Waits:
    """Walk through the events and give what each waits for.

    * G4: S seconds, or else P milliseconds.
    * G28: the card's time, a third of it for each axis named. G29 and its fractional kin: the card's
      levelling time; a fractional one with S or Z (`G29.2 S0`) only sets something and takes none.
    * T, M6 T: the card's time where the tool changes; the program starts with tool 0.
    * M0 M1 M25 M226 M600 M601: the card's time; M0 and M1 with P (ms) or S (s) wait that long.
    * Heat: M104, M140, G10 P S R set targets, M109, M190, M116 wait for what is left then. Temperatures
      move straight towards the target at the card's rates from the room's, and go on while the machine does
      other things. S waits only for warming, R for cooling too, M116 for both and for every heater that is
      on. Each tool has a nozzle of its own, unless the card knows only one tool. A heated chamber (M141,
      M191) is not timed.

    Parameters
    ----------
    events : Events
        In program order.
    moving_before : callable
        Time of all moves before each of the given ones, seconds (`Plan.moving_before`).
    printer : PrinterCard
        Seconds and heating rates.

    Returns
    -------
    Waits
        Read-only columns.
    """
    rows, changes = _handled(events)
    causes, lasting = np.full(len(rows), -1, np.int8), np.zeros(len(rows))
    starts = moving_before(events.move[rows])
    for k, answer in enumerate(_answers(_Bench(printer), events, rows, starts, changes)):
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
class NozzleHeat:
    """The nozzle in use at a moment, by the heat clock of `waits_for`; degC."""

    is_c: float
    target_c: float
    """0: off, or never set."""


def nozzle_before(
    move: int, events: Events, moving_before: Callable[[npt.ArrayLike], F64], printer: PrinterCard
) -> NozzleHeat:
    """Return how hot the nozzle is when a move begins; the arguments are those of `waits_for`."""
    rows, changes = _handled(events)
    rows = rows[events.move[rows] <= move]
    bench = _Bench(printer)
    waited = sum(
        lasting for _, _, lasting in _answers(bench, events, rows, moving_before(events.move[rows]), changes)
    )
    nozzle = bench.nozzle(bench.tool)
    return NozzleHeat(nozzle.at(float(moving_before([move])[0]) + waited), nozzle.target_c)


def _handled(events: Events) -> tuple[npt.NDArray[np.intp], dict[int, int]]:
    """Return the rows that the machine answers, and the tool by row where one changes it."""
    change_rows, new_tools = _tool_changes(events)
    changes = dict(zip(change_rows.tolist(), new_tools.tolist(), strict=True))
    return np.union1d(_rows(events, _HANDLERS), change_rows), changes


def _answers(
    bench: _Bench, events: Events, rows: npt.NDArray[np.intp], moving_s: F64, changes: dict[int, int]
) -> Iterator[tuple[float, int, float]]:
    """Yield start, cause and length of what each row makes the machine wait; `moving_s` (rows,) are the moves before."""
    waited = 0.0
    for row, moved in zip(rows.tolist(), moving_s.tolist(), strict=True):
        bench.now_s = moved + waited
        cause, lasting = _answer(bench, events, row, changes)
        waited += lasting
        yield bench.now_s, cause, lasting


def _answer(bench: _Bench, events: Events, row: int, changes: dict[int, int]) -> tuple[int, float]:
    """Return the cause and length of one event's wait; -1 for one without."""
    if row in changes:
        bench.change_tool(changes[row])
        return TOOL_CHANGE, bench.printer.tool_change_s
    letter, code = chr(events.letter[row]), int(events.code[row])
    words = {
        name: value for name, value in events.words(row).items() if name in "XYZ" or not math.isnan(value)
    }
    return _HANDLERS[letter, code](bench, words)


def _rows(events: Events, keys: set[_Key] | dict[_Key, _Handler]) -> npt.NDArray[np.intp]:
    """Return the rows of these commands, in program order."""
    wanted = [(ord(letter) << 24) + code for letter, code in keys]
    return np.flatnonzero(np.isin((events.letter.astype(np.int64) << 24) + events.code, wanted))


def _tool_changes(events: Events) -> tuple[npt.NDArray[np.intp], npt.NDArray[np.int64]]:
    """Return the rows of T, or M6 with T, that choose another tool than the one in use (0 at first), and that tool."""
    by_name = (events.letter == ord("M")) & (events.code == 60)
    rows = np.flatnonzero((events.letter == ord("T")) | by_name)
    named = np.where(by_name[rows], events.values("T", rows), events.code[rows] // 10)
    real = (named >= 0) & (named < TOOL_NUMBERS)
    rows, tools = rows[real], named[real].astype(np.int64)
    new = np.diff(tools, prepend=0) != 0
    return rows[new], tools[new]


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
    """The machine as far as its waits go: the heaters, the tool in use, the time."""

    printer: PrinterCard
    now_s: float = 0.0
    tool: int = 0
    nozzles: dict[int, _Heater] = field(default_factory=dict)
    plates: dict[int, _Heater] = field(default_factory=dict)
    working_c: dict[int, float] = field(default_factory=dict)  # G10 P S, by tool
    resting_c: dict[int, float] = field(default_factory=dict)  # G10 P R, by tool

    def nozzle(self, tool: int) -> _Heater:
        """Return the heater of a tool's nozzle, at the room's temperature when first asked for."""
        heat = self.printer.heat
        number = tool if self.printer.tools > 1 else 0
        return self.nozzles.setdefault(
            number, _Heater(heat.nozzle_warming_c_s, heat.nozzle_cooling_c_s, heat.room_c, heat.room_c)
        )

    def plate(self) -> _Heater:
        """Return the heater of the plate."""
        heat = self.printer.heat
        return self.plates.setdefault(
            0, _Heater(heat.plate_warming_c_s, heat.plate_cooling_c_s, heat.room_c, heat.room_c)
        )

    def named_nozzle(self, words: _Words) -> _Heater:
        """Return the nozzle that a T word names, else that of the tool in use."""
        tool = int(words.get("T", self.tool))
        return self.nozzle(tool if 0 <= tool < TOOL_NUMBERS else self.tool)

    def change_tool(self, tool: int) -> None:
        """Take another tool; those with a working and a resting temperature change to it."""
        if self.tool in self.resting_c:
            self.nozzle(self.tool).aim(self.now_s, self.resting_c[self.tool])
        self.tool = tool
        if tool in self.working_c:
            self.nozzle(tool).aim(self.now_s, self.working_c[tool])


_Handler = Callable[[_Bench, _Words], tuple[int, float]]


def _aim_and_wait(bench: _Bench, heater: _Heater, words: _Words, *, wait: bool) -> tuple[int, float]:
    """Set a heater's target from S or R and, if told so, wait for what is left."""
    target = words.get("S", words.get("R"))
    if target is not None:
        heater.aim(bench.now_s, target)
    return HEATING, heater.left_s(bench.now_s, cooling="R" in words and "S" not in words) if wait else 0.0


def _nozzle(bench: _Bench, words: _Words) -> tuple[int, float]:
    return _aim_and_wait(bench, bench.named_nozzle(words), words, wait=False)


def _nozzle_wait(bench: _Bench, words: _Words) -> tuple[int, float]:
    return _aim_and_wait(bench, bench.named_nozzle(words), words, wait=True)


def _plate(bench: _Bench, words: _Words) -> tuple[int, float]:
    return _aim_and_wait(bench, bench.plate(), words, wait=False)


def _plate_wait(bench: _Bench, words: _Words) -> tuple[int, float]:
    return _aim_and_wait(bench, bench.plate(), words, wait=True)


def _all_wait(bench: _Bench, _words: _Words) -> tuple[int, float]:
    heaters = [*bench.nozzles.values(), *bench.plates.values()]
    return HEATING, max(
        (h.left_s(bench.now_s, cooling=True) for h in heaters if h.target_c > 0.0), default=0.0
    )


def _tool_temperatures(bench: _Bench, words: _Words) -> tuple[int, float]:
    """G10 P S R: the working and the resting temperature of a tool; with L it is something else."""
    tool = int(words.get("P", -1.0))
    if "L" in words or not 0 <= tool < TOOL_NUMBERS:
        return -1, 0.0
    for letter, store in (("S", bench.working_c), ("R", bench.resting_c)):
        if letter in words:
            store[tool] = words[letter]
    store = bench.working_c if tool == bench.tool else bench.resting_c
    if tool in store:
        bench.nozzle(tool).aim(bench.now_s, store[tool])
    return HEATING, 0.0


def _stated_seconds(words: _Words) -> float | None:
    """Return S (seconds) or P (milliseconds), None where neither is there."""
    if "S" in words:
        return max(words["S"], 0.0)
    return max(words["P"], 0.0) / 1000.0 if "P" in words else None


def _dwell(_bench: _Bench, words: _Words) -> tuple[int, float]:
    return DWELL, _stated_seconds(words) or 0.0


def _home(bench: _Bench, words: _Words) -> tuple[int, float]:
    named = sum(axis in words for axis in "XYZ")
    return HOMING, bench.printer.homing.seconds * (named / 3.0 if named else 1.0)


def _level(bench: _Bench, _words: _Words) -> tuple[int, float]:
    return HOMING, bench.printer.levelling_s


def _level_kin(bench: _Bench, words: _Words) -> tuple[int, float]:
    return HOMING, 0.0 if "S" in words or "Z" in words else bench.printer.levelling_s


def _pause(bench: _Bench, _words: _Words) -> tuple[int, float]:
    return PAUSE, bench.printer.pause_s


def _pause_or_time(bench: _Bench, words: _Words) -> tuple[int, float]:
    stated = _stated_seconds(words)
    return PAUSE, bench.printer.pause_s if stated is None else stated


_HANDLERS: Final[dict[_Key, _Handler]] = {
    ("G", 40): _dwell,
    ("G", 100): _tool_temperatures,
    ("G", 280): _home,
    ("G", 290): _level,
    **{("G", code): _level_kin for code in range(291, 300)},
    ("M", 0): _pause_or_time,
    ("M", 10): _pause_or_time,
    ("M", 250): _pause,
    ("M", 2260): _pause,
    ("M", 6000): _pause,
    ("M", 6010): _pause,
    ("M", 1040): _nozzle,
    ("M", 1090): _nozzle_wait,
    ("M", 1160): _all_wait,
    ("M", 1400): _plate,
    ("M", 1900): _plate_wait,
}
_RUNNING: Final[set[_Key]] = {("G", 100), ("M", 1040), ("M", 1400)}
"""Handled while the machine goes on moving."""
_STANDING: Final[set[_Key]] = {("M", 4000), ("M", 1910)}
"""Make the machine stand still without a time of their own."""
