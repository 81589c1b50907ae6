"""Levers on the machine: accelerations, corners, top speeds, shortest move, warming, homing, levelling, answering."""

from __future__ import annotations

from collections.abc import Callable
from typing import Final

import msgspec
import numpy as np

from viewer.read.homing import HOMING_CODES
from viewer.timing.clock import PAUSE_CODES
from viewer.timing.limits import JERK, JUNCTION_DEVIATION, RIGHT_ANGLE
from viewer.why.inputs import Inputs, axes_times, times
from viewer.why.lever import LESS, MORE, Lever, Span

_RINGING: Final = "Ringing beside corners, noise, and lost steps where the motors are at their end."
_LOST_STEPS: Final = "Lost steps where the motors are at their end; more noise and wear."
_GRINDING: Final = "The drive may grind the filament or skip, and the hot end may not melt so much."
_AXIS_FIELDS: Final = {"speed": "max_{}_mm_s", "acceleration": "accel_{}_mm_s2"}


def _span(values: np.ndarray[tuple[int, ...], np.dtype[np.float64]]) -> Span | None:
    finite = values[np.isfinite(values)]
    return (float(finite.min()), float(finite.max())) if len(finite) else None


def _of_kind(kind: str, cost: str) -> Lever:
    """Return the lever of the acceleration for printing, travel or retracts."""
    field, key = f"accel_{kind}_mm_s2", f"{kind}_acceleration_mm_s2"

    def change(inputs: Inputs, factor: float) -> Inputs:
        card = {key: times(getattr(inputs.printer, key), factor)}
        return inputs.with_stated((field,), factor).with_card(**card)

    return Lever(
        f"{kind}-acceleration", f"{kind} acceleration", "machine", "mm/s2", MORE, 10.0, cost, True,
        lambda inputs: _span(inputs.limit(field)), change,
    )  # fmt: skip


def _of_axes(axes: str, quantity: str, title: str, cost: str) -> Lever:
    """Return the lever of the top speed or the top acceleration of axes."""
    fields = tuple(_AXIS_FIELDS[quantity].format(axis) for axis in axes)
    key = {"speed": "max_speed_mm_s", "acceleration": "max_acceleration_mm_s2"}[quantity]

    def change(inputs: Inputs, factor: float) -> Inputs:
        card = {key: axes_times(getattr(inputs.printer, key), axes, factor)}
        return inputs.with_stated(fields, factor).with_card(**card)

    def value(inputs: Inputs) -> Span | None:
        return _span(np.concatenate([inputs.limit(field) for field in fields]))

    unit = "mm/s" if quantity == "speed" else "mm/s2"
    return Lever(
        title.replace(" ", "-"), title, "machine", unit, MORE, 10.0, cost, True, value, change
    )  # fmt: skip


def _every_acceleration() -> Lever:
    """Return the lever of all accelerations together: where two limit the same move, one alone gives nothing."""
    parts = [*(_of_kind(kind, "") for kind in ("print", "travel", "retract"))]
    parts.append(_of_axes("xyze", "acceleration", "acceleration", ""))

    def change(inputs: Inputs, factor: float) -> Inputs:
        for part in parts:
            inputs = part.change(inputs, factor)
        return inputs

    return Lever(
        "all-accelerations", "all accelerations together", "machine", "mm/s2", MORE, 10.0, _RINGING, True,
        lambda inputs: _span(inputs.limit("accel_print_mm_s2")), change,
    )  # fmt: skip


def _corner(axes: str, name: str, title: str, cost: str) -> Lever:
    """Return the lever of the jerk of axes; that of X and Y takes the value of another corner rule along."""
    jerks = tuple(f"jerk_{axis}_mm_s" for axis in axes)
    others = ("junction_deviation_mm", "corner_mm_s") if "x" in axes else ()

    def change(inputs: Inputs, factor: float) -> Inputs:
        corner = inputs.printer.corner
        changes: dict[str, object] = {}
        if corner.jerk_mm_s is not None:
            changes["jerk_mm_s"] = axes_times(corner.jerk_mm_s, axes, factor)
        if others and corner.junction_deviation_mm is not None:
            changes["junction_deviation_mm"] = times(corner.junction_deviation_mm, factor)
        if others and corner.right_angle_mm_s is not None:
            changes["right_angle_mm_s"] = times(corner.right_angle_mm_s, factor)
        changed = inputs.with_stated((*jerks, *others), factor)
        return changed.with_card(corner=msgspec.structs.replace(corner, **changes))

    def value(inputs: Inputs) -> Span | None:
        return _span(np.concatenate([inputs.limit(field) for field in (*jerks, *others)]))

    named = _corner_named if others else None
    return Lever(name, title, "machine", "mm/s", MORE, 5.0, cost, True, value, change, named=named)


def _corner_named(inputs: Inputs) -> tuple[str, str]:
    """Return title and unit of the corner value of X and Y under the rule that holds."""
    rules = set(inputs.limit("rule").tolist())
    names = {
        float(JERK): ("jerk of X and Y", "mm/s"),
        float(JUNCTION_DEVIATION): ("junction deviation", "mm"),
        float(RIGHT_ANGLE): ("speed at a right angle", "mm/s"),
    }
    return names[rules.pop()] if len(rules) == 1 else ("corner values of X and Y", "")


def _shortest() -> Lever:
    def change(inputs: Inputs, factor: float) -> Inputs:
        card = inputs.printer.min_segment_time_s * factor
        return inputs.with_stated(("min_segment_time_s",), factor).with_card(min_segment_time_s=card)

    def value(inputs: Inputs) -> Span | None:
        span = _span(inputs.limit("min_segment_time_s"))
        return span if span and span[1] > 0.0 else None

    return Lever(
        "shortest-move", "shortest time for a move", "machine", "s", LESS, 0.0,
        "The controller may run out of moves: it stutters, and leaves blobs on curves of short moves.",
        True, value, change,
    )  # fmt: skip


def _warming(heater: str, cost: str) -> Lever:
    key = f"{heater}_warming_c_s"

    def change(inputs: Inputs, factor: float) -> Inputs:
        return inputs.with_heat(**{key: times(getattr(inputs.printer.heat, key), factor)})

    def value(inputs: Inputs) -> Span | None:
        rate = getattr(inputs.printer.heat, key)
        return (rate, rate) if len(inputs.state.waits) else None

    return Lever(
        f"{heater}-warming", f"warming of the {heater}", "machine", "degC/s", MORE, 5.0, cost, True, value,
        change, waits_only=True,
    )  # fmt: skip


def _card_seconds(
    name: str, title: str, key: str, used: Callable[[Inputs], bool], cost: str, asks_more: bool = False
) -> Lever:
    """Return the lever of a wait that the card knows by its seconds."""

    def change(inputs: Inputs, factor: float) -> Inputs:
        return inputs.with_card(**{key: getattr(inputs.printer, key) * factor})

    def value(inputs: Inputs) -> Span | None:
        seconds = getattr(inputs.printer, key)
        return (seconds, seconds) if seconds > 0.0 and used(inputs) else None

    return Lever(name, title, "machine", "s", LESS, 0.0, cost, asks_more, value, change, waits_only=True)


def _homing() -> Lever:
    def change(inputs: Inputs, factor: float) -> Inputs:
        homing = inputs.printer.homing
        return inputs.with_card(homing=msgspec.structs.replace(homing, seconds=homing.seconds * factor))

    def value(inputs: Inputs) -> Span | None:
        seconds = inputs.printer.homing.seconds
        return (seconds, seconds) if seconds > 0.0 and _has(inputs, "G", *HOMING_CODES) else None

    return Lever(
        "homing", "homing", "machine", "s", LESS, 0.0, "Faster homing repeats less exactly.", True, value,
        change, waits_only=True,
    )  # fmt: skip


def _has(inputs: Inputs, letter: str, *codes: int) -> bool:
    events = inputs.events
    return bool(np.any((events.letter == ord(letter)) & np.isin(events.code, codes)))


MACHINE_LEVERS: Final[tuple[Lever, ...]] = (
    _of_kind("print", _RINGING),
    _of_kind("travel", _LOST_STEPS),
    _of_kind("retract", _GRINDING),
    _of_axes("xy", "acceleration", "acceleration of X and Y", _RINGING),
    _of_axes("z", "acceleration", "acceleration of Z", _LOST_STEPS),
    _of_axes("e", "acceleration", "acceleration of the filament drive", _GRINDING),
    _every_acceleration(),
    _corner("xy", "corner", "corner value of X and Y", _RINGING),
    _corner("z", "corner-z", "jerk of Z", _LOST_STEPS),
    _corner("e", "corner-e", "jerk of the filament drive", _GRINDING),
    _of_axes("xy", "speed", "top speed of X and Y", _LOST_STEPS),
    _of_axes("z", "speed", "top speed of Z", _LOST_STEPS),
    _of_axes("e", "speed", "top speed of the filament drive", _GRINDING),
    _shortest(),
    _warming("nozzle", "It needs a stronger heater; the target may be overshot. Its protection must suit it."),
    _warming("plate", "It needs a stronger heater and supply, or a thinner plate."),
    _homing(),
    _card_seconds(
        "levelling", "levelling", "levelling_s",
        lambda inputs: _has(inputs, "G", *range(290, 300)),
        "Fewer points probed: the first layer may be uneven. A stored mesh grows old.",
    ),
    _card_seconds(
        "tool-changes", "time of a tool change", "tool_change_s", lambda inputs: len(inputs.state.changes) > 0,
        "Less purge: colours mix, or strings.",
    ),
    _card_seconds(
        "answering", "time until somebody answers a pause", "pause_s",
        lambda inputs: _has(inputs, "M", *PAUSE_CODES),
        "Somebody must stand by.",
    ),
)  # fmt: skip
"""In the order in which they are applied."""
