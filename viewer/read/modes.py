"""What holds at a line: units, how positions and filament are counted, heat, fan, speed, place.

The words that set how numbers are meant (G20 G21 G90 G91 M82 M83 G17-G19 G92 M120 M121) are no events, only
counted; `read_modes` finds their lines by one quick pass over the file and notes what holds after each::

    texts, tally --quick pass--> lines of modes --replay--> ModeLines --bisect--> Modes
    events ------settings of events, by line--------------> ModeLines
"""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Final, Protocol
from weakref import WeakKeyDictionary

import numpy as np
import numpy.typing as npt

from viewer.arrays import F64, I64, U8
from viewer.cards import PrinterCard
from viewer.errors import Stopped
from viewer.read.events import Events
from viewer.read.homing import homings
from viewer.read.moves import WIPE, Moves
from viewer.read.raw_lines import raw_blocks
from viewer.read.remarks import Marks, Remarks
from viewer.read.settings import Settings, build_settings
from viewer.read.texts import Texts
from viewer.read.words import Word, split_line

if TYPE_CHECKING:
    from viewer.read.scan import Tally  # which brings the compiler

REREAD_LINES: Final = 2000
"""So many lines before the asked one are read again for an F word that stands on a line without a path."""

_MODE_WORD: Final = re.compile(rb"[GgMm][ \t]*0*(?:1[789]|2[01]|9[012]|8[23]|12[01]|62[23])(?![0-9])")
_COUNTED: Final = (
    *("G17", "G18", "G19", "G20", "G21", "G90", "G91"),
    *("M82", "M83", "M120", "M121", "M622", "M623"),
)


class Readable(Protocol):
    """What of a `Program` is needed here."""

    @property
    def printer(self) -> PrinterCard: ...  # noqa: D102 - named as in Program, described there
    @property
    def moves(self) -> Moves: ...  # noqa: D102
    @property
    def events(self) -> Events: ...  # noqa: D102
    @property
    def tally(self) -> Tally: ...  # noqa: D102
    @property
    def remarks(self) -> Remarks: ...  # noqa: D102
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
    """False: not every line of modes was found again; the file may have changed since it was read."""


@dataclass(frozen=True, slots=True, eq=False)
class ModeLines:
    """What holds after the lines that change it; row 0 is the beginning of the program (line 0)."""

    line: I64  # (n,)
    inches: npt.NDArray[np.bool_]  # (n,)
    relative: npt.NDArray[np.bool_]  # (n,)
    e_relative: npt.NDArray[np.bool_]  # (n,) as M82 and M83 say; G91 makes it relative too
    plane: U8  # (n,)
    shifted: U8  # (n,) bits: 1 X, 2 Y, 4 Z
    skipping: npt.NDArray[np.bool_]  # (n,)
    complete: bool
    event_line: I64  # (m,) lines at which a setting changes
    settings: Settings  # of_move[i]: what holds from event_line[i - 1] on; of_move[0]: at the beginning
    volume_line: I64  # (k,) lines of M200
    by_volume: npt.NDArray[np.bool_]  # (k,)


@dataclass(slots=True)
class _State:
    inches: bool = False
    relative: bool = False
    e_relative: bool = False
    plane: int = 17
    shifted: int = 0
    skipping: int = 0

    def row(self) -> tuple[bool, bool, bool, int, int, bool]:
        return self.inches, self.relative, self.e_relative, self.plane, self.shifted, self.skipping > 0


_cache: WeakKeyDictionary[Readable, ModeLines] = WeakKeyDictionary()


def modes_at(program: Readable, line: int, found: ModeLines | None = None) -> Modes:
    """Return what holds when a line is carried out, the words of the line itself left out.

    Parameters
    ----------
    program
        Of `viewer.open_program`.
    line
        From 1.
    found
        From `read_modes`; without it the file is looked through once (0.3 s for 100 MB) and the result kept
        as long as the program.

    Raises
    ------
    ReadError
        When the file is gone or its drive fails.
    """
    if found is None:
        found = _cache.get(program)
        if found is None:
            found = _cache.setdefault(program, read_modes(program))
    at = int(np.searchsorted(found.line, line, side="left")) - 1
    at = max(at, 0)
    row = found.settings.of_move[int(np.searchsorted(found.event_line, line, side="left"))]
    volume = int(np.searchsorted(found.volume_line, line, side="left")) - 1
    relative = bool(found.relative[at])
    position, speed, fed = _motion_at(program, line, bool(found.inches[at]))
    shifted = int(found.shifted[at])
    return Modes(
        inches=bool(found.inches[at]),
        relative=relative,
        e_relative=bool(found.e_relative[at]) or (relative and not program.printer.e_follows_g90),
        by_volume=volume >= 0 and bool(found.by_volume[volume]),
        plane=int(found.plane[at]),
        shifted=frozenset(axis for bit, axis in ((1, "X"), (2, "Y"), (4, "Z")) if shifted & bit),
        skipped=bool(found.skipping[at]),
        tool=int(found.settings.column("tool")[row]),
        speed_mm_s=speed,
        speed_factor=float(found.settings.column("speed_factor")[row]),
        nozzle_c=float(found.settings.column("nozzle_c")[row]),
        plate_c=float(found.settings.column("plate_c")[row]),
        fan=float(found.settings.column("fan")[row]),
        position_mm=position,
        fed_mm=fed,
        complete=found.complete,
    )


def _motion_at(program: Readable, line: int, inches: bool) -> tuple[tuple[float, float, float], float, float]:
    """Return the place and speed before a line, and what it feeds."""
    moves = program.moves
    of_type = moves.line.dtype.type(line)  # a plain int would make numpy copy millions of lines to int64
    first = int(np.searchsorted(moves.line, of_type, side="left"))
    last = int(np.searchsorted(moves.line, of_type, side="right"))
    fed = float(moves.fed_mm[first:last].sum(dtype=np.float64)) if last > first else math.nan
    row = _last_path(moves, first)
    speed = float(moves.speed_mm_s[row]) if row >= 0 else 0.0
    before = int(moves.line[row]) if row >= 0 else 0
    later = _later_speed(program.texts, max(before + 1, line - REREAD_LINES), line, 25.4 if inches else 1.0)
    return moves.start_xyz(first), speed if later is None else later, fed


def _last_path(moves: Moves, end: int) -> int:
    """Return the last row before `end` with a path, -1: none near; homing and G10 have speeds of their own."""
    begin = max(0, end - REREAD_LINES)
    rows = np.flatnonzero(moves.kind[begin:end] <= WIPE)
    return begin + int(rows[-1]) if len(rows) else -1


def _later_speed(texts: Texts, first: int, line: int, mm: float) -> float | None:
    """Return the last F, in mm/s, of lines that move nothing (``G1 F1800``)."""
    speed = None
    for text in texts.fetch(first, line - first):
        if "F" not in text and "f" not in text:
            continue
        words = split_line(text)
        moving = any(word.kind == "command" and word.name in ("G0", "G1", "G2", "G3") for word in words)
        for word in words:
            if moving and word.letter == "F" and word.value > 0 and word.kind != "repeated":
                speed = word.value * mm / 60.0
    return speed


def read_modes(program: Readable, stop: Callable[[], bool] | None = None) -> ModeLines:
    """Find every line that changes how numbers are meant.

    Parameters
    ----------
    program
        Of `viewer.open_program`.
    stop
        Asked every some milliseconds.

    Raises
    ------
    ReadError
        When the file is gone or its drive fails.
    Stopped
        `stop` said so.
    """
    wanted = {name: program.tally.commands.get(name, 0) for name in _COUNTED}
    words = list(_mode_words(program.texts, stop, thorough=False))
    complete = _counts(words) == wanted
    if not complete:  # a mode word behind a motion on one line, say: look at every line
        words = list(_mode_words(program.texts, stop, thorough=True))
        complete = _counts(words) == wanted
    homed = [*homings(program.events).tolist(), *program.events.rows("M", 132).tolist()]
    rows = _replay([*words, *_homings(program.events, homed)], program.printer.e_follows_g90)
    line, *columns = (np.array(column) for column in zip(*rows, strict=True))
    inches, relative, e_relative, plane, shifted, skipping = columns
    event_line, settings = _settings_by_line(program)
    volume = program.events.rows("M", 200)
    diameter, on = program.events.values("D", volume), program.events.values("S", volume)
    on = np.where(np.isnan(on), diameter, on)  # S alone takes the diameter known before
    volume, on = volume[~np.isnan(on)], on[~np.isnan(on)]
    return ModeLines(
        line.astype(np.int64), inches, relative, e_relative, plane.astype(np.uint8), shifted.astype(np.uint8),
        skipping, complete, event_line, settings, program.events.line[volume].astype(np.int64),
        on > 0,
    )  # fmt: skip


def _counts(words: Iterable[tuple[int, Word, str]]) -> dict[str, int]:
    found = dict.fromkeys(_COUNTED, 0)
    for _, word, _ in words:
        if word.name in found:
            found[word.name] += 1
    return found


def _mode_words(
    texts: Texts, stop: Callable[[], bool] | None, thorough: bool
) -> Iterator[tuple[int, Word, str]]:
    """Yield (line, word, the line's text) of each word of modes."""
    for first, raw in raw_blocks(texts):
        if stop is not None and stop():
            raise Stopped
        for number, text in _candidates(raw, first, thorough):
            for word in split_line(text):
                if word.kind == "command" and (word.name in _COUNTED or word.name[:3] == "G92"):
                    yield number, word, text


def _candidates(raw: bytes, first: int, thorough: bool) -> Iterator[tuple[int, str]]:
    """Yield (number, text) of the lines that may hold a word of modes."""
    data = np.frombuffer(raw + b"\n\0\0\0\0\0\0", np.uint8)
    ends = np.flatnonzero(data == 10)
    starts = np.concatenate([np.zeros(1, np.int64), ends[:-1] + 1])
    rows = np.arange(len(starts)) if thorough else np.flatnonzero(_worth_a_look(data, starts))
    for row in rows.tolist():
        start, end = int(starts[row]), int(ends[row])
        if _MODE_WORD.search(raw, start, min(end, start + 65536)):
            yield first + row, raw[start:end].decode("latin-1")


def _worth_a_look(data: U8, starts: npt.NDArray[np.int64]) -> npt.NDArray[np.bool_]:
    """Whether a line may hold a word of modes: not the usual motions, comments, other M words and G92 E."""
    a, b, c, d, e = (data[starts + place] for place in range(5))
    motion = (a == ord("G")) & (b >= ord("0")) & (b <= ord("3")) & (c == ord(" "))
    comment = (a == ord(";")) | (a == 10)
    digits = (b >= ord("1")) & (b <= ord("9")) & (c >= ord("0")) & (c <= ord("9"))
    pair = (b.astype(np.int64) - 48) * 10 + c - 48
    other = (a == ord("M")) & digits & ~np.isin(pair, (12, 62, 82, 83))
    filament = (a == ord("G")) & (b == ord("9")) & (c == ord("2")) & (d == ord(" ")) & (e == ord("E"))
    worth: npt.NDArray[np.bool_] = ~(motion | comment | other | filament)
    return worth


def _homings(events: Events, rows: list[int]) -> Iterator[tuple[int, Word, str]]:
    """Yield the homings as words; the text names the axes."""
    for row in rows:
        axes = "".join(letter for letter in events.words(row) if letter in "XYZ")
        if events.letter[row] == ord("M") and not axes:
            continue  # an M132 without axes homes nothing
        yield int(events.line[row]), Word("command", 0, 0, "G", 28.0), axes


def _replay(
    words: list[tuple[int, Word, str]], e_follows_g90: bool
) -> list[tuple[int, bool, bool, bool, int, int, bool]]:
    """Carry the words out in order and note what holds after each line: (line, ...)."""
    state, kept = _State(), list[_State]()
    rows = [(0, *state.row())]
    for line, word, text in sorted(words, key=lambda found: found[0]):
        if word.name in ("M622", "M623"):
            _condition(state, word, text)
        elif not state.skipping:
            _carry_out(state, kept, word, text, e_follows_g90)
        if rows[-1][1:] != state.row():
            rows.append((line, *state.row()))
    return rows


def _condition(state: _State, word: Word, text: str) -> None:
    """Follow M622 J0 ... M623, which the scanner passes over (see `_kernels._condition`)."""
    if word.name == "M623":
        state.skipping = max(0, state.skipping - 1)
    elif state.skipping or any(other.letter == "J" and other.value == 0 for other in split_line(text)):
        state.skipping += 1


def _carry_out(state: _State, kept: list[_State], word: Word, text: str, e_follows_g90: bool) -> None:
    name = word.name
    if name in ("G17", "G18", "G19"):
        state.plane = int(word.value)
    elif name in ("G20", "G21"):
        state.inches = name == "G20"
    elif name in ("G90", "G91"):
        state.relative = name == "G91"
        if e_follows_g90:
            state.e_relative = state.relative
    elif name in ("M82", "M83"):
        state.e_relative = name == "M83"
    elif name == "M120" and len(kept) < 8:
        kept.append(replace(state))
    elif name == "M121" and kept:
        back = kept.pop()
        state.inches, state.relative, state.e_relative = back.inches, back.relative, back.e_relative
    else:
        _shift(state, name, text)


def _shift(state: _State, name: str, text: str) -> None:
    """Note which axes G92 gives another origin, until homing or G92.1."""
    letters = text
    if name != "G28":
        letters = "".join(word.letter for word in split_line(text) if word.letter in "XYZE")
    bits = sum(bit for bit, axis in ((1, "X"), (2, "Y"), (4, "Z")) if axis in letters)
    if name == "G28":
        state.shifted &= ~(bits or 7)
    elif name == "G92":
        state.shifted |= bits if letters else 7
    elif name in ("G92.1", "G92.2"):
        state.shifted = 0


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
    nothing = np.zeros(0)
    no_marks = Marks(nothing.astype(np.int32), F64_EMPTY, nothing.astype(np.int32))
    table = build_settings(
        replace(events, move=place), replace(remarks, limits=limits, objects=no_marks), len(line) + 1
    )
    return line, table


F64_EMPTY: Final[F64] = np.zeros(0)
