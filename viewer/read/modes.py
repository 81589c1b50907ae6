"""What holds at a line: units, how positions and filament are counted, heat, fan, speed, place.

All of it stands in columns; of the file only the line that set the modes last is looked at again, to tell whether the
text that people see is still the one that was read::

    scanner --> ModeChanges --one search--> bits, F  --+
    events ---settings by line------------> heat, fan -+--> Modes
    moves ----one search------------------> place, fed +
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Final, Protocol
from weakref import WeakKeyDictionary

import numpy as np

from viewer.arrays import I64
from viewer.cards.printer import PrinterCard
from viewer.errors import Stopped
from viewer.read.comments.remarks import Marks, Remarks
from viewer.read.events import Events
from viewer.read.machine_state import read_machine_state
from viewer.read.mode_changes import (
    BY_VOLUME,
    E_RELATIVE,
    INCHES,
    RELATIVE,
    SKIPPING,
    ModeChanges,
    plane_of,
    shifted_axes,
)
from viewer.read.moves import Moves
from viewer.read.settings import Settings, build_settings
from viewer.read.texts import SHOWN_BYTES, Texts
from viewer.read.words import split_line


class Readable(Protocol):
    """What of a `Program` is needed here."""

    @property
    def moves(self) -> Moves: ...  # noqa: D102 - named as in Program, described there
    @property
    def events(self) -> Events: ...  # noqa: D102
    @property
    def modes(self) -> ModeChanges: ...  # noqa: D102
    @property
    def remarks(self) -> Remarks: ...  # noqa: D102
    @property
    def printer(self) -> PrinterCard: ...  # noqa: D102
    @property
    def texts(self) -> Texts: ...  # noqa: D102


@dataclass(frozen=True, slots=True)
class Modes:
    """What holds when a line is carried out."""

    inches: bool = False
    relative: bool = False
    """G91: positions are counted from where the nozzle is."""
    e_relative: bool = False
    """Filament is counted line by line (M83, or G91)."""
    by_volume: bool = False
    """M200: E is mm³, not mm."""
    plane: int = 17
    shifted: frozenset[str] = frozenset()
    """Axes whose origin G92 has put elsewhere."""
    skipped: bool = False
    """Inside a conditional block that is not carried out."""
    tool: int = 0
    speed_mm_s: float = 0.0
    """F so far; 0 where none was given yet."""
    speed_factor: float = 1.0
    nozzle_c: float = math.nan
    """Target, NaN: never set."""
    plate_c: float = math.nan
    fan: float = 0.0
    """0 .. 1."""
    position_mm: tuple[float, float, float] = (0.0, 0.0, 0.0)
    """Where the nozzle is before the line, in the machine's coordinates."""
    fed_mm: float = math.nan
    """Filament that this very line feeds, mm; NaN: it makes no move."""
    complete: bool = True
    """False: the line that set the modes last does not say so any more; the file was changed since it was read."""


@dataclass(frozen=True, slots=True, eq=False)
class ModeLines:
    """The settings of events, by line instead of by move, so that they hold between two moves too."""

    event_line: I64  # (m,) lines at which a setting changes
    settings: Settings  # of_move[i]: what holds from event_line[i - 1] on; of_move[0]: at the beginning
    complete: bool
    """False: the last line of the program that sets modes does not say so any more; the file was changed."""


_cache: WeakKeyDictionary[Readable, ModeLines] = WeakKeyDictionary()

_SETTERS: Final = {
    (INCHES, True): {"G20", "M121"},
    (INCHES, False): {"G21", "M121"},
    (RELATIVE, True): {"G91", "M121"},
    (RELATIVE, False): {"G90", "M121"},
    (E_RELATIVE, True): {"M83", "G91", "M121"},
    (E_RELATIVE, False): {"M82", "G90", "M121"},
    (SKIPPING, True): {"M622"},
    (SKIPPING, False): {"M623"},
}
"""Commands one of which stands on a line that sets or clears a bit."""


def modes_at(program: Readable, line: int, found: ModeLines | None = None) -> Modes:
    """Return what holds when a line is carried out, the words of the line itself left out.

    Parameters
    ----------
    program
        Of `viewer.open_program`.
    line
        From 1.
    found
        From `read_modes`; without it they are made once and kept as long as the program.

    Raises
    ------
    ReadError
        When the file is gone or its drive fails.
    """
    if found is None:
        found = _cache.get(program)
        if found is None:
            found = _cache.setdefault(program, read_modes(program))
    row = found.settings.of_move[int(np.searchsorted(found.event_line, line, side="left"))]
    bits = program.modes.modes_before(line)
    first, end = _rows_of_line(program.moves, line)
    fed = program.moves.fed_mm[first:end]
    return Modes(
        inches=bool(bits & INCHES),
        relative=bool(bits & RELATIVE),
        e_relative=bool(bits & E_RELATIVE),
        by_volume=bool(bits & BY_VOLUME),
        plane=plane_of(bits),
        shifted=shifted_axes(bits),
        skipped=bool(bits & SKIPPING),
        tool=int(found.settings.column("tool")[row]),
        speed_mm_s=speed_at(program.moves, program.modes, line),
        speed_factor=float(found.settings.column("speed_factor")[row]),
        nozzle_c=float(found.settings.column("nozzle_c")[row]),
        plate_c=float(found.settings.column("plate_c")[row]),
        fan=float(found.settings.column("fan")[row]),
        position_mm=program.moves.start_xyz(first),
        fed_mm=float(fed.sum(dtype=np.float64)) if len(fed) else math.nan,
        complete=found.complete and _still_says_so(program, line),
    )


def _rows_of_line(moves: Moves, line: int) -> tuple[int, int]:
    """Return the first row of `moves` that a line makes, or that comes later, and the one behind its last."""
    of_type = moves.line.dtype.type(line)  # a plain int would make numpy copy millions of lines to int64
    first = int(np.searchsorted(moves.line, of_type, side="left"))
    return first, int(np.searchsorted(moves.line, of_type, side="right"))


def speed_at(moves: Moves, changes: ModeChanges, line: int) -> float:
    """Return the modal speed (F) before a line, mm/s; 0 where none was given yet.

    The last move before the line tells it, or the last row of `changes` where that came later: lines that change F
    without a path, and G10, G11, homing and M121, behind which another speed holds than that of the last move.
    """
    first, _ = _rows_of_line(moves, line)
    row = changes.row_before(line)
    if row >= 0 and changes.move[row] >= first:
        return float(changes.speed_mm_s[row])
    return float(moves.speed_mm_s[first - 1]) if first > 0 else 0.0


def _still_says_so(program: Readable, line: int) -> bool:
    """Whether the line that set the modes which hold at `line` still has the commands for it.

    The file's size and time may be those of the file that was read although its text is another one: drives that know
    whole seconds only do not tell that a file was written twice within one.
    """
    changes = program.modes
    row = changes.row_before(line)
    others = np.flatnonzero(changes.modes[: row + 1] != changes.modes_before(line))
    before = int(changes.modes[others[-1]]) if len(others) else 0
    after = changes.modes_before(line)
    if before == after:
        return True  # nothing was set so far
    text = program.texts.line(int(changes.line[int(others[-1]) + 1 if len(others) else 0]))
    if len(text) >= SHOWN_BYTES:
        return True  # of so long a line not all was fetched
    names = {word.name for word in split_line(text) if word.kind == "command"}
    return all(
        bool(names & commands)
        for (bit, on), commands in _SETTERS.items()
        if (before ^ after) & bit and bool(after & bit) == on
    )


def read_modes(program: Readable, stop: Callable[[], bool] | None = None) -> ModeLines:
    """Return the settings of a program's events by line.

    Parameters
    ----------
    program
        Of `viewer.open_program`.
    stop
        Asked before the work begins.

    Raises
    ------
    ReadError
        When the file is gone or its drive fails.
    Stopped
        `stop` said so.
    """
    if stop is not None and stop():
        raise Stopped
    event_line, settings = _settings_by_line(program)
    return ModeLines(event_line, settings, _still_says_so(program, program.texts.lines + 1))


def _settings_by_line(program: Readable) -> tuple[I64, Settings]:
    """Return the settings table by lines instead of moves, so that it holds between two moves too."""
    events, remarks = program.events, program.remarks
    stated_line = np.array([line for _, line, _ in remarks.limits], np.int64)
    line = np.unique(np.concatenate([events.line.astype(np.int64), stated_line]))
    place = (np.searchsorted(line, events.line) + 1).astype(np.int32)
    limits = tuple(
        (int(at) + 1, number, fields)
        for at, (_, number, fields) in zip(np.searchsorted(line, stated_line), remarks.limits, strict=True)
    )
    by_line, steps = replace(events, move=place), len(line) + 1
    state = read_machine_state(by_line, limits, steps, one_nozzle=program.printer.tools == 1)
    return line, build_settings(by_line, replace(remarks, limits=limits, objects=Marks.empty()), steps, state)
