"""A line's bytes -> its words, and the places of its comments."""

from __future__ import annotations

import math

import numpy as np

from viewer.jit import lean_inner_kernel
from viewer.read.kernels.codes import (
    BLANK,
    BRACE,
    BRACKET,
    CAPITAL_A,
    CAPITAL_MASK,
    CLOSING,
    COLON,
    COMMA,
    EQUALS,
    GREATER,
    LAST_ASCII,
    OPENING,
    PERCENT,
    QUOTE,
    SEMICOLON,
    SLASH,
    SMALL_A,
    SMALL_BIT,
    SMALL_E,
    SMALL_N,
    STAR,
    UNDERSCORE,
    E,
    G,
    M,
    T,
    X,
    Z,
)
from viewer.read.kernels.comments import DOUBTFUL_TEXT, MESSAGE, OWN_LINE, TRAILING, WORD_COMMAND, add_span
from viewer.read.kernels.line_numbers import read_line_number
from viewer.read.kernels.numbers import (
    NO_NUMBER,
    RUNS_ON,
    code_end,
    is_blank,
    is_compact,
    is_digit,
    is_exponent,
    is_letter,
    read_number,
    skip_blanks,
    skip_token,
)
from viewer.read.kernels.state import (
    DOUBTFUL,
    EXPONENTS,
    GARBLED,
    MAX_WORDS,
    NOT_TEXT,
    REPEATED,
    WORD_COMMANDS,
    ZERO_BYTES,
    tally,
)

_NOT_IN_MOTIONS = np.int64(sum(1 << (ord(letter) - ord("A")) for letter in "NO"))
_NOT_IN_STRAIGHT = np.int64(sum(1 << (ord(letter) - ord("A")) for letter in "IJK"))
_UNKNOWN, _NO, _YES = np.int64(-1), np.int64(0), np.int64(1)


@lean_inner_kernel
def split(buf, p, end, whole, words, spans):
    """Split the line buf[p:end] into words; returns how many, 0 where there is nothing to execute."""
    p = skip_blanks(buf, p, end)
    if p == end:
        return 0
    if (buf[p] | SMALL_BIT) == SMALL_N:
        p, end = read_line_number(buf, p, end, whole)
        if p == end:
            return 0
    c = buf[p]
    if c == SEMICOLON:
        add_span(spans, p + 1, end, OWN_LINE)
        return 0
    if c == PERCENT:  # begin and end of a tape
        return 0
    if _begins_with_name(buf, p, end):
        _take_name_line(buf, p, end, whole, spans)
        return 0
    return _split_words(buf, p, end, whole, words, spans)


@lean_inner_kernel
def _is_name_character(c):
    return is_letter(c) or c == UNDERSCORE


@lean_inner_kernel
def _is_prose(buf, p, end):
    """Whether the token at p is a word of text (three letters and more, or with `_`), not axis letters."""
    q = p
    odd = 0
    while q < end and _is_name_character(buf[q]):
        c = buf[q] & CAPITAL_MASK
        if not (X <= c <= Z or c == E):
            odd += 1
        q += 1
    return q - p >= 2 and odd > 0


@lean_inner_kernel
def _begins_with_name(buf, p, end):
    """Whether the line begins with a name of several letters, or is a line of text ("a line of text")."""
    if buf[p] == UNDERSCORE:
        return True
    if not is_letter(buf[p]):
        return False
    if p + 1 < end and _is_name_character(buf[p + 1]):
        return True
    q = skip_blanks(buf, p + 1, end)
    return q > p + 1 and _is_prose(buf, q, end)


@lean_inner_kernel
def _take_name_line(buf, p, end, whole, spans):
    """Tell a command in words (``NAME KEY=VALUE``, ``NAME_OF_IT``, ``NAME``) from text that lost its comment mark."""
    has_underscore = False
    has_small = False
    name_end = p
    while name_end < end and (_is_name_character(buf[name_end]) or is_digit(buf[name_end])):
        if buf[name_end] == UNDERSCORE:
            has_underscore = True
        if buf[name_end] >= SMALL_A:
            has_small = True
        name_end += 1
    has_equals = False
    has_more = False
    stop = name_end
    while stop < end and buf[stop] != SEMICOLON:
        if buf[stop] == EQUALS:
            has_equals = True
        if buf[stop] > BLANK:
            has_more = True
        stop += 1
    if has_equals or has_underscore or not (has_small or has_more):
        flags = WORD_COMMAND
        tally(whole, WORD_COMMANDS)
    else:
        flags = DOUBTFUL_TEXT
        tally(whole, DOUBTFUL)
    add_span(spans, p, stop, flags)


@lean_inner_kernel
def _split_words(buf, p, end, whole, words, spans):
    """Split a line of commands; what cannot be read is passed over and counted."""
    begin = p
    n = 0
    compact = _UNKNOWN  # looked at only where an E stands right behind a number
    commands = 0
    motions = 0  # words G0 to G3 before any M word
    straight = False  # the last of them is G0 or G1
    behind_m = False  # an M word came: what follows are its arguments
    odd = False  # the line holds something that belongs to no command
    while p < end:
        c = buf[p]
        if is_blank(c):
            p += 1
        elif is_letter(c):
            letter = c & CAPITAL_MASK
            is_command = letter == G or letter == M
            if commands > 0 and _is_prose(buf, p, end):
                odd = odd or (motions > 0 and not behind_m)
                break  # an argument in words: M1002 judge_flag ..., M624 AQAA=
            number = read_number(buf, p + 1, end, is_command or letter == T)
            if number.status == NO_NUMBER:
                if is_command:
                    odd = True
                elif n < MAX_WORDS:
                    words.letter[n] = letter
                    words.value[n] = math.nan
                    n += 1
                p += 1
                continue
            value, p = number.value, number.stop
            if (buf[p] | SMALL_BIT) == SMALL_E and compact == _UNKNOWN:
                compact = _YES if is_compact(buf, begin, end) else _NO
            if is_exponent(buf, p, end, letter, compact == _YES):
                tally(whole, EXPONENTS)
                p = skip_token(buf, p, end)
                continue
            if number.status == RUNS_ON:
                tally(whole, GARBLED)
                p = skip_token(buf, p, end)
            if n < MAX_WORDS:
                words.letter[n] = letter
                words.value[n] = value
                n += 1
            else:
                odd = True
            if letter == M:
                commands += 1
                behind_m = True
                if _takes_text(value):
                    add_span(spans, p, code_end(buf, p, end), MESSAGE)
                    break
            elif letter == G:
                commands += 1
                if not behind_m and _is_motion(value):
                    motions += 1
                    straight = value < 2.0
            elif letter == T and n == 1:
                commands += 1
        elif c == SEMICOLON:
            add_span(spans, p + 1, end, TRAILING if n > 0 else OWN_LINE)
            break
        elif c == OPENING:
            p = _take_bracketed(buf, p, end, n, spans)
        elif c == STAR and n > 0:  # a star that is no checksum
            p = skip_token(buf, p, end)
        elif c > BLANK and n == 0:  # no word begins with it
            _take_foreign_line(buf, p, end, whole, spans)
            return 0
        elif c == 0:
            p = _skip_zeros(buf, p, end, whole)
        else:
            if c < BLANK:
                tally(whole, NOT_TEXT)
            elif commands == 0 or not _may_be_argument(c, motions > 0 and not behind_m):
                odd = True
            p = skip_token(buf, p + 1, end)
    if motions > 0:
        odd = _is_odd_motion(words, n, motions, straight, whole) or odd
    if odd:
        tally(whole, GARBLED)
    return n


@lean_inner_kernel
def _is_motion(value):
    return value == 0.0 or value == 1.0 or value == 2.0 or value == 3.0


@lean_inner_kernel
def _takes_text(value):
    """Whether the rest of the line of this M word is a text: a message (117, 118) or a file's name."""
    return (
        value == 117.0
        or value == 118.0
        or value == 23.0
        or value == 28.0
        or value == 30.0
        or value == 32.0
        or value == 36.0
    )


@lean_inner_kernel
def _take_bracketed(buf, p, end, n, spans):
    """Take the comment in brackets at p; returns the place behind it."""
    q = p
    while q < end and buf[q] != CLOSING:
        q += 1
    after = q + 1
    while after < end and buf[after] <= BLANK:
        after += 1
    add_span(spans, p + 1, q, OWN_LINE if n == 0 and after >= end else TRAILING)
    return q + 1


@lean_inner_kernel
def _take_foreign_line(buf, p, end, whole, spans):
    """Take a line that begins with a sign or a digit as text."""
    if buf[p] > LAST_ASCII:
        tally(whole, GARBLED)
    tally(whole, DOUBTFUL)
    add_span(spans, p, code_end(buf, p, end), DOUBTFUL_TEXT)


@lean_inner_kernel
def _skip_zeros(buf, p, end, whole):
    q = p
    while q < end and buf[q] == 0:
        q += 1
    tally(whole, ZERO_BYTES)
    whole[ZERO_BYTES] += q - p - 1
    return q


@lean_inner_kernel
def _may_be_argument(c, of_motion):
    """Whether a sign behind a command may begin an argument: E1:2, X[2*3], X{lift}.

    Commands that are no motions take further ones: "text", A=B, 1,2 and a/b.
    """
    if c == COLON or c == BRACKET or c == BRACE:
        return True
    return not of_motion and (c == EQUALS or c == GREATER or c == QUOTE or c == COMMA or c == SLASH)


@lean_inner_kernel
def _is_odd_motion(words, n, motions, straight, whole):
    """Whether a line with G0 to G3 has a letter that belongs to no motion; a line that says a thing twice is counted.

    A line has one motion, and one word of each letter but G and M (NISTIR 6556, 3.3.4, from memory): an axis that
    stands twice tells of a lost line end, or of an exponent without a sign.
    """
    seen = np.int64(0)
    twice = motions > 1
    for i in range(n):
        letter = np.int64(words.letter[i])
        if letter == M:
            break  # what stands behind are its arguments
        if letter != G:
            bit = np.int64(1) << (letter - CAPITAL_A)
            twice = twice or seen & bit != 0
            seen |= bit
    if twice:
        tally(whole, REPEATED)
    return seen & _NOT_IN_MOTIONS != 0 or (straight and seen & _NOT_IN_STRAIGHT != 0)
