"""Where the nozzle may go during the test: around the middle of the plate, high above it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from viewer.cards.printer import PrinterCard
from viewer.errors import BeadlineError

EDGE_MM: Final = 10.0
EDGE_SHARE: Final = 0.1
"""The smaller of the two stays free at each edge: a card may be off by some mm."""
SMALLEST_MM: Final = 20.0
"""With less to move in, blocks are over before a hand can time them."""
HIGH_SHARE: Final = 0.5
"""The test runs no lower than this share of the height."""
MOST_UP_MM: Final = 80.0
"""Height strokes are no longer: a slow axis takes long enough over them."""


@dataclass(frozen=True, slots=True)
class Room:
    """A cross of two spans through a middle, and a span of heights above it; mm."""

    x_mm: float
    y_mm: float
    z_mm: float
    """The middle: where each block starts and ends. No move of the test goes lower."""
    half_x_mm: float
    """How far X may go to either side while Y stays in the middle."""
    half_y_mm: float
    up_mm: float
    """How far Z may rise."""


def room_for(card: PrinterCard) -> Room:
    """Return where the test may move on one printer: within plate, height and reach.

    Raises
    ------
    BeadlineError
        The card does not say how large plate or height are, or they are too small.
    """
    left, right, front, back = _sides(card)
    top = _top(card)
    if min(right - left, back - front, top) < SMALLEST_MM:
        raise BeadlineError(
            f"{card.name} has less than {SMALLEST_MM:g} mm to move in by its card; a stopwatch says nothing there."
        )
    low = HIGH_SHARE * top
    up = min(MOST_UP_MM, top - low - min(EDGE_MM, EDGE_SHARE * top))
    return Room(
        x_mm=0.5 * (left + right), y_mm=0.5 * (front + back), z_mm=low,
        half_x_mm=_inside(right - left), half_y_mm=_inside(back - front), up_mm=up,
    )  # fmt: skip


def _inside(span_mm: float) -> float:
    """Return half of a span without its edges."""
    return 0.5 * span_mm - min(EDGE_MM, EDGE_SHARE * span_mm)


def _sides(card: PrinterCard) -> tuple[float, float, float, float]:
    """Return left, right, front and back of plate and reach, what is narrower; of a round plate, of its diameters."""
    plate, reach = card.plate, card.reach
    if plate.box_mm is None:
        raise BeadlineError(
            f"The card of {card.name} does not say how large the plate is, so no test can be kept above it; add [plate]."
        )
    stated = (reach.left_mm, reach.front_mm, reach.right_mm, reach.back_mm)
    narrower = (max, max, min, min)
    left, front, right, back = (
        side if limit is None else which(side, limit)
        for side, limit, which in zip(plate.box_mm, stated, narrower, strict=True)
    )
    if plate.shape == "circle":  # the diameters are full only through the middle of the plate
        left, right = _about(plate.left_mm, left, right)
        front, back = _about(plate.front_mm, front, back)
    return left, right, front, back


def _about(middle: float, low: float, high: float) -> tuple[float, float]:
    """Return the largest span about a middle between two sides."""
    half = max(0.0, min(middle - low, high - middle))
    return middle - half, middle + half


def _top(card: PrinterCard) -> float:
    """Return the highest Z that the nozzle may go to."""
    known = [value for value in (card.height_mm, card.reach.top_mm) if value is not None]
    if not known:
        raise BeadlineError(
            f"The card of {card.name} does not say how high the nozzle may go, so the test cannot be run high above "
            "the plate; add height_mm."
        )
    return min(known)
