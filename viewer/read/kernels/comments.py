"""Comments: where they stand in a line, and their rows."""

from __future__ import annotations

import math

import numpy as np

from viewer.jit import lean_inner_kernel
from viewer.read.kernels.codes import (
    BLANK,
    CAPITAL_A,
    CAPITAL_Z,
    MINUS,
    POINT,
    SMALL_BIT,
    TAB,
    ZERO,
)
from viewer.read.kernels.numbers import MAX_POWER, POWERS, is_digit, is_letter
from viewer.read.kernels.state import (
    LAST_TRAILING,
    LINE,
    MAX_SPANS,
    N_MOVES,
    N_NOTES,
    NOT_TEXT,
    ZERO_BYTES,
    tally,
)

# flags of a note, as in viewer.read.notes
TRAILING = np.int64(0)  # behind a command
OWN_LINE = np.int64(1)
WORD_COMMAND = np.int64(2)
DOUBTFUL_TEXT = np.int64(4)
MESSAGE = np.int64(8)

# `spans` (int64): how many comments the line has, then three places a comment
SPANS = np.int64(0)
SPAN_BEGIN, SPAN_END, SPAN_FLAGS = np.int64(1), np.int64(2), np.int64(3)
SPAN_SIZE = np.int64(3)

# a hash that takes one byte after another: xor, then multiply by a prime (FNV-1a, 64 bits, constants from memory)
HASH_START = np.uint64(1469598103934665603)
HASH_PRIME = np.uint64(1099511628211)
ANY_DIGITS = np.uint64(ord("#"))  # what stands for a run of digits in the hash of a shape


@lean_inner_kernel
def add_span(spans, begin, end, flags):
    """Remember that a comment of this line stands at begin .. end."""
    k = spans[SPANS]
    if k < MAX_SPANS:
        at = SPAN_SIZE * k
        spans[at + SPAN_BEGIN] = begin
        spans[at + SPAN_END] = end
        spans[at + SPAN_FLAGS] = flags
        spans[SPANS] = k + 1


@lean_inner_kernel
def append_notes(buf, base, spans, whole, notes):
    """Append the comments of a line, and forget them."""
    for k in range(spans[SPANS]):
        at = SPAN_SIZE * k
        _append_note(
            buf, spans[at + SPAN_BEGIN], spans[at + SPAN_END], base, spans[at + SPAN_FLAGS], whole, notes
        )
    spans[SPANS] = 0


@lean_inner_kernel
def _number_in_text(buf, p, begin, end):
    """Read the number whose first digit stands at p: (value, place behind it).

    A minus counts where no letter stands before it: `layer-3` names layer 3.
    """
    q = p
    value = 0.0
    while q < end and is_digit(buf[q]):
        value = value * 10.0 + (buf[q] - ZERO)
        q += 1
    if q + 1 < end and buf[q] == POINT and is_digit(buf[q + 1]):
        q += 1
        weight = 0.1
        while q < end and is_digit(buf[q]):
            value += weight * (buf[q] - ZERO)
            weight *= 0.1
            q += 1
    elif p > begin and buf[p - 1] == POINT and (p - 1 == begin or not is_digit(buf[p - 2])):
        value /= POWERS[min(q - p, MAX_POWER)]  # ".35"
    before = p - 1
    if before >= begin and buf[before] == POINT:
        before -= 1
    if before >= begin and buf[before] == MINUS and (before == begin or not is_letter(buf[before - 1])):
        value = -value
    return value, q


@lean_inner_kernel
def _append_note(buf, begin, end, base, flags, whole, notes):
    """Append a comment: where its text is, two hashes of it, and its first two numbers.

    `shape` is the hash of the text with case and every run of digits folded: comments of one shape
    have one meaning, which is looked up once; `exact` tells texts of one shape apart.
    """
    while begin < end and (buf[begin] == BLANK or buf[begin] == TAB):
        begin += 1
    while end > begin and buf[end - 1] <= BLANK:
        end -= 1
    if begin == end:
        return
    shape = HASH_START
    exact = HASH_PRIME
    first = math.nan
    second = math.nan
    p = begin
    while p < end:
        c = buf[p]
        if c < BLANK and c != TAB:
            tally(whole, ZERO_BYTES if c == 0 else NOT_TEXT)
        exact = (exact ^ np.uint64(c)) * HASH_PRIME
        if is_digit(c):
            value, q = _number_in_text(buf, p, begin, end)
            if math.isnan(first):
                first = value
            elif math.isnan(second):
                second = value
            for k in range(p + 1, q):
                exact = (exact ^ np.uint64(buf[k])) * HASH_PRIME
            shape = (shape ^ ANY_DIGITS) * HASH_PRIME
            p = q
            continue
        if CAPITAL_A <= c <= CAPITAL_Z:
            c |= SMALL_BIT
        shape = (shape ^ np.uint64(c)) * HASH_PRIME
        p += 1
    trailing = flags == TRAILING
    if trailing and whole[LAST_TRAILING] == np.int64(exact):
        return  # "; infill" behind every line: once is enough
    whole[LAST_TRAILING] = np.int64(exact) if trailing else 0
    k = whole[N_NOTES]
    if flags & DOUBTFUL_TEXT != 0 and k > 0 and notes.flags[k - 1] & DOUBTFUL_TEXT != 0:
        return  # a megabyte of "1" on lines of their own: one row stands for all, the lines are counted
    notes.offset[k] = base + begin
    notes.length[k] = end - begin
    notes.line[k] = whole[LINE]
    notes.move[k] = whole[N_MOVES]
    notes.flags[k] = flags
    notes.shape[k] = shape
    notes.exact[k] = exact
    notes.first[k] = first
    notes.second[k] = second
    whole[N_NOTES] = k + 1
