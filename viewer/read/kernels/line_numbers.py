"""Line numbers and checksums: ``N12 G1 X5*33``."""

from __future__ import annotations

import numpy as np

from viewer.jit import lean_inner_kernel
from viewer.read.kernels.codes import BLANK, SMALL_BIT, SMALL_M, STAR, ZERO
from viewer.read.kernels.numbers import (
    LOOSE,
    NO_NUMBER,
    code_end,
    is_digit,
    read_number,
    skip_blanks,
)
from viewer.read.kernels.state import CHECK_WRONG, CHECKED, LAST_N, N_LEFT_OUT, N_WRONG, tally

_MAX_NUMBER = 1e9
_MAX_CHECKSUM = 100_000  # beyond any exclusive or of bytes: larger numbers are as wrong
_NONE = np.int64(-1)


@lean_inner_kernel
def read_line_number(buf, first, end, whole):
    """Read the number at `first`, an N, and the checksum; returns (begin, end) of what stands between.

    Where no number follows, the N is the first word of the line.
    """
    number = read_number(buf, first + 1, end, LOOSE)
    if number.status == NO_NUMBER:
        return first, end
    comment = code_end(buf, number.stop, end)
    star = _find_checksum(buf, number.stop, comment)
    checked = star != _NONE
    right = True
    if checked:
        whole[CHECKED] += 1
        right = _checksum_holds(buf, first, star, comment)
        if not right:
            tally(whole, CHECK_WRONG)
        if comment == end:
            end = star
    begin = skip_blanks(buf, number.stop, end)
    _follow_numbers(np.int64(min(number.value, _MAX_NUMBER)), checked, right, _is_m110(buf, begin), whole)
    return begin, end


@lean_inner_kernel
def _find_checksum(buf, begin, end):
    """Return the place of the star before the digits that end the line (a comment may follow), -1: there is none."""
    star = end - 1
    while star > begin and (is_digit(buf[star]) or buf[star] <= BLANK):
        star -= 1
    if star <= begin or buf[star] != STAR:
        return _NONE
    k = skip_blanks(buf, star + 1, end)
    return star if k < end and is_digit(buf[k]) else _NONE


@lean_inner_kernel
def _checksum_holds(buf, first, star, end):
    """Whether the stated number is the exclusive or of the bytes before the star (common practice, no source)."""
    xor = np.int64(0)
    for i in range(first, star):
        xor ^= np.int64(buf[i])
    stated = np.int64(0)
    k = skip_blanks(buf, star + 1, end)
    while k < end and is_digit(buf[k]):
        stated = min(stated * 10 + (np.int64(buf[k]) - ZERO), _MAX_CHECKSUM)
        k += 1
    return stated == xor


@lean_inner_kernel
def _is_m110(buf, p):
    """Whether M110 stands at p (a block is longer than its last line: see `scan`)."""
    return (
        (buf[p] | SMALL_BIT) == SMALL_M
        and buf[p + 1] == ZERO + 1
        and buf[p + 2] == ZERO + 1
        and buf[p + 3] == ZERO
    )


@lean_inner_kernel
def _follow_numbers(number, checked, right, restarts, whole):
    """Compare a line's number with the last one and remember it."""
    last = whole[LAST_N]
    if not right and last >= 0:
        number = last + 1  # the damage may be in the number
    if restarts:
        number = _NONE  # M110: counting goes on from another number
    elif last >= 0 and number <= last:
        tally(whole, N_WRONG)
    elif last >= 0 and checked and number > last + 1:  # without checksums steps of 10 are as good
        tally(whole, N_LEFT_OUT)
        whole[N_LEFT_OUT] += number - last - 2
    whole[LAST_N] = number
