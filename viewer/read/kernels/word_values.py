"""The value of a letter among the words of a line."""

from __future__ import annotations

import math

from viewer.jit import lean_inner_kernel


@lean_inner_kernel
def value_of(words, n, letter):
    """Return the first value of a letter, NaN where it is missing or stands alone."""
    for i in range(n):
        if words.letter[i] == letter:
            return words.value[i]
    return math.nan


@lean_inner_kernel
def has_word(words, n, letter):
    """Whether a letter stands among the words, with a value or alone."""
    for i in range(n):
        if words.letter[i] == letter:
            return True
    return False
