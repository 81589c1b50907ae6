"""Questions with choices drawn from the program; the right one stands where a hash of the program puts it."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Final

from viewer.lesson.facts import Facts
from viewer.lesson.step import Question

LADDER: Final = 2.0
"""Each choice of an amount is this many times the one before it: far enough apart to guess."""
CLOSER: Final = 1.5
"""The same for lengths that are seen in the picture: twice as far would lie beyond its edge."""
CHOICES: Final = 4
ALIKE: Final = 0.95
"""Which of two amounts is the largest is no question where the smaller one is more than this share of it."""


def amount_question(
    facts: Facts,
    slug: str,
    text: str,
    right: float,
    said: Callable[[float, float], str],
    reason: str,
    most: float | None = None,
    ladder: float = LADDER,
) -> Question | None:
    """Return a question for an amount, its choices rising by a fixed factor; None where they cannot be told apart.

    Parameters
    ----------
    slug
        The step that asks.
    right
        The amount, which one of the choices is.
    said
        How an amount is said, with the unit and the decimals of another: all choices have those of the right one.
    reason
        One sentence that names the right amount.
    most
        No choice is larger: a share has 1.
    ladder
        Each choice is this many times the one before it.
    """
    if right <= 0.0 or (most is not None and right > most):
        return None
    place = facts.turn(slug, CHOICES)
    if most is not None:
        while right * ladder ** (CHOICES - 1 - place) > most:
            place += 1
    choices = [said(right * ladder ** (k - place), right) for k in range(CHOICES)]
    if len(set(choices)) < CHOICES:
        return None
    return Question(text, tuple(choices), place, reason)


def choice_question(
    facts: Facts, slug: str, text: str, choices: Sequence[str], right: int, reason: str
) -> Question | None:
    """Return a question whose choices are turned round by a hash of the program; None with fewer than two.

    Parameters
    ----------
    slug
        The step that asks.
    choices
        All different.
    right
        Which of them is right.
    reason
        One sentence that names it.
    """
    if len(choices) < 2 or len(set(choices)) < len(choices):
        return None
    by = facts.turn(slug, len(choices))
    turned = tuple(choices[(k - by) % len(choices)] for k in range(len(choices)))
    return Question(text, turned, (right + by) % len(choices), reason)


def layer_question(text: str, numbers: Sequence[int], right: int, reason: str) -> Question | None:
    """Return a question whose choices are layers (from 1) in rising order; None with fewer than two."""
    rising = sorted(set(numbers))
    if len(rising) < 2:
        return None
    return Question(text, tuple(f"layer {number}" for number in rising), rising.index(right), reason)
