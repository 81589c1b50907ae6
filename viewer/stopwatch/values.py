"""The values that the test measures: what they are, and a card that has others."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final, Literal

from msgspec.structs import replace

from viewer.cards.printer import Corner, PrinterCard

Name = Literal[
    "acceleration x", "acceleration y", "acceleration z", "speed x", "speed y", "speed z", "corner"
]
AXES: Final = ("x", "y", "z")

Values = Mapping[Name, float]


def value_of(card: PrinterCard, name: Name) -> float:
    """Return a value as the card has it, mm/s2, mm/s, or of the corner rule mm/s or mm.

    An acceleration is what holds for a travel along the axis: the smaller of the travel's and the axis's own.
    """
    if name == "corner":
        return corner_value(card.corner)
    kind, axis = name.split()
    if kind == "speed":
        return float(getattr(card.max_speed_mm_s, axis))
    return min(card.travel_acceleration_mm_s2, float(getattr(card.max_acceleration_mm_s2, axis)))


def corner_value(corner: Corner) -> float:
    """Return the value of a corner rule; of the jerk rule that of X."""
    if corner.rule == "jerk" and corner.jerk_mm_s is not None:
        return corner.jerk_mm_s.x
    value = corner.junction_deviation_mm if corner.rule == "junction-deviation" else corner.right_angle_mm_s
    assert value is not None  # a card without it is refused when it is read
    return value


def with_corner(corner: Corner, value: float) -> Corner:
    """Return a corner rule with another value; by the jerk rule Y keeps its proportion to X."""
    if corner.rule == "jerk" and corner.jerk_mm_s is not None:
        jerk = corner.jerk_mm_s
        return replace(corner, jerk_mm_s=replace(jerk, x=value, y=jerk.y * (value / jerk.x)))
    if corner.rule == "junction-deviation":
        return replace(corner, junction_deviation_mm=value)
    return replace(corner, right_angle_mm_s=value)


def machine_with(card: PrinterCard, values: Values) -> PrinterCard:
    """Return a card for planning on which these values hold, and those of the card where one is not named."""
    by_axis = {axis: _acceleration(card, axis, values) for axis in AXES}
    speeds = {axis: values[name] for axis in AXES if (name := _speed(axis)) in values}
    return replace(
        card,
        travel_acceleration_mm_s2=max(by_axis.values()),
        max_acceleration_mm_s2=replace(card.max_acceleration_mm_s2, **by_axis),
        max_speed_mm_s=replace(card.max_speed_mm_s, **speeds),
        corner=with_corner(card.corner, values["corner"]) if "corner" in values else card.corner,
    )


def _acceleration(card: PrinterCard, axis: str, values: Values) -> float:
    name: Name = f"acceleration {axis}"  # type: ignore[assignment] # one of the three
    return values[name] if name in values else value_of(card, name)


def _speed(axis: str) -> Name:
    return f"speed {axis}"  # type: ignore[return-value] # one of the three
