"""Characters and numbers in a line's bytes."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from viewer.jit import lean_inner_kernel
from viewer.read.kernels.codes import (
    BLANK,
    CAPITAL_A,
    CAPITAL_Z,
    MINUS,
    NINE,
    OPENING,
    PLUS,
    POINT,
    SEMICOLON,
    SMALL_A,
    SMALL_BIT,
    SMALL_E,
    SMALL_Z,
    TAB,
    ZERO,
)

POWERS = np.array([10.0**i for i in range(23)])  # 10**22 is the last that a float64 holds exactly
MAX_POWER = 22
MANTISSA_LIMIT = 100_000_000_000_000_000  # a further digit might not fit into int64

# how reading a number ended
NUMBER = np.int64(0)
NO_NUMBER = np.int64(1)
RUNS_ON = np.int64(2)  # into something that is no part of a number

LOOSE = np.bool_(False)  # of a number: blanks may stand in it


class Number(NamedTuple):
    """A number that was read: ``stop`` is the place behind its last character."""

    value: float
    stop: int
    status: int


@lean_inner_kernel
def is_letter(c):
    """Whether a byte is a letter of ASCII."""
    return CAPITAL_A <= c <= CAPITAL_Z or SMALL_A <= c <= SMALL_Z


@lean_inner_kernel
def is_digit(c):
    """Whether a byte is a digit."""
    return ZERO <= c <= NINE


@lean_inner_kernel
def is_blank(c):
    """Whether a byte is a blank or a tab."""
    return c == BLANK or c == TAB


@lean_inner_kernel
def skip_blanks(buf, p, end):
    """Return the place of the next byte that is no blank, `end` where there is none."""
    while p < end and is_blank(buf[p]):
        p += 1
    return p


@lean_inner_kernel
def skip_token(buf, p, end):
    """Return the place of the next blank or comment."""
    while p < end and buf[p] > BLANK and buf[p] != SEMICOLON and buf[p] != OPENING:
        p += 1
    return p


@lean_inner_kernel
def code_end(buf, p, end):
    """Return the place of the comment behind a semicolon, `end` where there is none."""
    while p < end and buf[p] != SEMICOLON:
        p += 1
    return p


@lean_inner_kernel
def read_number(buf, p, end, solid):
    """Read the number at p.

    Blanks inside are allowed (RS-274), but a blank behind a digit ends a `solid` one, the number of a command:
    `M117 3 of 20` shows a text, it is no M1173. Where there is no number, the place is that of the first
    character that is no blank.
    """
    sign = 1.0
    p = skip_blanks(buf, p, end)
    at = p
    if p < end and (buf[p] == MINUS or buf[p] == PLUS):
        if buf[p] == MINUS:
            sign = -1.0
        p += 1
    mantissa = np.int64(0)
    digits = 0
    decimals = 0
    dropped = 0  # digits before the point that the mantissa has no room for
    point = False
    last = at
    while p < end:
        c = buf[p]
        if is_digit(c):
            digits += 1
            if mantissa < MANTISSA_LIMIT:
                mantissa = mantissa * 10 + (np.int64(c) - ZERO)
                if point:
                    decimals += 1
            elif not point:
                dropped += 1
            p += 1
            last = p
        elif c == POINT:
            if point:
                break
            point = True
            p += 1
            last = p
        elif is_blank(c) and not (solid and digits > 0):
            p += 1
        else:
            break
    if digits == 0:
        return Number(0.0, at, NO_NUMBER)
    value = sign * (np.float64(mantissa) / POWERS[decimals]) * POWERS[min(dropped, MAX_POWER)]
    runs_on = last < end and (buf[last] == POINT or buf[last] == MINUS or buf[last] == PLUS)
    return Number(value, last, RUNS_ON if runs_on else NUMBER)


@lean_inner_kernel
def is_compact(buf, p, end):
    """Whether any word of the line begins right behind the number before it; E does not tell."""
    k = p + 1
    while k < end and buf[k] != SEMICOLON and buf[k] != OPENING:
        begins = is_letter(buf[k]) and (buf[k] | SMALL_BIT) != SMALL_E
        if begins and (is_digit(buf[k - 1]) or buf[k - 1] == POINT):
            return True
        k += 1
    return False


@lean_inner_kernel
def is_exponent(buf, p, end, letter, compact):
    """Whether an E at p, right behind a number, is an exponent and not the filament axis.

    An exponent has a sign (whatever prints numbers writes one): `X10E3` has two words.
    """
    if p + 1 >= end or (buf[p] | SMALL_BIT) != SMALL_E:
        return False
    q = p + 1
    signed = buf[q] == PLUS or buf[q] == MINUS
    if signed:
        q += 1
    if q >= end or not is_digit(buf[q]):
        return False
    if (letter | SMALL_BIT) == SMALL_E:
        return True  # E1E-5: two E in one word
    if compact or not signed:
        return False  # G1 X1Y2E-5: words without blanks between
    while q < end and is_digit(buf[q]):
        q += 1
    return q >= end or buf[q] <= BLANK or buf[q] == SEMICOLON
