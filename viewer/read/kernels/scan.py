"""The scanner: bytes of a block -> rows of moves, events and notes.

One fused pass. The commonest line by far, ``G1 X.. Y.. E..``, is read and executed without leaving
`scan`; every other line is split into words by `_split` and executed by `_execute`. All state is
carried from block to block in two small arrays, ``real`` and ``whole``, whose places are the
constants below, so a program may be cut into blocks at any line end and gives the same rows.

All kernels and constants of the pass live in this file (see `viewer.jit`).
"""

from __future__ import annotations

import math

import numpy as np

from viewer.jit import byte_at, inner_kernel, kernel

_i = np.int64  # typed constants: numba compiles a kernel again for every plain literal it is called with

# places in `real` (float64)
PX, PY, PZ = _i(0), _i(1), _i(2)  # machine position, mm
OX, OY, OZ = _i(3), _i(4), _i(5)  # machine = written + offset (G92), mm
E = _i(6)  # written position of the filament axis, mm (mm3 while volumetric)
SPEED = _i(7)  # mm/s
SCALE = _i(8)  # mm in a written unit: 1 or 25.4
FLOW = _i(9)  # flow factor of the current tool
E_TO_MM = _i(10)  # mm of filament in a unit of E: flow / area while volumetric
BACK_MM, BACK_SPEED = _i(11), _i(12)  # G10: length mm, speed mm/s
FORTH_MM, FORTH_SPEED = _i(13), _i(14)  # G11: further length mm, speed mm/s
HOME_X, HOME_Y, HOME_Z = _i(15), _i(16), _i(17)
DRAWN_BACK = _i(18)  # what the last G10 drew back, mm
REAL_STACK = _i(20)  # M120 keeps SPEED here: 8 places
TOOL_FLOW = _i(32)  # flow factor of each tool: 64 places
TOOL_AREA = _i(96)  # filament area of each tool, mm2; E is a length where it is not above 0: 64 places
REAL_SIZE = _i(160)

# places in `whole` (int64)
LINE = _i(0)  # lines begun
MOTION = _i(1)  # modal motion: 0 1 2 3, -1 none
RELATIVE = _i(2)  # G91
E_RELATIVE = _i(3)  # M83
PLANE = _i(4)  # 17 18 19
TOOL = _i(5)
DRAWN = _i(6)  # filament is drawn back by G10
E_SEEN = _i(7)  # an E word was ever seen
SWITCHED_ON = _i(8)  # M101
DEPTH = _i(9)  # of the M120 stack
LAST_N = _i(10)
BARE_OK = _i(11)  # the card lets bare axis words repeat the last motion
E_WITH_G90 = _i(12)  # the card says that G90/G91 set how E counts
N_MOVES, N_EVENTS, N_WORDS, N_NOTES = _i(14), _i(15), _i(16), _i(17)
WHOLE_STACK = _i(18)  # M120 keeps modes here: 8 places
SKIPPING = _i(27)  # how deep inside a block that is not carried out
CHORDS_LEFT = _i(28)  # chords that arcs may still take before they are drawn coarsely
AT_SWITCH = _i(29)  # bits 1 X, 2 Y, 4 Z: homed by G161, G162 or M132, to a place that is not known
LAST_TRAILING = _i(26)  # exact hash of the last stored note if it was a trailing one, else 0
# tallies
ARCS = _i(30)
ARCS_CAPPED = _i(31)
STRAIGHTENED = _i(32)  # G5 and the like, drawn straight to the end
BARE_LINES = _i(33)
EXPONENTS = _i(34)
GARBLED = _i(35)
DOUBTFUL = _i(36)
WORD_COMMANDS = _i(37)
CHECKED = _i(38)  # lines with a checksum
CHECK_WRONG = _i(39)
N_WRONG = _i(40)  # lines whose number does not rise
ZERO_BYTES = _i(41)
NOT_TEXT = _i(42)
TOO_FAR = _i(43)  # coordinates beyond 100 m
LONG_LINES = _i(44)
BAD_ARCS = _i(45)
CONDITIONALS = _i(46)
COMMANDS_BEYOND = _i(47)  # command numbers beyond the tables
REPEATED = _i(48)  # lines with two motions, or with a letter twice
N_LEFT_OUT = _i(49)  # numbers that are missing between lines with checksums
TALLY_FIRST = _i(60)  # first line of each tally: TALLY_FIRST + (tally - ARCS)
WHOLE_SIZE = _i(96)

FLAG_OWN_LINE = _i(1)
FLAG_WORD_COMMAND = _i(2)
FLAG_DOUBTFUL = _i(4)
FLAG_MESSAGE = _i(8)
TRAILING = _i(0)

MAX_WORDS = _i(64)
MAX_SPANS = _i(16)  # comments of one line
MAX_CHORDS = _i(8192)
MAX_LINE = _i(65536)
CHORD_ERROR_MM = 0.01
FAR_MM = 100_000.0
TABLE = _i(100_000)
INDEX_SHIFT = _i(7)  # the offset of every 128th line is kept

# kinds, as in viewer.read.moves (kernels import nothing of their own project: see viewer.jit)
_TRAVEL, _BEAD, _WIPE, _RETRACT, _PRIME, _PLACE = (_i(kind) for kind in range(6))

POWERS = np.array([10.0**i for i in range(23)])

# letters
_A, _B, _C, _U, _V, _W = (_i(ord(letter)) for letter in "ABCUVW")
_D, _E, _F, _G, _I, _J, _K, _L = (_i(ord(letter)) for letter in "DEFGIJKL")
_M, _P, _R, _S, _T, _X, _Y, _Z = (_i(ord(letter)) for letter in "MPRSTXYZ")
_LF, _CR, _TAB, _BLANK = _i(10), _i(13), _i(9), _i(32)
_NOT_IN_MOTIONS = _i(sum(1 << (ord(letter) - 65) for letter in "NO"))
_NOT_IN_STRAIGHT = _i(sum(1 << (ord(letter) - 65) for letter in "IJK"))
_LOOSE = np.bool_(False)  # of a number: blanks may stand in it


@inner_kernel
def _tally(whole, which):
    """Count one oddity and keep the first line of its sort."""
    whole[which] += 1
    if whole[TALLY_FIRST + which - ARCS] == 0:
        whole[TALLY_FIRST + which - ARCS] = whole[LINE]


@inner_kernel
def _row(whole, real, length, filament, speed, kind, xs, ys, zs, lengths, filaments, speeds, lines, kinds):
    """Append one move that ends at the present position."""
    k = whole[N_MOVES]
    xs[k] = real[PX]
    ys[k] = real[PY]
    zs[k] = real[PZ]
    lengths[k] = length
    filaments[k] = filament
    speeds[k] = speed
    lines[k] = whole[LINE]
    kinds[k] = kind
    whole[N_MOVES] = k + 1


@inner_kernel
def _kind(length, filament, switched_on):
    """Sort a motion by its path and its filament; -1: nothing happens."""
    moves = length > 1e-9
    if filament > 1e-9:
        return _BEAD if moves else _PRIME
    if filament < -1e-9:
        return _WIPE if moves else _RETRACT
    if moves:
        return _BEAD if switched_on else _TRAVEL
    return -1


@inner_kernel
def _straight(whole, real, x, y, z, filament, xs, ys, zs, lengths, filaments, speeds, lines, kinds):
    """Go straight to (x, y, z), feeding `filament` mm."""
    dx = x - real[PX]
    dy = y - real[PY]
    dz = z - real[PZ]
    length = math.sqrt(dx * dx + dy * dy + dz * dz)
    kind = _kind(length, filament, whole[SWITCHED_ON] == 1 and whole[E_SEEN] == 0)
    real[PX] = x
    real[PY] = y
    real[PZ] = z
    if kind >= 0:
        _row(
            whole,
            real,
            length,
            filament,
            real[SPEED],
            kind,
            xs,
            ys,
            zs,
            lengths,
            filaments,
            speeds,
            lines,
            kinds,
        )


@inner_kernel
def _arc(
    whole,
    real,
    clockwise,
    end_x,
    end_y,
    end_z,
    mid_i,
    mid_j,
    mid_k,
    radius,
    has_centre,
    turns,
    filament,
    xs,
    ys,
    zs,
    lengths,
    filaments,
    speeds,
    lines,
    kinds,
):
    """Go along an arc or helix, as chords whose error is at most CHORD_ERROR_MM.

    The arc lies in the plane (a, b) of G17/G18/G19 and rises along c. Its radius is the distance
    from the start to the centre; where the end lies on another radius, the radius changes evenly
    along the arc (a controller does the same). Chords end where the arc crosses an axis direction,
    so that the extent of the chords is that of the arc. A chord carries its share of the true length.
    Returns whether there is such an arc.
    """
    plane = whole[PLANE]
    x0, y0, z0 = real[PX], real[PY], real[PZ]
    if plane == 17:
        a0, b0, c0, a1, b1, c1, ci, cj = x0, y0, z0, end_x, end_y, end_z, mid_i, mid_j
    elif plane == 18:  # Z X plane: the first axis is Z (NISTIR 6556, 3.5.3)
        a0, b0, c0, a1, b1, c1, ci, cj = z0, x0, y0, end_z, end_x, end_y, mid_k, mid_i
    else:
        a0, b0, c0, a1, b1, c1, ci, cj = y0, z0, x0, end_y, end_z, end_x, mid_j, mid_k
    good = True
    if not has_centre:
        da, db = a1 - a0, b1 - b0
        chord = math.sqrt(da * da + db * db)
        r = abs(radius)
        if chord < 1e-9 or r < 1e-9 or chord > 2.0 * r * 1.05 + 0.01:
            good = False
        else:
            height = math.sqrt(max(0.0, r * r - 0.25 * chord * chord))
            side = 1.0 if (radius > 0.0) != clockwise else -1.0
            ci = 0.5 * da - side * height * db / chord
            cj = 0.5 * db + side * height * da / chord
    centre_a, centre_b = a0 + ci, b0 + cj
    r0 = math.sqrt(ci * ci + cj * cj)
    if r0 < 1e-9 or r0 > FAR_MM:
        good = False
    if not good:
        _tally(whole, BAD_ARCS)
        return False
    r1 = math.sqrt((a1 - centre_a) ** 2 + (b1 - centre_b) ** 2)
    start = math.atan2(b0 - centre_b, a0 - centre_a)
    stop = math.atan2(b1 - centre_b, a1 - centre_a)
    sweep = start - stop if clockwise else stop - start
    if abs(a1 - a0) < 1e-7 and abs(b1 - b0) < 1e-7:
        sweep = 0.0
    if sweep <= 1e-9:
        sweep += 2.0 * math.pi
    if turns > 1.0:
        sweep += 2.0 * math.pi * (min(turns, 1e4) - 1.0)
    if abs(r1 - r0) > max(0.05, 0.02 * r0):
        _tally(whole, BAD_ARCS)
    rise = c1 - c0
    flat = 0.5 * (r0 + r1) * sweep
    length = math.sqrt(flat * flat + rise * rise)
    kind = _kind(length, filament, whole[SWITCHED_ON] == 1 and whole[E_SEEN] == 0)
    whole[ARCS] += 1
    step = 2.0 * math.acos(max(-1.0, 1.0 - CHORD_ERROR_MM / max(r0, r1, 2.0 * CHORD_ERROR_MM)))
    step = min(step, 0.5 * math.pi)
    quarter = 0.5 * math.pi
    if sweep / step + sweep / quarter + 2.0 > MAX_CHORDS:
        _tally(whole, ARCS_CAPPED)
        step = sweep / (MAX_CHORDS - sweep / quarter - 4.0) if sweep / quarter < MAX_CHORDS / 2 else sweep
    elif whole[CHORDS_LEFT] <= 0:  # "G2I9" over and over: 5 bytes that ask for 67 chords each
        _tally(whole, ARCS_CAPPED)
        step = sweep
    # quarters: at the angles that are multiples of 90 degrees along the way
    done = 0.0
    sign = -1.0 if clockwise else 1.0
    while done < sweep - 1e-12:
        if sweep / quarter >= MAX_CHORDS / 2:
            piece = sweep
        else:
            turned = (start + sign * done) / quarter
            if clockwise:
                next_mark = (math.ceil(turned - 1e-9) - 1.0) * quarter
            else:
                next_mark = (math.floor(turned + 1e-9) + 1.0) * quarter
            piece = min(abs(next_mark - (start + sign * done)), sweep - done)
            if piece < 1e-9:
                piece = min(quarter, sweep - done)
        chords = np.int64(math.ceil(piece / step - 1e-9))
        chords = max(1, min(chords, MAX_CHORDS - 2))
        whole[CHORDS_LEFT] -= chords
        for i in range(1, chords + 1):
            at = done + piece * i / chords
            share = at / sweep
            if at >= sweep - 1e-12:
                a, b, c = a1, b1, c1
            else:
                angle = start + sign * at
                r = r0 + (r1 - r0) * share
                a = centre_a + r * math.cos(angle)
                b = centre_b + r * math.sin(angle)
                c = c0 + rise * share
            if plane == 17:
                real[PX], real[PY], real[PZ] = a, b, c
            elif plane == 18:
                real[PX], real[PY], real[PZ] = b, c, a
            else:
                real[PX], real[PY], real[PZ] = c, a, b
            part = piece / chords / sweep
            _row(
                whole,
                real,
                length * part,
                filament * part,
                real[SPEED],
                kind,
                xs,
                ys,
                zs,
                lengths,
                filaments,
                speeds,
                lines,
                kinds,
            )
        done += piece
    return True


@inner_kernel
def _is_letter(c):
    return 65 <= c <= 90 or 97 <= c <= 122


@inner_kernel
def _is_digit(c):
    return 48 <= c <= 57


@inner_kernel
def _note(
    buf,
    begin,
    end,
    base,
    flags,
    whole,
    note_offset,
    note_length,
    note_line,
    note_move,
    note_flags,
    note_shape,
    note_exact,
    note_first,
    note_second,
):
    """Append a comment: where its text is, two hashes of it, and its first two numbers.

    `shape` is the hash of the text with case and every run of digits folded: comments of one shape
    have one meaning, which is looked up once; `exact` tells texts of one shape apart.
    """
    while begin < end and (buf[begin] == _BLANK or buf[begin] == _TAB):
        begin += 1
    while end > begin and buf[end - 1] <= _BLANK:
        end -= 1
    if begin == end:
        return
    shape = np.uint64(1469598103934665603)
    exact = np.uint64(1099511628211)
    prime = np.uint64(1099511628211)
    first = math.nan
    second = math.nan
    p = begin
    while p < end:
        c = buf[p]
        if c < _BLANK and c != _TAB:
            if c == 0:
                _tally(whole, ZERO_BYTES)
            else:
                _tally(whole, NOT_TEXT)
        exact = (exact ^ np.uint64(c)) * prime
        if _is_digit(c):
            q = p
            value = 0.0
            digits = 0
            while q < end and _is_digit(buf[q]):
                value = value * 10.0 + (buf[q] - 48)
                q += 1
                digits += 1
            if q + 1 < end and buf[q] == 46 and _is_digit(buf[q + 1]):
                q += 1
                weight = 0.1
                while q < end and _is_digit(buf[q]):
                    value += weight * (buf[q] - 48)
                    weight *= 0.1
                    q += 1
            elif p > begin and buf[p - 1] == 46 and (p - 1 == begin or not _is_digit(buf[p - 2])):
                value /= POWERS[min(digits, 22)]  # ".35"
            before = p - 1
            if before >= begin and buf[before] == 46:
                before -= 1
            if before >= begin and buf[before] == 45 and (before == begin or not _is_letter(buf[before - 1])):
                value = -value
            if math.isnan(first):
                first = value
            elif math.isnan(second):
                second = value
            for k in range(p + 1, q):
                exact = (exact ^ np.uint64(buf[k])) * prime
            shape = (shape ^ np.uint64(35)) * prime
            p = q
            continue
        if 65 <= c <= 90:
            c += 32
        shape = (shape ^ np.uint64(c)) * prime
        p += 1
    trailing = flags & (FLAG_OWN_LINE | FLAG_WORD_COMMAND | FLAG_DOUBTFUL | FLAG_MESSAGE) == 0
    if trailing and whole[LAST_TRAILING] == np.int64(exact):
        return  # "; infill" behind every line: once is enough
    whole[LAST_TRAILING] = np.int64(exact) if trailing else 0
    k = whole[N_NOTES]
    if flags & FLAG_DOUBTFUL != 0 and k > 0 and note_flags[k - 1] & FLAG_DOUBTFUL != 0:
        return  # a megabyte of "1" on lines of their own: one row stands for all, the lines are counted
    note_offset[k] = base + begin
    note_length[k] = end - begin
    note_line[k] = whole[LINE]
    note_move[k] = whole[N_MOVES]
    note_flags[k] = flags
    note_shape[k] = shape
    note_exact[k] = exact
    note_first[k] = first
    note_second[k] = second
    whole[N_NOTES] = k + 1


@inner_kernel
def _number(buf, p, end, solid):
    """Read a number at p: (value, next place, status).

    Blanks inside are allowed (RS-274), but a blank behind a digit ends a `solid` one, the number of a command:
    `M117 3 of 20` shows a text, it is no M1173.
    Status 0: a number; 1: none there; 2: the number runs into something that is no part of one.
    """
    sign = 1.0
    while p < end and (buf[p] == _BLANK or buf[p] == _TAB):
        p += 1
    at = p
    if p < end and (buf[p] == 45 or buf[p] == 43):
        if buf[p] == 45:
            sign = -1.0
        p += 1
    mantissa = np.int64(0)
    digits = 0
    decimals = 0
    dropped = 0
    point = False
    last = at
    while p < end:
        c = buf[p]
        if _is_digit(c):
            digits += 1
            if mantissa < 100_000_000_000_000_000:
                mantissa = mantissa * 10 + (np.int64(c) - 48)
                if point:
                    decimals += 1
            elif not point:
                dropped += 1
            p += 1
            last = p
        elif c == 46:
            if point:
                break
            point = True
            p += 1
            last = p
        elif (c == _BLANK or c == _TAB) and not (solid and digits > 0):
            p += 1
        else:
            break
    if digits == 0:
        return 0.0, at, 1
    value = sign * (np.float64(mantissa) / POWERS[decimals]) * POWERS[min(dropped, 22)]
    status = 2 if last < end and (buf[last] == 46 or buf[last] == 45 or buf[last] == 43) else 0
    return value, last, status


@inner_kernel
def _skip_token(buf, p, end):
    while p < end and buf[p] > _BLANK and buf[p] != 59 and buf[p] != 40:
        p += 1
    return p


@inner_kernel
def _is_compact(buf, p, end):
    """Whether any word of the line begins right behind the number before it; E does not tell."""
    k = p + 1
    while k < end and buf[k] != 59 and buf[k] != 40:
        if _is_letter(buf[k]) and (buf[k] | 32) != 101 and (_is_digit(buf[k - 1]) or buf[k - 1] == 46):
            return True
        k += 1
    return False


@inner_kernel
def _is_exponent(buf, p, end, letter, compact):
    """Whether an E at p, right behind a number, is an exponent and not the filament axis.

    An exponent has a sign (whatever prints numbers writes one): `X10E3` has two words.
    """
    if p + 1 >= end or (buf[p] | 32) != 101:
        return False
    q = p + 1
    signed = buf[q] == 43 or buf[q] == 45
    if signed:
        q += 1
    if q >= end or not _is_digit(buf[q]):
        return False
    if (letter | 32) == 101:
        return True  # E1E-5: two E in one word
    if compact or not signed:
        return False  # G1 X1Y2E-5: words without blanks between
    while q < end and _is_digit(buf[q]):
        q += 1
    return q >= end or buf[q] <= _BLANK or buf[q] == 59


@inner_kernel
def _is_prose(buf, p, end):
    """Whether the token at p is a word of text (three letters and more, or with `_`), not axis letters."""
    q = p
    odd = 0
    while q < end and (_is_letter(buf[q]) or buf[q] == 95):
        c = buf[q] & 223
        if not (c == 88 or c == 89 or c == 90 or c == 69):
            odd += 1
        q += 1
    return q - p >= 2 and odd > 0


@inner_kernel
def _span(spans, begin, end, flags):
    """Remember that a comment of this line stands at begin .. end."""
    k = spans[0]
    if k < MAX_SPANS:
        spans[1 + 3 * k] = begin
        spans[2 + 3 * k] = end
        spans[3 + 3 * k] = flags
        spans[0] = k + 1


@inner_kernel
def _is_odd_motion(letters, n, motions, straight, whole):
    """Whether a line with G0 to G3 has a letter that belongs to no motion; a line that says a thing twice is counted.

    A line has one motion, and one word of each letter but G and M (NISTIR 6556, 3.3.4, from memory): an axis that
    stands twice tells of a lost line end, or of an exponent without a sign.
    """
    seen = np.int64(0)
    twice = motions > 1
    for i in range(n):
        letter = np.int64(letters[i])
        if letter == _M:
            break  # what stands behind are its arguments
        if letter != _G:
            bit = np.int64(1) << (letter - 65)
            twice = twice or seen & bit != 0
            seen |= bit
    if twice:
        _tally(whole, REPEATED)
    return seen & _NOT_IN_MOTIONS != 0 or (straight and seen & _NOT_IN_STRAIGHT != 0)


@inner_kernel
def _split(buf, p, end, whole, letters, values, spans):
    """Split the line buf[p:end] into words; returns (words, kind of line).

    Kind 0: words to execute; 1: nothing to execute (blank, comment, text).
    """
    while p < end and (buf[p] == _BLANK or buf[p] == _TAB):
        p += 1
    if p == end:
        return 0, 1
    first = p
    n = 0
    if buf[p] == 78 or buf[p] == 110:  # N: line number, and a checksum behind
        value, q, status = _number(buf, p + 1, end, _LOOSE)
        if status != 1:
            number = np.int64(min(value, 1e9))
            checked = False
            wrong = False
            code_end = q
            while code_end < end and buf[code_end] != 59:
                code_end += 1
            star = code_end - 1  # a checksum stands before the comment
            while star > q and (_is_digit(buf[star]) or buf[star] <= _BLANK):
                star -= 1
            k = star + 1
            while k < code_end and (buf[k] == _BLANK or buf[k] == _TAB):
                k += 1
            if star > q and buf[star] == 42 and k < code_end and _is_digit(buf[k]):
                xor = 0
                for i in range(first, star):
                    xor ^= np.int64(buf[i])
                stated = 0
                while k < code_end and _is_digit(buf[k]):
                    stated = min(stated * 10 + (np.int64(buf[k]) - 48), 100_000)
                    k += 1
                whole[CHECKED] += 1
                checked = True
                if stated != xor:
                    wrong = True
                    _tally(whole, CHECK_WRONG)
                if code_end == end:
                    end = star
            p = q
            while p < end and (buf[p] == _BLANK or buf[p] == _TAB):
                p += 1
            last_n = whole[LAST_N]
            if wrong and last_n >= 0:
                number = last_n + 1  # the damage may be in the number
            if (buf[p] | 32) == 109 and buf[p + 1] == 49 and buf[p + 2] == 49 and buf[p + 3] == 48:
                number = np.int64(-1)  # M110: counting goes on from another number
            elif last_n >= 0 and number <= last_n:
                _tally(whole, N_WRONG)
            elif last_n >= 0 and checked and number > last_n + 1:  # without checksums steps of 10 are as good
                _tally(whole, N_LEFT_OUT)
                whole[N_LEFT_OUT] += number - last_n - 2
            whole[LAST_N] = number
    if p == end:
        return 0, 1
    c = buf[p]
    if c == 59:
        _span(spans, p + 1, end, FLAG_OWN_LINE)
        return 0, 1
    if c == 37:  # %: begin and end of a tape
        return 0, 1
    if _is_letter(c) or c == 95:
        q = p + 1
        while q < end and (buf[q] == _BLANK or buf[q] == _TAB):
            q += 1
        prose = q > p + 1 and _is_prose(buf, q, end)  # "a line of text"
        q = p + 1
        if prose or c == 95 or (q < end and (_is_letter(buf[q]) or buf[q] == 95)):
            equals = False
            under = False
            token_end = p
            while token_end < end and (
                _is_letter(buf[token_end]) or _is_digit(buf[token_end]) or buf[token_end] == 95
            ):
                if buf[token_end] == 95:
                    under = True
                token_end += 1
            k = token_end
            rest = False
            while k < end and buf[k] != 59:
                if buf[k] == 61:
                    equals = True
                if buf[k] > _BLANK:
                    rest = True
                k += 1
            upper = True
            for k2 in range(p, token_end):
                if buf[k2] >= 97:
                    upper = False
            if equals or under or (upper and not rest):
                flag = FLAG_WORD_COMMAND
                _tally(whole, WORD_COMMANDS)
            else:
                flag = FLAG_DOUBTFUL
                _tally(whole, DOUBTFUL)
            _span(spans, p, k, flag)
            return 0, 1
    words = p
    compact = -1  # whether the line is compact; looked at where an E stands right behind a number
    commands = 0
    odd = False
    motions = 0  # words G0 to G3 before any M word
    straight = False
    behind_m = False
    while p < end:
        c = buf[p]
        if c == _BLANK or c == _TAB:
            p += 1
            continue
        if c == 59:
            flag = 0 if n > 0 else FLAG_OWN_LINE
            _span(spans, p + 1, end, flag)
            break
        if c == 40:
            q = p + 1
            while q < end and buf[q] != 41:
                q += 1
            after = q + 1
            while after < end and buf[after] <= _BLANK:
                after += 1
            flag = FLAG_OWN_LINE if n == 0 and after >= end else 0
            _span(spans, p + 1, q, flag)
            p = q + 1
            continue
        if _is_letter(c):
            letter = c & 223
            if commands > 0 and _is_prose(buf, p, end):
                odd = odd or (motions > 0 and not behind_m)
                break  # an argument in words: M1002 judge_flag ..., M624 AQAA=
            value, q, status = _number(buf, p + 1, end, letter == _G or letter == _M or letter == _T)
            if status == 1:
                if n < MAX_WORDS and letter != _G and letter != _M:
                    letters[n] = letter
                    values[n] = math.nan
                    n += 1
                elif letter == _G or letter == _M:
                    odd = True
                p = p + 1
                continue
            if (buf[q] | 32) == 101 and compact < 0:
                compact = 1 if _is_compact(buf, words, end) else 0
            if _is_exponent(buf, q, end, letter, compact == 1):
                _tally(whole, EXPONENTS)
                p = _skip_token(buf, q, end)
                continue
            if status == 2:
                _tally(whole, GARBLED)
                q = _skip_token(buf, q, end)
            if n < MAX_WORDS:
                letters[n] = letter
                values[n] = value
                n += 1
            else:
                odd = True
            if letter == _G or letter == _M:
                commands += 1
                if letter == _M:
                    behind_m = True
                elif not behind_m and (value == 0.0 or value == 1.0 or value == 2.0 or value == 3.0):
                    motions += 1
                    straight = value < 2.0
                if letter == _M and (
                    value == 117.0
                    or value == 118.0
                    or value == 23.0
                    or value == 28.0
                    or value == 30.0
                    or value == 32.0
                    or value == 36.0
                ):
                    k = q
                    while k < end and buf[k] != 59:
                        k += 1
                    _span(spans, q, k, FLAG_MESSAGE)
                    break
            elif letter == _T and n == 1:
                commands += 1
            p = q
            continue
        if c == 42 and n > 0:  # '*' that is no checksum
            p = _skip_token(buf, p, end)
            continue
        # something that no word begins with
        if n == 0 and (c == 47 or c == 46 or _is_digit(c) or c == 45 or c == 43 or c > 126 or c > _BLANK):
            if c < _BLANK or c > 126:
                _tally(whole, GARBLED)
            _tally(whole, DOUBTFUL)
            k = p
            while k < end and buf[k] != 59:
                k += 1
            _span(spans, p, k, FLAG_DOUBTFUL)
            return 0, 1
        if c == 0:
            q = p
            while q < end and buf[q] == 0:
                q += 1
            _tally(whole, ZERO_BYTES)
            whole[ZERO_BYTES] += q - p - 1
            p = q
            continue
        if c < _BLANK:
            _tally(whole, NOT_TEXT)
        elif commands == 0 or not (
            c == 58  # E1:2
            or c == 91  # X[2*3]
            or c == 123  # X{lift}
            or ((motions == 0 or behind_m) and (61 <= c <= 62 or c == 34 or c == 44 or c == 47))
        ):
            odd = True
        p = _skip_token(buf, p + 1, end)
    if motions > 0:
        odd = _is_odd_motion(letters, n, motions, straight, whole) or odd
    if odd:
        _tally(whole, GARBLED)
    return n, 0


@inner_kernel
def _value(letters, values, n, letter):
    """Return the first value of a word, NaN where it is missing or empty."""
    for i in range(n):
        if letters[i] == letter:
            return values[i]
    return math.nan


@inner_kernel
def _has(letters, n, letter):
    for i in range(n):
        if letters[i] == letter:
            return True
    return False


@inner_kernel
def _event(
    letter, code, letters, values, n, whole, ev_letter, ev_code, ev_line, ev_move, ev_first, w_letter, w_value
):
    """Append one event with all words of its line but the command itself."""
    k = whole[N_EVENTS]
    w = whole[N_WORDS]
    ev_letter[k] = letter
    ev_code[k] = code
    ev_line[k] = whole[LINE]
    ev_move[k] = whole[N_MOVES]
    ev_first[k] = w
    skipped = False
    for i in range(n):
        if not skipped and letters[i] == letter and round(values[i] * 10.0) == code:
            skipped = True
            continue
        w_letter[w] = letters[i]
        w_value[w] = values[i]
        w += 1
    whole[N_EVENTS] = k + 1
    whole[N_WORDS] = w
    ev_first[k + 1] = w


@inner_kernel
def _use_tool(whole, real, tool):
    """Take a tool in use: its flow factor and its way of counting E hold from here."""
    whole[TOOL] = tool
    area = real[TOOL_AREA + tool]
    flow = real[TOOL_FLOW + tool]
    real[FLOW] = flow
    real[E_TO_MM] = flow / area if area > 0.0 else flow


@inner_kernel
def _target(written, present, offset, scale, relative, machine):
    """Return where an axis goes: machine coordinate, mm."""
    if math.isnan(written):
        return present
    if relative:
        return present + written * scale
    if machine:
        return written * scale
    return written * scale + offset


@inner_kernel
def _fed(letters, values, n, whole, real):
    """Return the filament that the line feeds, mm, and move the E axis."""
    e = _value(letters, values, n, _E)
    if math.isnan(e):
        return 0.0
    whole[E_SEEN] = 1
    e *= real[SCALE]
    if whole[E_RELATIVE] == 1 or (whole[RELATIVE] == 1 and whole[E_WITH_G90] == 0):
        real[E] += e
        return e * real[E_TO_MM]
    fed = e - real[E]
    real[E] = e
    return fed * real[E_TO_MM]


@inner_kernel
def _move_line(
    motion, machine, letters, values, n, whole, real, xs, ys, zs, lengths, filaments, speeds, lines, kinds
):
    """Execute a line that moves: G0 G1 (0, 1), G2 G3 (2, 3), anything else straight to its end."""
    f = _value(letters, values, n, _F)
    if not math.isnan(f) and f > 0.0:
        real[SPEED] = f * real[SCALE] / 60.0
    relative = whole[RELATIVE] == 1 and not machine
    x = _target(_value(letters, values, n, _X), real[PX], real[OX], real[SCALE], relative, machine)
    y = _target(_value(letters, values, n, _Y), real[PY], real[OY], real[SCALE], relative, machine)
    z = _target(_value(letters, values, n, _Z), real[PZ], real[OZ], real[SCALE], relative, machine)
    if abs(x) > FAR_MM or abs(y) > FAR_MM or abs(z) > FAR_MM:
        _tally(whole, TOO_FAR)
        return
    before = real[E]
    filament = _fed(letters, values, n, whole, real)
    if abs(filament) > FAR_MM:
        _tally(whole, TOO_FAR)
        real[E] = before  # or the next line would draw it all back
        return
    if motion == 2 or motion == 3:
        i = _value(letters, values, n, _I)
        j = _value(letters, values, n, _J)
        k = _value(letters, values, n, _K)
        r = _value(letters, values, n, _R)
        centre = not (math.isnan(i) and math.isnan(j) and math.isnan(k))
        if centre or not math.isnan(r):
            s = real[SCALE]
            turns = _value(letters, values, n, _P)
            if _arc(
                whole,
                real,
                motion == 2,
                x,
                y,
                z,
                0.0 if math.isnan(i) else i * s,
                0.0 if math.isnan(j) else j * s,
                0.0 if math.isnan(k) else k * s,
                0.0 if math.isnan(r) else r * s,
                centre,
                1.0 if math.isnan(turns) else turns,
                filament,
                xs,
                ys,
                zs,
                lengths,
                filaments,
                speeds,
                lines,
                kinds,
            ):
                return
        else:
            _tally(whole, BAD_ARCS)
    _straight(whole, real, x, y, z, filament, xs, ys, zs, lengths, filaments, speeds, lines, kinds)


@inner_kernel
def _homes(letter, code, letters, n):
    """Tell whether a command homes: 0 no; 1 yes (G28); 2 yes, to a place that is not known.

    G161 drives the named axes to their lowest end stops, G162 to their highest, M132 X Y Z takes up where these
    stand by what the machine has stored (common practice, no source).
    """
    if letter == _G:
        return 1 if code == 280 else 2 if code == 1610 or code == 1620 else 0
    if letter == _M and code == 1320:
        return 2 if _has(letters, n, _X) or _has(letters, n, _Y) or _has(letters, n, _Z) else 0
    return 0


@inner_kernel
def _home(homes, letters, n, whole, real, xs, ys, zs, lengths, filaments, speeds, lines, kinds):
    """Home the named axes, or all: they stand at their home, and their offsets are gone.

    Those of `_homes` 2 stand at the card's home, too, until a G92 says where that is (`_set_position`).
    """
    none_named = True
    for i in range(n):
        if _X <= letters[i] <= _Z:
            none_named = False
    for axis in range(3):
        if none_named or _has(letters, n, _X + axis):
            real[PX + axis] = real[HOME_X + axis]
            real[OX + axis] = 0.0
            whole[AT_SWITCH] &= ~(1 << axis)
            if homes == 2:
                whole[AT_SWITCH] |= 1 << axis
    _row(whole, real, 0.0, 0.0, 0.0, _PLACE, xs, ys, zs, lengths, filaments, speeds, lines, kinds)


@inner_kernel
def _set_position(code, letters, values, n, whole, real):
    """G92: the present position is called by the given numbers; G92.1 forgets that.

    An axis that still stands where G161, G162 or M132 left it is at the place that G92 states: what is written from
    there on is the machine's place. But no axis stands below the plate: ``G92 Z-5`` only prepares a way off the end
    stop (common practice, no source).
    """
    if code == 921 or code == 922:
        real[OX] = real[OY] = real[OZ] = 0.0
        return
    if code == 923:
        return
    named = False
    for axis in range(3):
        v = _value(letters, values, n, _X + axis)
        if not math.isnan(v):
            v *= real[SCALE]
            named = True
            stays = real[PX + axis] == real[HOME_X + axis] and (axis < 2 or v >= 0.0)
            if whole[AT_SWITCH] >> axis & 1 == 1 and stays and abs(v) <= FAR_MM:
                real[PX + axis] = v
                real[OX + axis] = 0.0
            elif abs(v) <= FAR_MM:
                real[OX + axis] = real[PX + axis] - v
            else:
                _tally(whole, TOO_FAR)
        elif _has(letters, n, _X + axis):
            named = True
            real[OX + axis] = real[PX + axis]
    e = _value(letters, values, n, _E)
    if not math.isnan(e):
        named = True
        real[E] = e * real[SCALE]
    elif _has(letters, n, _E):
        named = True
        real[E] = 0.0
    for i in range(n):  # axes that are not followed; A and B are the filament of tool 0 and 1 (G92 A0 B0)
        if _A <= letters[i] <= _C or _U <= letters[i] <= _W:
            named = True
            if letters[i] == _A + whole[TOOL] and values[i] == 0.0:
                real[E] = 0.0
    if not named:
        real[E] = 0.0
        for axis in range(3):
            real[OX + axis] = real[PX + axis]


@inner_kernel
def _mode(code, whole, real):
    """Set a mode by a G word (code = ten times its number); False when it is none."""
    if code == 170 or code == 180 or code == 190:
        whole[PLANE] = code // 10
    elif code == 200:
        real[SCALE] = 25.4
    elif code == 210:
        real[SCALE] = 1.0
    elif code == 900 or code == 910:
        whole[RELATIVE] = 1 if code == 910 else 0
        if whole[E_WITH_G90] == 1:
            whole[E_RELATIVE] = whole[RELATIVE]
    else:
        return False
    return True


@inner_kernel
def _moves_straight(code, letters, values, n):
    """Whether a G word moves in a way that is not interpreted (curves, drilling cycles, probing)."""
    curve = 50 <= code <= 69 or code == 330
    cycle = code == 730 or code == 760 or 810 <= code <= 890
    probe = 382 <= code <= 385 or code == 3800
    if not (curve or cycle or probe):
        return False
    for i in range(n):
        if _X <= letters[i] <= _Z and not math.isnan(values[i]):
            return True
    return False


@inner_kernel
def _draw_back(code, whole, real, xs, ys, zs, lengths, filaments, speeds, lines, kinds):
    """G10 and G11: filament back and forth by the machine's own length; a second G10 does nothing."""
    if code == 100 and whole[DRAWN] == 0:
        whole[DRAWN] = 1
        real[DRAWN_BACK] = real[BACK_MM]
        filament = -real[BACK_MM]
        speed = real[BACK_SPEED]
        kind = _RETRACT
    elif code == 110 and whole[DRAWN] == 1:
        whole[DRAWN] = 0
        filament = real[DRAWN_BACK] + real[FORTH_MM]
        speed = real[FORTH_SPEED]
        kind = _PRIME
    else:
        return
    if abs(filament) > 1e-9:
        _row(whole, real, 0.0, filament, speed, kind, xs, ys, zs, lengths, filaments, speeds, lines, kinds)


@inner_kernel
def _m(code, letters, values, n, whole, real):
    """Execute one M word (code = ten times its number)."""
    s = _value(letters, values, n, _S)
    if code == 820:
        whole[E_RELATIVE] = 0
    elif code == 830:
        whole[E_RELATIVE] = 1
    elif code == 2000:
        d = _value(letters, values, n, _D)
        t = _value(letters, values, n, _T)
        d *= real[SCALE]
        for tool in range(64):
            if math.isnan(t) or t == tool:
                area = abs(real[TOOL_AREA + tool])  # a known diameter is kept while E is a length
                if d > 0.0:
                    area = 0.25 * math.pi * d * d
                if d > 0.0 or d == 0.0 or not math.isnan(s):
                    by_volume = s > 0.0 if not math.isnan(s) else d > 0.0
                    real[TOOL_AREA + tool] = area if by_volume else -area
    elif code == 2210:
        t = _value(letters, values, n, _T)
        if math.isnan(t):
            t = _value(letters, values, n, _D)
        if s >= 0.0:
            for tool in range(64):
                if math.isnan(t) or t == tool:
                    real[TOOL_FLOW + tool] = s / 100.0
    elif code == 2070 or code == 2080:
        f = _value(letters, values, n, _F)
        if code == 2070:
            if not math.isnan(s):
                real[BACK_MM] = abs(s) * real[SCALE]
            if not math.isnan(f) and f > 0.0:
                real[BACK_SPEED] = f * real[SCALE] / 60.0
        else:
            if not math.isnan(s):
                real[FORTH_MM] = s * real[SCALE]
            if not math.isnan(f) and f > 0.0:
                real[FORTH_SPEED] = f * real[SCALE] / 60.0
    elif code == 1010 or code == 1020:
        whole[SWITCHED_ON] = 1
    elif code == 1030:
        whole[SWITCHED_ON] = 0
    elif code == 1200:
        if whole[DEPTH] < 8:
            real[REAL_STACK + whole[DEPTH]] = real[SPEED]
            whole[WHOLE_STACK + whole[DEPTH]] = (
                whole[RELATIVE] + 2 * whole[E_RELATIVE] + (4 if real[SCALE] > 1.0 else 0)
            )
            whole[DEPTH] += 1
    elif code == 1210:
        if whole[DEPTH] > 0:
            whole[DEPTH] -= 1
            real[SPEED] = real[REAL_STACK + whole[DEPTH]]
            modes = whole[WHOLE_STACK + whole[DEPTH]]
            whole[RELATIVE] = modes & 1
            whole[E_RELATIVE] = (modes >> 1) & 1
            real[SCALE] = 25.4 if modes & 4 else 1.0
    elif code == 60 or code == 1350:
        t = _value(letters, values, n, _T)
        if not math.isnan(t) and 0.0 <= t < 64.0:
            whole[TOOL] = np.int64(t)
    if code == 2000 or code == 2210 or code == 60 or code == 1350:
        _use_tool(whole, real, whole[TOOL])


@inner_kernel
def _condition(code, j, whole):
    """M622 ... M623: what stands between is carried out where a question was answered so; we take every answer as yes.

    So M622 J1 is carried out, and M622 J0 skipped up to its M623, with all blocks inside.
    """
    if code == 6220:
        _tally(whole, CONDITIONALS)
        if whole[SKIPPING] > 0 or j == 0.0:
            whole[SKIPPING] += 1
    elif whole[SKIPPING] > 0:
        whole[SKIPPING] -= 1


@inner_kernel
def _count(letter, value, whole, counts, first_lines):
    """Count a command in its table and give ten times its number, -1 when it is beyond the table."""
    code = np.int64(round(value * 10.0))
    if code < 0 or code >= TABLE:
        _tally(whole, COMMANDS_BEYOND)
        return np.int64(-1)
    which = 0 if letter == _G else 1 if letter == _M else 2
    counts[which, code] += 1
    if first_lines[which, code] == 0:
        first_lines[which, code] = whole[LINE]
    return code


@inner_kernel
def _execute(
    letters,
    values,
    n,
    whole,
    real,
    xs,
    ys,
    zs,
    lengths,
    filaments,
    speeds,
    lines,
    kinds,
    ev_letter,
    ev_code,
    ev_line,
    ev_move,
    ev_first,
    w_letter,
    w_value,
    counts,
    first_lines,
):
    """Execute the words of one line: modes, then other commands, then the motion (NISTIR 6556, 3.8)."""
    machine = False
    axis_words = False
    acted = False
    taken = False  # the line's axis words belong to another command than a motion
    commands = 0
    for i in range(n):
        letter = np.int64(letters[i])
        if letter == _M:
            commands += 1
            break  # what stands behind an M word are its arguments: M1006 ... M60 ...
        if letter == _G:
            commands += 1
            if whole[SKIPPING] == 0:
                _mode(np.int64(round(values[i] * 10.0)), whole, real)
                machine = machine or values[i] == 53.0
        elif letter == _X or letter == _Y or letter == _Z or letter == _E:
            axis_words = True
    motion = np.int64(-1)
    for i in range(n):
        letter = np.int64(letters[i])
        if not (letter == _G or letter == _M or (letter == _T and i == 0 and commands == 0)):
            continue
        if letter == _T and (math.isnan(values[0]) or values[0] < 0.0):
            return
        code = _count(letter, values[i], whole, counts, first_lines)
        if letter == _M and (code == 6220 or code == 6230):
            _condition(code, _value(letters, values, n, _J), whole)
        if whole[SKIPPING] > 0:
            if letter == _M:
                break
            continue
        if code < 0:
            if letter == _M:
                acted = True
                break
            continue
        if letter == _T:
            if code >= 640:
                return  # T255, T1000: no tool change
        logged = True
        if letter == _G:
            if code == 0 or code == 10 or code == 20 or code == 30:
                motion = code // 10
                whole[MOTION] = motion
                logged = False
            elif _moves_straight(code, letters, values, n):
                motion = np.int64(1)
                _tally(whole, STRAIGHTENED)
            elif _mode(code, whole, real) or 920 <= code <= 923 or code == 530:
                logged = False
            elif code == 100 or code == 110:
                logged = _has(letters, n, _L) or _has(letters, n, _P)
        elif letter == _M:
            logged = code != 820 and code != 830
        if logged:
            _event(
                letter,
                code,
                letters,
                values,
                n,
                whole,
                ev_letter,
                ev_code,
                ev_line,
                ev_move,
                ev_first,
                w_letter,
                w_value,
            )
        homes = _homes(letter, code, letters, n)
        if letter == _M:
            _m(code, letters, values, n, whole, real)
            acted = True
            if homes == 0:
                break
        if letter == _T:
            _use_tool(whole, real, code // 10)
            return
        elif homes > 0:
            _home(homes, letters, n, whole, real, xs, ys, zs, lengths, filaments, speeds, lines, kinds)
            acted = taken = True
            if letter == _M:
                break
        elif 920 <= code <= 923:
            x, y, z = real[PX], real[PY], real[PZ]
            _set_position(code, letters, values, n, whole, real)
            if x != real[PX] or y != real[PY] or z != real[PZ]:
                _row(whole, real, 0.0, 0.0, 0.0, _PLACE, xs, ys, zs, lengths, filaments, speeds, lines, kinds)
            acted = taken = True
        elif (code == 100 or code == 110) and not logged:
            _draw_back(code, whole, real, xs, ys, zs, lengths, filaments, speeds, lines, kinds)
            acted = True
        elif logged:
            acted = True
    if whole[SKIPPING] > 0:
        return
    if motion < 0 and axis_words and not acted:  # axis words without a command that takes them
        _tally(whole, BARE_LINES)
        if whole[BARE_OK] == 1:
            motion = whole[MOTION]
    elif commands == 0 and n > 0 and not axis_words:
        _tally(whole, DOUBTFUL)
    if motion >= 0 and not taken:
        _move_line(
            motion,
            machine,
            letters,
            values,
            n,
            whole,
            real,
            xs,
            ys,
            zs,
            lengths,
            filaments,
            speeds,
            lines,
            kinds,
        )


@kernel
def scan(
    buf,
    begin,
    stop,
    base,
    whole,
    real,
    xs,
    ys,
    zs,
    lengths,
    filaments,
    speeds,
    lines,
    kinds,
    ev_letter,
    ev_code,
    ev_line,
    ev_move,
    ev_first,
    w_letter,
    w_value,
    note_offset,
    note_length,
    note_line,
    note_move,
    note_flags,
    note_shape,
    note_exact,
    note_first,
    note_second,
    counts,
    first_lines,
    line_index,
    letters,
    values,
    spans,
):
    """Read the lines in buf[begin:stop] and append rows; returns where it stopped.

    Parameters
    ----------
    buf
        uint8; at least 64 bytes longer than `stop`. buf[begin:stop] ends with a line end.
    base
        Offset in the file of buf[0].
    whole, real
        Carried state and tallies: int64 (WHOLE_SIZE,), float64 (REAL_SIZE,).
    xs ... kinds
        Columns of `Moves`; ev_... of `Events`; note_... of the notes; filled from N_MOVES on and so on.
    line_index
        int64: the offset of every 128th line.
    letters, values
        Work space for the words of a line (MAX_WORDS).
    spans
        Work space for the comments of a line, int64 (1 + 3 * MAX_SPANS); its first place must be 0.

    Returns
    -------
    The place in buf where reading stopped: `stop`, or earlier at a line's beginning where a column has
    no room left for what one line may need (the caller makes the columns longer and goes on).
    """
    p = begin
    room_moves = len(kinds) - MAX_CHORDS - 8
    room_events = len(ev_code) - 2 * MAX_WORDS
    room_words = len(w_value) - MAX_WORDS * MAX_WORDS
    room_notes = len(note_line) - MAX_WORDS
    room_index = len(line_index) - 1
    x, y, z, e = real[PX], real[PY], real[PZ], real[E]
    speed = real[SPEED]
    k = whole[N_MOVES]
    line = whole[LINE]
    g0 = np.int64(0)
    g1 = np.int64(0)
    full = whole[N_EVENTS] >= room_events or whole[N_WORDS] >= room_words or whole[N_NOTES] >= room_notes
    while p < stop:
        if k >= room_moves or full or (line >> INDEX_SHIFT) >= room_index:
            break
        if line & ((1 << INDEX_SHIFT) - 1) == 0:
            line_index[line >> INDEX_SHIFT] = base + p
        slow = True
        # the commonest line: G0 or G1 with plain words
        if (
            whole[SKIPPING] == 0
            and byte_at(buf, p) == 71
            and (byte_at(buf, p + 1) == 49 or byte_at(buf, p + 1) == 48)
            and byte_at(buf, p + 2) == 32
        ):
            q = p + 3
            scale = real[SCALE]
            relative = whole[RELATIVE] == 1
            e_relative = whole[E_RELATIVE] == 1 or (relative and whole[E_WITH_G90] == 0)
            nx, ny, nz, ne = x, y, z, e
            new_speed = speed
            fed = 0.0
            good = True
            seen = 0
            c = byte_at(buf, q)
            while True:
                letter = c
                q += 1
                c = byte_at(buf, q)
                negative = c == 45
                if negative:
                    q += 1
                    c = byte_at(buf, q)
                begun = q
                mantissa = np.int64(0)
                digit = np.int64(c) - 48
                while 0 <= digit <= 9:
                    mantissa = mantissa * 10 + digit
                    q += 1
                    c = byte_at(buf, q)
                    digit = np.int64(c) - 48
                width = q - begun
                if c == 46:
                    q += 1
                    point = q
                    c = byte_at(buf, q)
                    digit = np.int64(c) - 48
                    while 0 <= digit <= 9:
                        mantissa = mantissa * 10 + digit
                        q += 1
                        c = byte_at(buf, q)
                        digit = np.int64(c) - 48
                    decimals = q - point
                    width += decimals
                    if width > 17:
                        good = False
                        break
                    value = np.float64(mantissa) / POWERS[decimals]
                else:
                    value = np.float64(mantissa)
                if width == 0 or width > 17:
                    good = False
                    break
                if negative:
                    value = -value
                if letter == _X:
                    nx = (x if relative else real[OX]) + value * scale
                    bit = 1
                elif letter == _Y:
                    ny = (y if relative else real[OY]) + value * scale
                    bit = 2
                elif letter == _E:
                    value *= scale
                    if e_relative:
                        fed = value
                        ne = e + value
                    else:
                        fed = value - e
                        ne = value
                    bit = 4
                elif letter == _F:
                    if value > 0.0:
                        new_speed = value * scale / 60.0
                    bit = 8
                elif letter == _Z:
                    nz = (z if relative else real[OZ]) + value * scale
                    bit = 16
                else:
                    good = False
                    break
                if seen & bit:
                    good = False
                    break
                seen |= bit
                if c == 32:
                    q += 1
                    c = byte_at(buf, q)
                    if 65 <= c <= 90:
                        continue
                    while c == 32:
                        q += 1
                        c = byte_at(buf, q)
                    if 65 <= c <= 90:
                        continue
                if c == 10 or c == 13 or c == 59:
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
                if seen & 4:
                    whole[E_SEEN] = 1
                dx = nx - x
                dy = ny - y
                dz = nz - z
                length = math.sqrt(dx * dx + dy * dy + dz * dz)
                kind = _kind(length, fed, whole[SWITCHED_ON] == 1 and whole[E_SEEN] == 0)
                x, y, z, e, speed = nx, ny, nz, ne, new_speed
                if kind >= 0:
                    xs[k] = x
                    ys[k] = y
                    zs[k] = z
                    lengths[k] = length
                    filaments[k] = fed
                    speeds[k] = speed
                    lines[k] = line
                    kinds[k] = kind
                    k += 1
                if byte_at(buf, p + 1) == 49:
                    whole[MOTION] = 1
                    g1 += 1
                else:
                    whole[MOTION] = 0
                    g0 += 1
                if c == 59:
                    begun = q + 1
                    while q < stop and byte_at(buf, q) != 10 and byte_at(buf, q) != 13:
                        q += 1
                    _span(spans, begun, min(q, p + MAX_LINE), TRAILING)
                    whole[LINE] = line
                    whole[N_MOVES] = k
                    c = byte_at(buf, q)
                slow = False
        if slow:  # every other line
            q = p
            while q < stop and buf[q] != 10 and buf[q] != 13:
                q += 1
            line += 1
            real[PX], real[PY], real[PZ], real[E] = x, y, z, e
            real[SPEED] = speed
            whole[N_MOVES] = k
            whole[LINE] = line
            end = q
            if q - p > MAX_LINE:
                _tally(whole, LONG_LINES)
                for i in range(p + MAX_LINE, q):
                    if buf[i] == 0:
                        _tally(whole, ZERO_BYTES)
                end = p + MAX_LINE
            if end > p:
                n, nothing = _split(buf, p, end, whole, letters, values, spans)
                if nothing == 0:
                    _execute(
                        letters,
                        values,
                        n,
                        whole,
                        real,
                        xs,
                        ys,
                        zs,
                        lengths,
                        filaments,
                        speeds,
                        lines,
                        kinds,
                        ev_letter,
                        ev_code,
                        ev_line,
                        ev_move,
                        ev_first,
                        w_letter,
                        w_value,
                        counts,
                        first_lines,
                    )
            x, y, z, e = real[PX], real[PY], real[PZ], real[E]
            speed = real[SPEED]
            k = whole[N_MOVES]
            full = whole[N_EVENTS] >= room_events or whole[N_WORDS] >= room_words
        for span in range(spans[0]):
            _note(
                buf,
                spans[1 + 3 * span],
                spans[2 + 3 * span],
                base,
                spans[3 + 3 * span],
                whole,
                note_offset,
                note_length,
                note_line,
                note_move,
                note_flags,
                note_shape,
                note_exact,
                note_first,
                note_second,
            )
        if spans[0] > 0:
            spans[0] = 0
            full = full or whole[N_NOTES] >= room_notes
        p = q + 1
        if buf[q] == 13 and p < stop and buf[p] == 10:
            p += 1
    real[PX], real[PY], real[PZ], real[E] = x, y, z, e
    real[SPEED] = speed
    whole[N_MOVES] = k
    whole[LINE] = line
    counts[0, 0] += g0
    counts[0, 10] += g1
    return p
