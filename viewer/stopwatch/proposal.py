"""From the seconds of the blocks to values for the card, each with its interval; nothing is changed by it."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from statistics import NormalDist
from typing import Any, Final

import msgspec
import numpy as np
from msgspec.structs import replace

from viewer.arrays import F64
from viewer.cards.printer import Axes, Corner, PrinterCard
from viewer.errors import BeadlineError
from viewer.numerals import counted_text
from viewer.stopwatch.blocks import MotionTest
from viewer.stopwatch.replan import Replan, junction_speed
from viewer.stopwatch.solve import RANGE, Problem, Solution, interval, solve
from viewer.stopwatch.values import AXES, Name, machine_with, value_of, with_corner

HAND_S: Final = 0.2
"""Standard deviation of a time taken by hand on a stopwatch (common practice, no source)."""
CONFIDENCE: Final = 0.9
WIDER: Final = 1.06
"""Intervals are wider by this factor than the rise of the squares says: over 1,000 simulated machines they held the truth
in 88 to 90 % without it, because the other values follow along a line only."""
DOUBT: Final = 12.0
"""Sum of squares, in units of the hand's error, from which the times contradict each other: with one degree of freedom
it is larger by chance once in two thousand times."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Measured:
    """One value as the seconds have it."""

    name: Name
    unit: str
    card: float
    """What the card says now; of an acceleration what holds along that axis."""
    value: float
    low: float | None
    """None: no lower bound was seen."""
    high: float | None
    """None: the test does not tell how much more it may be."""

    @property
    def is_known(self) -> bool:
        """Whether the seconds say anything about it."""
        return self.low is not None

    @property
    def agrees(self) -> bool:
        """Whether the card's value lies in the interval."""
        return (self.low is None or self.card >= self.low) and (self.high is None or self.card <= self.high)


@dataclass(frozen=True, slots=True)
class Change:
    """One key of a card with another value."""

    key: str
    now: float
    proposed: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Proposal:
    """What a timed test says of a machine."""

    test: MotionTest
    timed_s: tuple[float, ...]
    planned_s: tuple[float, ...]
    """What the blocks take with the proposed values."""
    values: tuple[Measured, ...]
    warming_c_s: float | None
    """Mean rate of the heater that was timed, degC/s."""
    warming_low_c_s: float | None
    warming_high_c_s: float | None
    doubt: str
    """A sentence where the times contradict each other or the card's corner rule; else empty."""

    def of(self, name: Name) -> Measured | None:
        """Return one value, where it was measured."""
        return next((one for one in self.values if one.name == name), None)

    @property
    def card(self) -> PrinterCard:
        """The card with the proposed values in place of its own."""
        return proposed_card(self)

    @property
    def changes(self) -> tuple[Change, ...]:
        """What differs between the two."""
        return tuple(_changes(msgspec.to_builtins(self.test.card), msgspec.to_builtins(self.card)))


def evaluate(test: MotionTest, seconds: Sequence[float], error_s: float = HAND_S) -> Proposal:
    """Return what the seconds of a test say.

    Parameters
    ----------
    test
        From `make_test`, of the card under which the program was written.
    seconds
        One for each block, in order, that of heat at the end.
    error_s
        Standard deviation of one of them.

    Raises
    ------
    BeadlineError
        There are too few or too many, or one cannot be true.
    """
    _check(test, seconds, error_s)
    moving = len(test.blocks)
    timed = np.array(seconds[:moving], np.float64)
    replan, names = Replan.of(test.blocks), _names(test)
    _refuse_absurd(test, replan, timed, error_s)
    problem = _problem(test, replan, names, timed, error_s, test.card)
    found = solve(problem)
    quantile = WIDER * NormalDist().inv_cdf(0.5 + 0.5 * CONFIDENCE)
    values = tuple(_measured(test, problem, found, k, quantile) for k in range(len(names)))
    rate = low = high = None
    if test.heat is not None:
        half = quantile * error_s
        rate, low, high = (test.heat.rate(max(seconds[-1] + off, 1e-3)) for off in (0.0, half, -half))
    return Proposal(
        test=test, timed_s=tuple(seconds), planned_s=tuple(problem.seconds_of(found.x).tolist()), values=values,
        warming_c_s=rate, warming_low_c_s=low, warming_high_c_s=high,
        doubt="" if found.squares < DOUBT else _doubt(test, replan, names, problem, found),
    )  # fmt: skip


def _check(test: MotionTest, seconds: Sequence[float], error_s: float) -> None:
    count = len(test.words)
    if len(seconds) != count:
        raise BeadlineError(
            f"The test of {test.card.name} has {count} blocks, and {counted_text(len(seconds), 'time')} "
            f"{'was' if len(seconds) == 1 else 'were'} given; give one for each, in order."
        )
    for number, (one, words) in enumerate(zip(seconds, test.words, strict=True), 1):
        if not math.isfinite(one) or one <= 0.0:
            raise BeadlineError(f"{one:g} s for block {number} ({words}) is no time; time the block again.")
    if not 0.0 < error_s <= 5.0:
        raise BeadlineError(f"An error of {error_s:g} s is none of a hand on a stopwatch; give 0.05 to 5 s.")


def _names(test: MotionTest) -> list[Name]:
    """Return the values that the blocks rule, each once, in the order of the blocks."""
    return list(dict.fromkeys(block.value for block in test.blocks))


def _most(test: MotionTest, name: Name) -> float:
    """Return the largest logarithm that the test can see: speeds up to the commanded ones."""
    if not name.startswith("speed"):
        return math.log(RANGE)
    commanded = next(block.speed_mm_s for block in test.blocks if block.value == name)
    return math.log(commanded / value_of(test.card, name))


def _problem(
    test: MotionTest, replan: Replan, names: list[Name], timed: F64, error_s: float, card: PrinterCard
) -> Problem:
    start = np.array([value_of(card, name) for name in names])

    def seconds_of(x: F64) -> F64:
        values = dict(zip(names, (start * np.exp(x)).tolist(), strict=True))
        return replan.seconds(machine_with(card, values))

    return Problem(seconds_of, timed, error_s, np.array([_most(test, name) for name in names]))


def _refuse_absurd(test: MotionTest, replan: Replan, timed: F64, error_s: float) -> None:
    """Refuse seconds that no machine takes whose value is a fourth to four times what the card says.

    Raises
    ------
    BeadlineError
        With the block, and what it should take.
    """
    slow, quick = (
        replan.seconds(machine_with(test.card, {name: factor * value_of(test.card, name) for name in _names(test)}))
        for factor in (1.0 / RANGE, RANGE)
    )  # fmt: skip
    for number, (block, one, least, most) in enumerate(
        zip(test.blocks, timed.tolist(), quick.tolist(), slow.tolist(), strict=True), 1
    ):
        if not least - 5.0 * error_s <= one <= most + 5.0 * error_s:
            raise BeadlineError(
                f"Block {number} ({block.words}) should take about {block.expected_s:.0f} s, and {one:g} s is out of "
                "what any such machine takes; see whether the times stand in the order of the blocks, and time it again."
            )


def _measured(test: MotionTest, problem: Problem, found: Solution, k: int, quantile: float) -> Measured:
    name = _names(test)[k]
    stated = value_of(test.card, name)
    low, high = (
        None if one is None else stated * math.exp(one) for one in interval(problem, found, k, quantile)
    )
    return Measured(
        name=name, unit=_unit(test.card.corner, name), card=stated,
        value=stated * math.exp(float(found.x[k])), low=low, high=high,
    )  # fmt: skip


def _unit(corner: Corner, name: Name) -> str:
    if name == "corner":
        return "mm" if corner.rule == "junction-deviation" else "mm/s"
    return "mm/s" if name.startswith("speed") else "mm/s2"


def _doubt(test: MotionTest, replan: Replan, names: list[Name], problem: Problem, found: Solution) -> str:
    """Return which block fits the others least; of the polygons, which corner rule would explain them."""
    planned = problem.seconds_of(found.x)
    worst = int(np.abs(problem.timed_s - planned).argmax())
    block = test.blocks[worst]
    said = (
        f"The times contradict each other: with the values that fit best block {worst + 1} ({block.words}) takes "
        f"{planned[worst]:.1f} s, and {problem.timed_s[worst]:.1f} s were timed"
    )
    rule = _better_rule(test, replan, names, problem) if block.value == "corner" else None
    if rule is not None:
        return f"{said}; the corner rule {rule} explains them, the card has {test.card.corner.rule}: see the manual."
    return f"{said}; time that block again."


def _better_rule(test: MotionTest, replan: Replan, names: list[Name], problem: Problem) -> str | None:
    """Return another corner rule under which the times do not contradict each other; None where there is none."""
    speed = junction_speed(machine_with(test.card, {}), 90.0)
    for corner in _other_rules(test.card.corner, speed, value_of(test.card, "acceleration x")):
        other = replace(test.card, corner=corner)
        if solve(_problem(test, replan, names, problem.timed_s, problem.error_s, other)).squares < DOUBT:
            return corner.rule
    return None


def _other_rules(corner: Corner, speed: float, acceleration: float) -> list[Corner]:
    """Return the other rules with values that allow the same speed at a right angle (delta = v^2 (sqrt 2 - 1) / a)."""
    speed = max(speed, 1.0)
    jerk = Axes(x=speed, y=speed, z=0.4, e=5.0) if corner.jerk_mm_s is None else corner.jerk_mm_s
    rules = (
        Corner(rule="jerk", jerk_mm_s=replace(jerk, x=speed, y=speed)),
        Corner(
            rule="junction-deviation", junction_deviation_mm=speed**2 * (math.sqrt(2.0) - 1.0) / acceleration
        ),
        Corner(rule="right-angle", right_angle_mm_s=speed),
    )
    return [one for one in rules if one.rule != corner.rule]


def proposed_card(found: Proposal) -> PrinterCard:
    """Return the card with what was measured in place of what it says; what agrees with the card stays as it is.

    Accelerations are those of travel along an axis: the largest becomes the travel's own, and an axis that is surely
    slower gets it as its limit.
    """
    card = found.test.card
    known = {one.name: one for one in found.values if one.is_known and not one.agrees}
    card = _with_accelerations(card, found)
    speeds = {
        one.name.split()[1]: _rounded(one.value) for one in known.values() if one.name.startswith("speed")
    }
    card = replace(card, max_speed_mm_s=replace(card.max_speed_mm_s, **speeds))
    if "corner" in known:
        card = replace(card, corner=with_corner(card.corner, _rounded(known["corner"].value)))
    if found.test.heat is not None and found.warming_c_s is not None and not _warming_agrees(found):
        key = f"{found.test.heat.heater}_warming_c_s"
        card = replace(card, heat=replace(card.heat, **{key: _rounded(found.warming_c_s)}))
    return card


def _warming_agrees(found: Proposal) -> bool:
    """Whether the card's warming rate lies in the interval of the timed one."""
    heat, low, high = found.test.heat, found.warming_low_c_s, found.warming_high_c_s
    if heat is None or low is None or high is None:
        return True
    stated: float = getattr(found.test.card.heat, f"{heat.heater}_warming_c_s")
    return low <= stated <= high


def _with_accelerations(card: PrinterCard, found: Proposal) -> PrinterCard:
    measured = [one for one in found.values if one.name.startswith("acceleration") and one.is_known]
    if not measured or all(one.agrees for one in measured):
        return card
    travel = max(one.card if one.agrees else _rounded(one.value) for one in measured)
    axes = {}
    for one in measured:
        slower = one.high is not None and one.high < travel
        own: float = getattr(card.max_acceleration_mm_s2, one.name.split()[1])
        if one.agrees:  # what holds along this axis stays, also where travel is allowed more now
            axes[one.name.split()[1]] = one.card if slower else own
        else:
            axes[one.name.split()[1]] = _rounded(one.value) if slower else max(own, travel)
    unseen = [axis for axis in AXES if axis not in axes]
    limits = replace(card.max_acceleration_mm_s2, **axes)
    for axis in unseen:  # what was not measured stays as it was, also where travel is allowed more now
        kept = min(card.travel_acceleration_mm_s2, getattr(limits, axis))
        limits = replace(limits, **{axis: kept})
    return replace(card, travel_acceleration_mm_s2=travel, max_acceleration_mm_s2=limits)


def _changes(now: dict[str, Any], proposed: dict[str, Any], path: str = "") -> Iterator[Change]:
    for key, value in now.items():
        if isinstance(value, dict):
            yield from _changes(value, proposed[key], f"{path}{key}.")
        elif value != proposed[key]:
            yield Change(f"{path}{key}", value, proposed[key])


def _rounded(value: float) -> float:
    """Return a value to three digits: no hand times better."""
    return float(f"{value:.3g}")
