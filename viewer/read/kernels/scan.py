r"""The scanner: bytes of a block -> rows of moves, events, notes and changes of modes.

One fused pass. The commonest line by far, ``G1 X.. Y.. E..``, is read and executed without leaving `scan`; every other
line is split into words and executed by helpers::

    line --words.split--> words --commands.execute--> modes, motion.move_line, events
         \--comments.add_span--> places of comments --comments.append_notes--> notes

All state is carried from block to block in two small arrays, ``real`` and ``whole``, whose places have names in `state`,
so a program may be cut into blocks at any line end and gives the same rows.
"""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np

from viewer.jit import byte_at, lean_inner_kernel, lean_kernel
from viewer.read.kernels.codes import (
    BLANK,
    CAPITAL_A,
    CAPITAL_Z,
    CR,
    LF,
    MINUS,
    POINT,
    SEMICOLON,
    ZERO,
    E,
    F,
    G,
    X,
    Y,
    Z,
)
from viewer.read.kernels.commands import execute
from viewer.read.kernels.comments import SPANS, TRAILING, add_span, append_notes
from viewer.read.kernels.modes import append_modes, log_modes
from viewer.read.kernels.motion import e_is_relative
from viewer.read.kernels.numbers import POWERS
from viewer.read.kernels.rows import kind_of
from viewer.read.kernels.state import (
    E_POSITION,
    E_SEEN,
    E_TO_MM,
    FAR_MM,
    INDEX_SHIFT,
    LINE,
    LONG_LINES,
    MAX_CHORDS,
    MAX_LINE,
    MAX_WORDS,
    MODES,
    MOTION,
    N_EVENTS,
    N_MODES,
    N_MOVES,
    N_NOTES,
    N_WORDS,
    OX,
    OY,
    OZ,
    PX,
    PY,
    PZ,
    RELATIVE,
    S_PER_MIN,
    SCALE,
    SKIPPING,
    SPEED,
    SWITCHED_ON,
    ZERO_BYTES,
    tally,
)
from viewer.read.kernels.words import split

_ONE = ZERO + 1  # the digit
_HAS_X, _HAS_Y, _HAS_Z, _HAS_E, _HAS_F = 1, 2, 4, 8, 16
_MAX_DIGITS = 17  # of which int64 holds all, and float64 rounds once
_G0_COLUMN, _G1_COLUMN = 0, 10  # of the table of commands


class _Room(NamedTuple):
    """Rows up to which a column has room for what one line may need."""

    events: int
    words: int
    notes: int
    modes: int


@lean_inner_kernel
def _is_full(whole, room):
    return (
        whole[N_EVENTS] >= room.events
        or whole[N_WORDS] >= room.words
        or whole[N_NOTES] >= room.notes
        or whole[N_MODES] >= room.modes
    )


@lean_inner_kernel
def _end_of_code(buf, p, q, whole):
    """Return where what is read of the line buf[p:q] ends: of a line of many megabytes only the beginning is."""
    if q - p <= MAX_LINE:
        return q
    tally(whole, LONG_LINES)
    for i in range(p + MAX_LINE, q):
        if buf[i] == 0:
            tally(whole, ZERO_BYTES)
    return p + MAX_LINE


@lean_kernel
def scan(
    buf, begin, stop, base, whole, real, moves, events, notes, modes, counts, line_index, words, spans
):  # fmt: skip
    """Read the lines in buf[begin:stop] and append rows; returns where it stopped.

    Parameters
    ----------
    buf
        uint8; at least 64 bytes longer than `stop`. buf[begin:stop] ends with a line end.
    base
        Offset in the file of buf[0].
    whole, real
        Carried state and tallies: int64 (WHOLE_SIZE,), float64 (REAL_SIZE,).
    moves, events, notes, modes
        `MoveColumns` and so on; filled from N_MOVES on and so on.
    counts
        `CommandCounts`.
    line_index
        int64: the offset of every 128th line.
    words
        `LineWords`: work space.
    spans
        Work space for the comments of a line, int64 (1 + 3 * MAX_SPANS); its first place must be 0.

    Returns
    -------
    The place in buf where reading stopped: `stop`, or earlier at a line's beginning where a column has
    no room left for what one line may need (the caller makes the columns longer and goes on).
    """
    p = begin
    x_mm, y_mm, z_mm, length_mm, fed_mm, speed_mm_s, move_line, move_kind = moves
    room_moves = len(moves.kind) - MAX_CHORDS - 8
    room = _Room(
        len(events.code) - 2 * MAX_WORDS,
        len(events.word_value) - MAX_WORDS * MAX_WORDS,
        len(notes.line) - MAX_WORDS,
        len(modes.line) - 1,
    )
    room_index = len(line_index) - 1
    # the hottest part of the state is held in registers; `whole` and `real` have it where other kernels are called
    x, y, z, e = real[PX], real[PY], real[PZ], real[E_POSITION]
    speed = real[SPEED]
    k = whole[N_MOVES]
    line = whole[LINE]
    g0 = np.int64(0)
    g1 = np.int64(0)
    full = _is_full(whole, room)
    while p < stop:
        if k >= room_moves or full or (line >> INDEX_SHIFT) >= room_index:
            break
        if line & ((1 << INDEX_SHIFT) - 1) == 0:
            line_index[line >> INDEX_SHIFT] = base + p
        done = False  # the line was executed by the fast path
        if (
            whole[SKIPPING] == 0
            and byte_at(buf, p) == G
            and (byte_at(buf, p + 1) == _ONE or byte_at(buf, p + 1) == ZERO)
            and byte_at(buf, p + 2) == BLANK
        ):
            # The fast path: G0 or G1 with plain words, each at most once. It reads the words and says in `good`
            # whether the line has nothing else; only then the state is changed. What is not good goes the slow way.
            scale = real[SCALE]
            relative = whole[RELATIVE] == 1
            e_relative = e_is_relative(whole)
            nx, ny, nz, ne = x, y, z, e
            new_speed = speed
            fed = 0.0
            good = True
            seen = 0
            q = p + 3
            c = byte_at(buf, q)
            while True:
                # a word: letter, sign, digits, point, digits
                letter = c
                q += 1
                c = byte_at(buf, q)
                negative = c == MINUS
                if negative:
                    q += 1
                    c = byte_at(buf, q)
                digits_begin = q
                mantissa = np.int64(0)
                digit = np.int64(c) - ZERO
                while 0 <= digit <= 9:
                    mantissa = mantissa * 10 + digit
                    q += 1
                    c = byte_at(buf, q)
                    digit = np.int64(c) - ZERO
                width = q - digits_begin
                if c == POINT:
                    q += 1
                    decimals_begin = q
                    c = byte_at(buf, q)
                    digit = np.int64(c) - ZERO
                    while 0 <= digit <= 9:
                        mantissa = mantissa * 10 + digit
                        q += 1
                        c = byte_at(buf, q)
                        digit = np.int64(c) - ZERO
                    decimals = q - decimals_begin
                    width += decimals
                    if width > _MAX_DIGITS:
                        good = False
                        break
                    value = np.float64(mantissa) / POWERS[decimals]
                else:
                    value = np.float64(mantissa)
                if width == 0 or width > _MAX_DIGITS:
                    good = False
                    break
                if negative:
                    value = -value
                # what it means
                if letter == X:
                    nx = (x if relative else real[OX]) + value * scale
                    bit = _HAS_X
                elif letter == Y:
                    ny = (y if relative else real[OY]) + value * scale
                    bit = _HAS_Y
                elif letter == E:
                    value *= scale
                    if e_relative:
                        fed = value
                        ne = e + value
                    else:
                        fed = value - e
                        ne = value
                    bit = _HAS_E
                elif letter == F:
                    if value > 0.0:
                        new_speed = value * scale / S_PER_MIN
                    bit = _HAS_F
                elif letter == Z:
                    nz = (z if relative else real[OZ]) + value * scale
                    bit = _HAS_Z
                else:
                    good = False
                    break
                if seen & bit:
                    good = False
                    break
                seen |= bit
                # what follows: a blank and the next word, or the end of the code
                if c == BLANK:
                    q += 1
                    c = byte_at(buf, q)
                    if CAPITAL_A <= c <= CAPITAL_Z:
                        continue
                    while c == BLANK:
                        q += 1
                        c = byte_at(buf, q)
                    if CAPITAL_A <= c <= CAPITAL_Z:
                        continue
                if c == LF or c == CR or c == SEMICOLON:
                    break
                good = False
                break
            if good:
                fed *= real[E_TO_MM]
                if (
                    abs(nx) > FAR_MM
                    or abs(ny) > FAR_MM
                    or abs(nz) > FAR_MM
                    or abs(fed) > FAR_MM
                    or q - p > MAX_LINE
                ):
                    good = False
            if good:
                line += 1
                if seen & _HAS_E:
                    whole[E_SEEN] = 1
                dx = nx - x
                dy = ny - y
                dz = nz - z
                length = math.sqrt(dx * dx + dy * dy + dz * dz)
                kind = kind_of(length, fed, whole[SWITCHED_ON] == 1 and whole[E_SEEN] == 0)
                x, y, z, e = nx, ny, nz, ne
                if kind >= 0:
                    x_mm[k] = x
                    y_mm[k] = y
                    z_mm[k] = z
                    length_mm[k] = length
                    fed_mm[k] = fed
                    speed_mm_s[k] = new_speed
                    move_line[k] = line
                    move_kind[k] = kind
                    k += 1
                elif new_speed != speed:  # G1 F1800
                    whole[LINE] = line
                    whole[N_MOVES] = k
                    append_modes(whole, modes, whole[MODES], new_speed)
                    full = full or whole[N_MODES] >= room.modes
                speed = new_speed
                if byte_at(buf, p + 1) == _ONE:
                    whole[MOTION] = 1
                    g1 += 1
                else:
                    whole[MOTION] = 0
                    g0 += 1
                if c == SEMICOLON:
                    comment = q + 1
                    while q < stop and byte_at(buf, q) != LF and byte_at(buf, q) != CR:
                        q += 1
                    add_span(spans, comment, min(q, p + MAX_LINE), TRAILING)
                    whole[LINE] = line
                    whole[N_MOVES] = k
                done = True
        if not done:
            # The slow path: any line, with the state in `whole` and `real`.
            q = p
            while q < stop and buf[q] != LF and buf[q] != CR:
                q += 1
            line += 1
            real[PX], real[PY], real[PZ], real[E_POSITION] = x, y, z, e
            real[SPEED] = speed
            whole[N_MOVES] = k
            whole[LINE] = line
            n = split(buf, p, _end_of_code(buf, p, q, whole), whole, words, spans)
            if n > 0:
                execute(words, n, whole, real, moves, events, counts)
                shown = speed if whole[N_MOVES] == k else np.float64(moves.speed_mm_s[whole[N_MOVES] - 1])
                log_modes(whole, real, modes, shown)
                full = _is_full(whole, room)
            x, y, z, e = real[PX], real[PY], real[PZ], real[E_POSITION]
            speed = real[SPEED]
            k = whole[N_MOVES]
        if spans[SPANS] > 0:
            append_notes(buf, base, spans, whole, notes)
            full = full or whole[N_NOTES] >= room.notes
        p = q + 1
        if buf[q] == CR and p < stop and buf[p] == LF:
            p += 1
    real[PX], real[PY], real[PZ], real[E_POSITION] = x, y, z, e
    real[SPEED] = speed
    whole[N_MOVES] = k
    whole[LINE] = line
    counts.met[0, _G0_COLUMN] += g0
    counts.met[0, _G1_COLUMN] += g1
    return p
