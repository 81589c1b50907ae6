"""The reading driver: block after block through the scanner, into columns that grow as needed."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field, replace
from typing import Any, NamedTuple

import numpy as np
import numpy.typing as npt

from viewer.arrays import F64, I64, U8, read_only
from viewer.cards.printer import PrinterCard
from viewer.read.blocks import Source, blocks
from viewer.read.events import Events
from viewer.read.kernels import state as k
from viewer.read.kernels.columns import (
    CommandCounts,
    EventColumns,
    LineWords,
    ModeColumns,
    MoveColumns,
    NoteColumns,
)
from viewer.read.kernels.comments import SPAN_SIZE
from viewer.read.kernels.scan import scan
from viewer.read.mode_changes import ModeChanges
from viewer.read.moves import BEAD, TRAVEL, Moves
from viewer.read.notes import Notes
from viewer.units import MAX_TOOLS, filament_area_mm2

SHAPES_LIMIT = 60_000
"""Comments of more shapes than this are not looked at: a program has some hundreds."""

CHORDS, WORDS = int(k.MAX_CHORDS), int(k.MAX_WORDS)

FREE_CHORDS = 2_000_000
"""All arcs of a program may take this many chords, and one for every two bytes; then they are drawn coarsely."""
SHAPE_BYTES = 4096
"""Of the text of a comment's shape: more than this is no mark."""

_MOVE_TYPES = ("f4", "f4", "f4", "f4", "f4", "f4", "i4", "u1")
_EVENT_TYPES = ("u1", "i4", "i4", "i4", "i4")
_WORD_TYPES = ("u1", "f8")
_MODE_TYPES = ("i4", "i4", "u2", "f8")
_NOTE_TYPES = ("i8", "i4", "i4", "i4", "u1", "u8", "u8", "f8", "f8")


@dataclass(frozen=True, slots=True)
class Oddity:
    """Something counted on the way: how often, and the first line."""

    count: int
    first_line: int


@dataclass(frozen=True, slots=True, eq=False)
class Tally:
    """What the reader counted."""

    lines: int
    """An unterminated last line counts."""
    unterminated: bool
    arcs: int
    """Lines that made an arc."""
    oddities: dict[str, Oddity]
    """By name, see `ODDITIES`."""
    commands: dict[str, int]
    """``{"G1": 1200, "M104": 2, ...}`` in order of letter and number."""
    first_lines: dict[str, int]
    """First line of each command."""
    checked_lines: int
    """Lines with a checksum."""
    bytes_read: int


ODDITIES = {
    "arcs_capped": k.ARCS_CAPPED,
    "straightened": k.STRAIGHTENED,
    "bare_axis_lines": k.BARE_LINES,
    "exponents": k.EXPONENTS,
    "garbled_words": k.GARBLED,
    "doubtful_lines": k.DOUBTFUL,
    "word_commands": k.WORD_COMMANDS,
    "wrong_checksums": k.CHECK_WRONG,
    "line_numbers_out_of_order": k.N_WRONG,
    "zero_bytes": k.ZERO_BYTES,
    "not_text_bytes": k.NOT_TEXT,
    "too_far": k.TOO_FAR,
    "long_lines": k.LONG_LINES,
    "bad_arcs": k.BAD_ARCS,
    "conditional_blocks": k.CONDITIONALS,
    "commands_beyond": k.COMMANDS_BEYOND,
    "repeated_words": k.REPEATED,
    "line_numbers_left_out": k.N_LEFT_OUT,
}


class Scanned(NamedTuple):
    """All columns of a reading."""

    moves: Moves
    events: Events
    notes: Notes
    modes: ModeChanges
    tally: Tally
    line_index: I64
    """Offset in the plain file of lines 1, 129, 257 ..."""


@dataclass(slots=True)
class _Store:
    """Columns that share a length and grow together, in place where the system can."""

    columns: list[npt.NDArray[Any]]
    extra: int = 0

    @classmethod
    def of(cls, types: tuple[str, ...], rows: int) -> _Store:
        return cls([np.empty(rows, t) for t in types])

    def grow(self, used: int, spare: int) -> None:
        """Make room for `spare` rows behind the used ones (half as much again at least)."""
        rows = len(self.columns[0])
        if used + spare <= rows:
            return
        rows = max(used + spare, rows + rows // 2)
        for column in self.columns:
            column.resize(rows, refcheck=False)

    def cut(self, used: int) -> list[npt.NDArray[Any]]:
        """Return the columns at their true length, the rest of the memory given back, read-only."""
        for column in self.columns:
            column.resize(used, refcheck=False)
            column.flags.writeable = False
        return self.columns


@dataclass(slots=True)
class Scanner:
    """The carried state of one reading; feed it blocks, take the columns at the end (or midway)."""

    printer: PrinterCard
    expected_bytes: int
    whole: I64 = field(init=False)
    real: F64 = field(init=False)
    moves: _Store = field(init=False)
    events: _Store = field(init=False)
    words: _Store = field(init=False)
    notes: _Store = field(init=False)
    modes: _Store = field(init=False)
    index: _Store = field(init=False)
    commands: CommandCounts = field(init=False)
    shapes: dict[int, int] = field(default_factory=dict)
    shape_text: list[str] = field(default_factory=list)
    shape_flags: list[int] = field(default_factory=list)
    bytes_read: int = 0
    unterminated: bool = False
    _noted: int = 0

    def __post_init__(self) -> None:
        self.whole, self.real = _beginning(self.printer)
        size = self.expected_bytes
        self.whole[k.CHORDS_LEFT] = FREE_CHORDS + size // 2
        self.moves = _Store.of(_MOVE_TYPES, size // 24 + 2 * CHORDS)
        self.events = _Store.of(_EVENT_TYPES, size // 2000 + 8 * WORDS)
        self.words = _Store.of(_WORD_TYPES, size // 1000 + 2 * WORDS**2)
        self.notes = _Store.of(_NOTE_TYPES, size // 1000 + 1024)
        self.modes = _Store.of(_MODE_TYPES, size // 2000 + 64)
        self.index = _Store.of(("i8",), size // 2000 + 64)
        table = (3, int(k.TABLE))
        self.commands = CommandCounts(np.zeros(table, np.int64), np.zeros(table, np.int32))
        self.events.columns[4][0] = 0

    def feed(self, buffer: U8, begin: int, end: int, offset: int) -> None:
        """Scan ``buffer[begin:end]``, whole lines; ``buffer[0]`` lies at `offset` in the file."""
        words = LineWords(np.zeros(k.MAX_WORDS, np.uint8), np.zeros(k.MAX_WORDS))
        spans = np.zeros(1 + SPAN_SIZE * k.MAX_SPANS, np.int64)
        while begin < end:
            self._make_room()
            begin = scan(
                buffer,
                begin,
                end,
                offset,
                self.whole,
                self.real,
                MoveColumns(*self.moves.columns),
                EventColumns(*self.events.columns, *self.words.columns),
                NoteColumns(*self.notes.columns),
                ModeColumns(*self.modes.columns),
                self.commands,
                self.index.columns[0],
                words,
                spans,
            )
        self._look_up_shapes(buffer, offset)

    def _make_room(self) -> None:
        """Make all columns long enough for some lines more."""
        whole = self.whole
        self.moves.grow(int(whole[k.N_MOVES]), CHORDS + 4096)
        self.events.grow(int(whole[k.N_EVENTS]), 4 * WORDS)
        self.words.grow(int(whole[k.N_WORDS]), 2 * WORDS**2)
        self.notes.grow(int(whole[k.N_NOTES]), 4 * WORDS)
        self.modes.grow(int(whole[k.N_MODES]), 1024)
        self.index.grow(int(whole[k.LINE] >> k.INDEX_SHIFT), 1024)

    def _look_up_shapes(self, buffer: U8, offset: int) -> None:
        """Give each new comment's shape a number, and keep one text of every new shape."""
        lo, hi = self._noted, int(self.whole[k.N_NOTES])
        self._noted = hi
        if lo == hi:
            return
        offsets, lengths, _, _, flags, shapes = (column[lo:hi] for column in self.notes.columns[:6])
        distinct, where = np.unique(shapes ^ (flags.astype(np.uint64) << np.uint64(56)), return_index=True)
        for key, row in zip(distinct.tolist(), where.tolist(), strict=True):
            if key not in self.shapes and len(self.shapes) < SHAPES_LIMIT:
                self.shapes[key] = len(self.shape_text)
                start = int(offsets[row]) - offset
                end = start + min(int(lengths[row]), SHAPE_BYTES)
                text = buffer[start:end].tobytes().decode("utf-8", "replace")
                self.shape_text.append(text)
                self.shape_flags.append(int(flags[row]))

    @property
    def has_word_commands(self) -> bool:
        """Whether a line ``NAME KEY=VALUE`` was met."""
        return bool(self.whole[k.WORD_COMMANDS] > 0)

    @property
    def has_commands(self) -> bool:
        """Whether any G, M or T command was met."""
        return bool(self.commands.met.any())

    def finish(self) -> Scanned:
        """Return all columns; the scanner is spent then."""
        whole = self.whole
        moves = self._without_idle_switch(Moves(*self.moves.cut(int(whole[k.N_MOVES]))))
        n = int(whole[k.N_EVENTS])
        first_word = read_only(self.events.columns[4][: n + 1].copy())
        letter, code, line, move, _ = self.events.cut(n)
        events = Events(letter, code, line, move, first_word, *self.words.cut(int(whole[k.N_WORDS])))
        index = self.index.cut(int((whole[k.LINE] + 127) >> k.INDEX_SHIFT))[0]
        modes = ModeChanges(*self.modes.cut(int(whole[k.N_MODES])))
        return Scanned(moves, events, self._notes(), modes, self._tally(), index)

    def _without_idle_switch(self, moves: Moves) -> Moves:
        """Return moves whose beads without filament are travels, where E words show that M101 alone lays nothing.

        Only the whole program tells whether there are E words: `scan` takes M101 for the switch until the first.
        """
        if not self.whole[k.E_SEEN] or not self.commands.met[1, [1010, 1020]].any():
            return moves
        kind = moves.kind.copy()
        kind[(kind == BEAD) & (moves.fed_mm == 0.0)] = TRAVEL
        return replace(moves, kind=read_only(kind))

    def _notes(self) -> Notes:
        offset, length, line, move, flags, shape, exact, first, second = self.notes.cut(
            int(self.whole[k.N_NOTES])
        )
        keys = shape ^ (flags.astype(np.uint64) << np.uint64(56))
        distinct, where = np.unique(keys, return_inverse=True)
        numbers = np.array([self.shapes.get(key, -1) for key in distinct.tolist()], np.int32)
        of_row = numbers[where] if len(keys) else np.zeros(0, np.int32)
        return Notes(
            offset, length, line, move, flags, read_only(of_row), exact, first, second,
            tuple(self.shape_text), tuple(self.shape_flags),
        )  # fmt: skip

    def _tally(self) -> Tally:
        whole = self.whole
        oddities = {}
        for name, place in ODDITIES.items():
            first = int(whole[k.TALLY_FIRST + place - k.ARCS])
            oddities[name] = Oddity(int(whole[place]), first)
        commands, first_lines = {}, {}
        for which, letter in enumerate("GMT"):
            for code in np.flatnonzero(self.commands.met[which]).tolist():
                name = f"{letter}{code // 10}" + (f".{code % 10}" if code % 10 else "")
                commands[name] = int(self.commands.met[which, code])
                first_lines[name] = int(self.commands.first_line[which, code])
        return Tally(
            int(whole[k.LINE]), self.unterminated, int(whole[k.ARCS]), oddities, commands, first_lines,
            int(whole[k.CHECKED]), self.bytes_read,
        )  # fmt: skip


def _beginning(printer: PrinterCard) -> tuple[I64, F64]:
    """Return the machine's state before the first line: mm, absolute, nothing homed."""
    whole, real = np.zeros(k.WHOLE_SIZE, np.int64), np.zeros(k.REAL_SIZE)
    whole[k.MOTION] = -1
    whole[k.PLANE] = 17
    whole[k.LAST_N] = -1
    whole[k.BARE_OK] = printer.bare_axis_words
    whole[k.E_WITH_G90] = printer.e_follows_g90
    real[k.SCALE] = real[k.FLOW] = real[k.E_TO_MM] = 1.0
    real[k.TOOL_FLOW : k.TOOL_FLOW + MAX_TOOLS] = 1.0
    real[k.TOOL_AREA : k.TOOL_AREA + MAX_TOOLS] = -filament_area_mm2(printer.filament_diameter_mm)
    real[k.BACK_MM] = printer.retract_mm
    real[k.BACK_SPEED] = real[k.FORTH_SPEED] = printer.retract_mm_s
    real[k.HOME_X : k.HOME_Z + 1] = printer.homing.x_mm, printer.homing.y_mm, printer.homing.z_mm
    return whole, real


def scan_source(
    source: Source,
    printer: PrinterCard,
    on_progress: Callable[[float, Scanner], None] | None = None,
    stop: Callable[[], bool] | None = None,
    block_bytes: int | None = None,
) -> Scanner:
    """Read a whole source.

    Parameters
    ----------
    source
        From `viewer.read.blocks.open_source`.
    printer
        Its home position, G10 length and peculiarities of reading are used.
    on_progress
        Called after each block with the share read (0 .. 1) and the scanner.
    stop
        Asked before each block.
    block_bytes
        Size of a block; the rows do not depend on it.

    Raises
    ------
    ReadError, Stopped
    """
    from viewer.read.blocks import BLOCK_BYTES

    scanner = Scanner(printer, source.size_bytes)
    for buffer, begin, end, offset, unterminated in blocks(source, stop, block_bytes or BLOCK_BYTES):
        mark = 3 if offset + begin == 0 and buffer[begin : begin + 3].tobytes() == b"\xef\xbb\xbf" else 0
        scanner.feed(buffer, begin + mark, end, offset)
        scanner.bytes_read = offset + end
        scanner.unterminated = unterminated
        if on_progress is not None:
            on_progress(min(1.0, (offset + end) / max(1, source.size_bytes)), scanner)
    return scanner
