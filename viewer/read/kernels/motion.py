"""Motion: straight moves, G10 and G11, and lines that move; rows of `MoveColumns`."""

from __future__ import annotations

import math

import numpy as np

from viewer.jit import lean_inner_kernel
from viewer.read.kernels.arcs import ArcWords, draw_arc
from viewer.read.kernels.codes import (
    G10,
    G11,
    G28,
    G161,
    G162,
    M132,
    E,
    F,
    G,
    I,
    J,
    K,
    M,
    P,
    R,
    X,
    Y,
    Z,
)
from viewer.read.kernels.rows import append_move, kind_of
from viewer.read.kernels.state import (
    AT_SWITCH,
    BACK_MM,
    BACK_SPEED,
    BAD_ARCS,
    DRAWN,
    DRAWN_BACK,
    E_POSITION,
    E_RELATIVE,
    E_SEEN,
    E_TO_MM,
    E_WITH_G90,
    FAR_MM,
    FORTH_MM,
    FORTH_SPEED,
    HOME_X,
    OX,
    OY,
    OZ,
    PLACE,
    PRIME,
    PX,
    PY,
    PZ,
    RELATIVE,
    RETRACT,
    S_PER_MIN,
    SCALE,
    SHIFTED,
    SPEED,
    SWITCHED_ON,
    TOO_FAR,
    tally,
)
from viewer.read.kernels.word_values import has_word, value_of

NO_HOMING, TO_HOME, TO_SWITCH = np.int64(0), np.int64(1), np.int64(2)  # see `homing_of`
_CLOCKWISE, _COUNTERCLOCKWISE = np.int64(2), np.int64(3)  # modal motions of arcs


@lean_inner_kernel
def e_is_relative(whole):
    """Whether E counts from line to line: by M83, or by G91 where the card does not say that G90/G91 set M82/M83."""
    return whole[E_RELATIVE] == 1 or (whole[RELATIVE] == 1 and whole[E_WITH_G90] == 0)


@lean_inner_kernel
def _target(written, present, offset, scale, relative, machine):
    """Return where an axis goes: machine coordinate, mm."""
    if math.isnan(written):
        return present
    if relative:
        return present + written * scale
    if machine:
        return written * scale
    return written * scale + offset


@lean_inner_kernel
def _feed(words, n, whole, real):
    """Return the filament that the line feeds, mm, and move the E axis."""
    e = value_of(words, n, E)
    if math.isnan(e):
        return 0.0
    whole[E_SEEN] = 1
    e *= real[SCALE]
    if e_is_relative(whole):
        real[E_POSITION] += e
        return e * real[E_TO_MM]
    fed = e - real[E_POSITION]
    real[E_POSITION] = e
    return fed * real[E_TO_MM]


@lean_inner_kernel
def _go_straight(whole, real, moves, x, y, z, fed):
    """Go straight to (x, y, z), feeding `fed` mm."""
    dx = x - real[PX]
    dy = y - real[PY]
    dz = z - real[PZ]
    length = math.sqrt(dx * dx + dy * dy + dz * dz)
    kind = kind_of(length, fed, whole[SWITCHED_ON] == 1 and whole[E_SEEN] == 0)
    real[PX] = x
    real[PY] = y
    real[PZ] = z
    if kind >= 0:
        append_move(whole, real, moves, length, fed, real[SPEED], kind)


@lean_inner_kernel
def _or_else(value, otherwise):
    return otherwise if math.isnan(value) else value


@lean_inner_kernel
def _arc_words(words, n, scale, x, y, z):
    """Collect what describes an arc that ends at (x, y, z)."""
    i = value_of(words, n, I)
    j = value_of(words, n, J)
    k = value_of(words, n, K)
    r = value_of(words, n, R)
    has_centre = not (math.isnan(i) and math.isnan(j) and math.isnan(k))
    return ArcWords(
        x, y, z, _or_else(i, 0.0) * scale, _or_else(j, 0.0) * scale, _or_else(k, 0.0) * scale, _or_else(r, 0.0) * scale,
        has_centre, not math.isnan(r), _or_else(value_of(words, n, P), 1.0),
    )  # fmt: skip


@lean_inner_kernel
def move_line(motion, machine, words, n, whole, real, moves):
    """Execute a line that moves: G0 G1 (0, 1), G2 G3 (2, 3), anything else straight to its end.

    machine: G53, the line's axis words are the machine's.
    """
    f = value_of(words, n, F)
    if not math.isnan(f) and f > 0.0:
        real[SPEED] = f * real[SCALE] / S_PER_MIN
    relative = whole[RELATIVE] == 1 and not machine
    x = _target(value_of(words, n, X), real[PX], real[OX], real[SCALE], relative, machine)
    y = _target(value_of(words, n, Y), real[PY], real[OY], real[SCALE], relative, machine)
    z = _target(value_of(words, n, Z), real[PZ], real[OZ], real[SCALE], relative, machine)
    if abs(x) > FAR_MM or abs(y) > FAR_MM or abs(z) > FAR_MM:
        tally(whole, TOO_FAR)
        return
    before = real[E_POSITION]
    fed = _feed(words, n, whole, real)
    if abs(fed) > FAR_MM:
        tally(whole, TOO_FAR)
        real[E_POSITION] = before  # or the next line would draw it all back
        return
    if motion == _CLOCKWISE or motion == _COUNTERCLOCKWISE:
        arc = _arc_words(words, n, real[SCALE], x, y, z)
        if not (arc.has_centre or arc.has_radius):
            tally(whole, BAD_ARCS)
        elif draw_arc(whole, real, moves, arc, motion == _CLOCKWISE, fed):
            return
    _go_straight(whole, real, moves, x, y, z, fed)


@lean_inner_kernel
def homing_of(letter, code, words, n):
    """Return whether a command homes: NO_HOMING, TO_HOME (G28) or TO_SWITCH, to a place that is not known.

    G161 drives the named axes to their lowest end stops, G162 to their highest; M132 X Y Z takes the place where these
    stand from what the machine has stored (common practice, no source).
    """
    if letter == G and code == G28:
        return TO_HOME
    if letter == G and (code == G161 or code == G162):
        return TO_SWITCH
    if letter == M and code == M132:
        for axis in range(3):
            if has_word(words, n, X + axis):
                return TO_SWITCH
    return NO_HOMING


@lean_inner_kernel
def home(homing, words, n, whole, real, moves):
    """Home the named axes, or all: they stand at their home, and their offsets are gone.

    After TO_SWITCH they stand at the card's home, too, until a G92 says where that is (see `modes.set_position`).
    """
    none_named = True
    for i in range(n):
        if X <= words.letter[i] <= Z:
            none_named = False
    for axis in range(3):
        if none_named or has_word(words, n, X + axis):
            real[PX + axis] = real[HOME_X + axis]
            real[OX + axis] = 0.0
            whole[SHIFTED] &= ~(np.int64(1) << axis)
            whole[AT_SWITCH] &= ~(np.int64(1) << axis)
            if homing == TO_SWITCH:
                whole[AT_SWITCH] |= np.int64(1) << axis
    append_move(whole, real, moves, 0.0, 0.0, 0.0, PLACE)


@lean_inner_kernel
def draw_back(code, whole, real, moves):
    """G10 and G11: filament back and forth by the machine's own length; a second G10 does nothing."""
    if code == G10 and whole[DRAWN] == 0:
        whole[DRAWN] = 1
        real[DRAWN_BACK] = real[BACK_MM]
        fed = -real[BACK_MM]
        speed = real[BACK_SPEED]
        kind = RETRACT
    elif code == G11 and whole[DRAWN] == 1:
        whole[DRAWN] = 0
        fed = real[DRAWN_BACK] + real[FORTH_MM]
        speed = real[FORTH_SPEED]
        kind = PRIME
    else:
        return
    if abs(fed) > 1e-9:
        append_move(whole, real, moves, 0.0, fed, speed, kind)
