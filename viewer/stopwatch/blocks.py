"""The blocks of the test: what each moves, and how often, so that one value of the card rules its time."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from viewer.arrays import F64, freeze
from viewer.cards.printer import PrinterCard
from viewer.errors import BeadlineError
from viewer.stopwatch.block import Block
from viewer.stopwatch.heat import HeatBlock, Heater, heat_block
from viewer.stopwatch.paths import polygon, strokes
from viewer.stopwatch.replan import Replan, junction_speed
from viewer.stopwatch.room import Room, room_for
from viewer.stopwatch.values import AXES, value_of

BLOCK_S: Final = 40.0
"""What a block takes on a machine that is as its card says: a hand's error is half a percent of it."""
MOST_MOVES: Final = 4000
TRIED: Final = 8
"""Rounds that are planned to see how long one takes."""
REACHED: Final = 1.3
"""A stroke must be longer by this factor than speeding up and braking take, or its speed is not seen."""
LONGEST_SHARE: Final = 0.4
"""A stroke takes no longer than this share of a block: two and two halves make the least block."""
SHORT_SHARE: Final = 0.4
"""Short strokes reach this share of the top speed: a machine that accelerates twice as hard does not cruise either."""
ABOVE_SEGMENT: Final = 1.5
"""Moves take longer by this factor than the shortest that the controller plans for."""
CORNER_FACTOR: Final = 3.0
"""Polygons are gone round at this many times the speed of their corners, so that it is the corners that hold back."""
LEAST_MM: Final = 0.05
"""A shorter stroke is of the size of a stepper's step (common practice, no source)."""


@dataclass(frozen=True, slots=True)
class MotionTest:
    """A whole test, for one printer card."""

    card: PrinterCard
    room: Room
    blocks: tuple[Block, ...]
    not_measured: tuple[str, ...]
    """Sentences: values of motion that this test cannot see, and why."""
    heat: HeatBlock | None = None
    """Comes last."""

    @property
    def words(self) -> tuple[str, ...]:
        """What is seen in each block that is timed."""
        return tuple(block.words for block in self.blocks) + ((self.heat.words,) if self.heat else ())

    @property
    def expected_s(self) -> tuple[float, ...]:
        """What each block takes on a machine that is as its card says."""
        heat = (self.heat.expected_s,) if self.heat else ()
        return tuple(block.expected_s for block in self.blocks) + heat


def make_test(card: PrinterCard, heat: Heater | None = None) -> MotionTest:
    """Return the test for a printer; the same card always gets the same test.

    Parameters
    ----------
    card
        What is believed of the machine; the test stays within its reach and speeds.
    heat
        Time one heater, too.

    Raises
    ------
    BeadlineError
        The card does not say how large plate or height are, they are too small, or no block is possible.
    """
    room = room_for(card)
    blocks: list[Block] = []
    missing = ["Acceleration of beads and of filament alone: both need filament."]
    for found in _candidates(card, room):
        if isinstance(found, str):
            missing.append(found)
        else:
            blocks.append(found)
    if not blocks:
        raise BeadlineError(f"By its card no motion of {card.name} can be timed by hand: {missing[-1]}")
    expected = Replan.of(blocks).seconds(card).tolist()
    told = tuple(replace(one, expected_s=seconds) for one, seconds in zip(blocks, expected, strict=True))
    return MotionTest(card, room, told, tuple(missing), heat_block(card, heat) if heat else None)


def _candidates(card: PrinterCard, room: Room) -> Iterator[Block | str]:
    """Yield the blocks in the order in which they run, and a sentence for each that is not possible."""
    for axis in range(3):
        yield _short_strokes(card, room, axis)
    for axis in range(3):
        yield _long_strokes(card, room, axis)
    for corners in (4, 12):
        yield _corners(card, room, corners)


def _short_strokes(card: PrinterCard, room: Room, axis: int) -> Block | str:
    """Return strokes so short that the machine only speeds up and brakes."""
    name, top, acceleration = AXES[axis].upper(), _top(card, axis), _acceleration(card, axis)
    peak = min(max(SHORT_SHARE * top, ABOVE_SEGMENT * card.min_segment_time_s * acceleration), 0.7 * top)
    one_way = (room.half_x_mm, room.half_y_mm, room.up_mm)[axis]
    length = math.floor(100.0 * min(peak**2 / acceleration, one_way)) / 100.0
    if length < LEAST_MM:
        return f"Acceleration along {name}: it is reached within {LEAST_MM:g} mm, where no hand can time it."
    if length < 1.2 * peak * card.min_segment_time_s:
        return f"Acceleration along {name}: the shortest time that the controller plans for a move hides it."

    def path(count: int) -> F64:
        return strokes(axis, 0.0, length, 2 * count)

    return _filled(card, room, f"short strokes along {name}", f"acceleration {AXES[axis]}", top, path)


def _long_strokes(card: PrinterCard, room: Room, axis: int) -> Block | str:
    """Return strokes along which the machine cruises at its top speed."""
    name, top, span = AXES[axis].upper(), _top(card, axis), _span(room, axis)
    ramps = top**2 / _acceleration(card, axis)
    if span < REACHED * ramps:
        return (
            f"Top speed along {name}: at {top:g} mm/s it needs strokes of {REACHED * ramps:.0f} mm, there is room for "
            f"{span:.0f} mm."
        )
    span = math.floor(50.0 * min(span, LONGEST_SHARE * BLOCK_S * top)) / 50.0
    low = 0.0 if axis == 2 else -0.5 * span

    def path(count: int) -> F64:
        return strokes(axis, low, span + low, 2 * count)

    return _filled(card, room, f"long strokes along {name}", f"speed {AXES[axis]}", top, path)


def _corners(card: PrinterCard, room: Room, corners: int) -> Block | str:
    """Return a small polygon gone round many times: what its corners allow rules the time."""
    inside = 180 - 360 // corners
    corner = junction_speed(card, inside)
    top = min(_top(card, 0), _top(card, 1))
    speed = _floored(min(max(CORNER_FACTOR * corner, 15.0), top))
    if speed < 1.2 * corner:
        return f"Corners of {inside} degrees: by the card they hardly slow a move down, at {corner:.0f} mm/s."
    ramps = (speed**2 - corner**2) / min(_acceleration(card, 0), _acceleration(card, 1))
    side = round(max(REACHED * ramps, ABOVE_SEGMENT * speed * card.min_segment_time_s, 0.5), 2)
    if side * 0.5 / math.sin(math.pi / corners) * 2.0 > min(room.half_x_mm, room.half_y_mm):
        return f"Corners of {inside} degrees: they need sides of {side:.0f} mm, for which there is no room."

    def path(count: int) -> F64:
        return polygon(corners, side, count)

    shape = "square" if corners == 4 else "twelve-sided figure"
    return _filled(card, room, f"small {shape}, corners of {inside} degrees", "corner", speed, path)


def _filled(
    card: PrinterCard, room: Room, words: str, value: str, speed_mm_s: float, path: Callable[[int], F64]
) -> Block:
    """Return a block whose path is repeated until it takes about `BLOCK_S`."""

    def block(count: int) -> Block:
        points = path(count) + np.array([room.x_mm, room.y_mm, room.z_mm])
        freeze(points)
        return Block(words, value, points, speed_mm_s)  # type: ignore[arg-type] # one of the names

    one, other = (float(Replan.of([block(count)]).seconds(card)[0]) for count in (TRIED, 2 * TRIED))
    each = (other - one) / TRIED
    most = MOST_MOVES * TRIED // len(path(TRIED))
    return block(max(1, min(round((BLOCK_S - one) / each) + TRIED, most)))


def _span(room: Room, axis: int) -> float:
    return (2.0 * room.half_x_mm, 2.0 * room.half_y_mm, room.up_mm)[axis]


def _top(card: PrinterCard, axis: int) -> float:
    """Return the top speed of an axis as the program can command it, mm/s."""
    return _floored(value_of(card, f"speed {AXES[axis]}"))  # type: ignore[arg-type] # one of the names


def _acceleration(card: PrinterCard, axis: int) -> float:
    return value_of(card, f"acceleration {AXES[axis]}")  # type: ignore[arg-type] # one of the names


def _floored(speed_mm_s: float) -> float:
    """Return the largest speed that is not above this one and is a whole number in mm/min, in mm/s."""
    return math.floor(speed_mm_s * 60.0 + 1e-6) / 60.0
