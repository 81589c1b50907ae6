"""The limits that hold during a move: the card's, and the program's own where the machine obeys them."""

from __future__ import annotations

from typing import Final

import numpy as np

from viewer.arrays import F64
from viewer.cards.printer import Axes, PrinterCard
from viewer.errors import CardError
from viewer.read.settings import Settings

LIMIT_FIELDS: Final = (
    "max_x_mm_s", "max_y_mm_s", "max_z_mm_s", "max_e_mm_s",
    "accel_x_mm_s2", "accel_y_mm_s2", "accel_z_mm_s2", "accel_e_mm_s2",
    "accel_print_mm_s2", "accel_travel_mm_s2", "accel_retract_mm_s2",
    "jerk_x_mm_s", "jerk_y_mm_s", "jerk_z_mm_s", "jerk_e_mm_s",  # inf where the rule is another one
    "junction_deviation_mm",  # inf where the rule is another one
    "corner_mm_s",  # at a right angle; inf where the rule is another one
    "rule",  # JERK, JUNCTION_DEVIATION, RIGHT_ANGLE
    "speed_factor",  # M220
    "max_path_mm_s",  # inf: none
    "min_segment_time_s",  # 0: none
)  # fmt: skip
"""The columns of the table that `limits_for` gives."""

JERK: Final = 0
JUNCTION_DEVIATION: Final = 1
RIGHT_ANGLE: Final = 2

_RULES: Final = ("jerk", "junction-deviation", "right-angle")
_AXES: Final = ("x", "y", "z", "e")


def limits_for(settings: Settings, printer: PrinterCard) -> F64:
    """Return the limits that hold for every row of the settings table.

    The program's own values (NaN: not stated) count only where ``printer.obeys_program_limits``;
    M220 is no limit and always counts. Values that cannot be planned with (speeds, accelerations,
    deviations and factors of 0 or less) count as not stated.

    An acceleration for printing or travel above an axis's own is kept here: it is cut move by move,
    by direction, so that no *axis* exceeds its own (a diagonal may). The one for retracts is cut here.

    The corner rule is the card's until the program states a value of a rule: M205 or M566 with X or Y
    (jerk), M205 J (deviation), a corner speed at a right angle. Where it states values of several rules,
    the card's own rule wins among them, then right angle, deviation, jerk: the table does not say which
    came last. An axis whose jerk is stated nowhere takes that of X (or of Y).

    Parameters
    ----------
    settings : Settings
        What the program states, one row a combination.
    printer : PrinterCard
        What the keeper knows of the machine.

    Returns
    -------
    ndarray of float64, (rows, len(LIMIT_FIELDS))
        Columns as in `LIMIT_FIELDS`; mm, s.

    Raises
    ------
    CardError
        The card names a corner rule but not its value.
    """
    _check_corner(printer)
    rows = len(settings.table)
    limits = np.empty((rows, len(LIMIT_FIELDS)))
    card = _card_values(printer)
    for k, field in enumerate(LIMIT_FIELDS):
        if field in card:
            limits[:, k] = card[field]
            if printer.obeys_program_limits:
                _overwrite(limits[:, k], settings.column(field), may_be_zero=field in _MAY_BE_ZERO)
    retract, top = LIMIT_FIELDS.index("accel_retract_mm_s2"), LIMIT_FIELDS.index("accel_e_mm_s2")
    limits[:, retract] = np.minimum(limits[:, retract], limits[:, top])
    factor = LIMIT_FIELDS.index("speed_factor")
    limits[:, factor] = 1.0
    _overwrite(limits[:, factor], settings.column("speed_factor"), may_be_zero=False)
    _fill_corner(limits, settings, printer)
    return limits


_MAY_BE_ZERO: Final = frozenset(
    ("min_segment_time_s", "corner_mm_s", "jerk_x_mm_s", "jerk_y_mm_s", "jerk_z_mm_s", "jerk_e_mm_s")
)
"""At 0 these still make a plan: a stop at every corner, or no smallest time."""


def _overwrite(target: F64, stated: F64, *, may_be_zero: bool) -> None:
    """Put the stated values over the card's, row by row."""
    good = _stated(stated, may_be_zero=may_be_zero)
    target[good] = stated[good]


def _stated(values: F64, *, may_be_zero: bool) -> np.ndarray[tuple[int, ...], np.dtype[np.bool_]]:
    """Say which values can be planned with; comparisons with NaN are false."""
    lowest = values >= 0.0 if may_be_zero else values > 0.0
    return np.asarray(lowest & np.isfinite(values))


def _card_values(printer: PrinterCard) -> dict[str, float]:
    """Name the card's values as the settings do; the corner rule stands apart."""
    values = {
        "accel_print_mm_s2": printer.print_acceleration_mm_s2,
        "accel_travel_mm_s2": printer.travel_acceleration_mm_s2,
        "accel_retract_mm_s2": printer.retract_acceleration_mm_s2,
        "max_path_mm_s": np.inf,
        "min_segment_time_s": printer.min_segment_time_s,
    }
    for axis in _AXES:
        values[f"max_{axis}_mm_s"] = getattr(printer.max_speed_mm_s, axis)
        values[f"accel_{axis}_mm_s2"] = getattr(printer.max_acceleration_mm_s2, axis)
    return values


def _check_corner(printer: PrinterCard) -> None:
    """Refuse a card that names a rule without its value."""
    corner = printer.corner
    needed: dict[str, Axes | float | None] = {
        "jerk_mm_s": corner.jerk_mm_s,
        "junction_deviation_mm": corner.junction_deviation_mm,
        "right_angle_mm_s": corner.right_angle_mm_s,
    }
    key = tuple(needed)[_RULES.index(corner.rule)]
    if needed[key] is None:
        raise CardError(
            f"The card of printer {printer.name} has the corner rule '{corner.rule}' but no value for it: "
            f"give corner.{key}, or choose another rule."
        )


def _fill_corner(limits: F64, settings: Settings, printer: PrinterCard) -> None:
    """Fill the rule of every row and the values of that rule; those of the other rules become inf."""
    jerks = [_jerk_column(axis, settings, printer) for axis in _AXES]
    deviation = _corner_column(
        "junction_deviation_mm", printer.corner.junction_deviation_mm, settings, printer
    )
    corner = _corner_column("corner_mm_s", printer.corner.right_angle_mm_s, settings, printer)
    rule = _rule_column(settings, printer)
    sideways = np.where(np.isnan(jerks[0]), jerks[1], jerks[0])
    for axis, values in zip(_AXES, jerks, strict=True):
        column = np.where(np.isnan(values), sideways, values)
        limits[:, LIMIT_FIELDS.index(f"jerk_{axis}_mm_s")] = np.where(rule == JERK, column, np.inf)
    limits[:, LIMIT_FIELDS.index("junction_deviation_mm")] = np.where(
        rule == JUNCTION_DEVIATION, deviation, np.inf
    )
    limits[:, LIMIT_FIELDS.index("corner_mm_s")] = np.where(rule == RIGHT_ANGLE, corner, np.inf)
    limits[:, LIMIT_FIELDS.index("rule")] = rule


def _jerk_column(axis: str, settings: Settings, printer: PrinterCard) -> F64:
    """Return the jerk of one axis, NaN where neither card nor program states it."""
    known = printer.corner.jerk_mm_s
    return _corner_column(
        f"jerk_{axis}_mm_s", None if known is None else getattr(known, axis), settings, printer
    )


def _corner_column(field: str, known: float | None, settings: Settings, printer: PrinterCard) -> F64:
    """Return one value of a corner rule for every row, NaN where neither card nor program states it."""
    column = np.full(len(settings.table), np.nan if known is None else known)
    if printer.obeys_program_limits:
        _overwrite(column, settings.column(field), may_be_zero=field in _MAY_BE_ZERO)
    return column


def _rule_column(settings: Settings, printer: PrinterCard) -> F64:
    """Return the rule of every row; see `limits_for` for which rule wins."""
    own = _RULES.index(printer.corner.rule)
    rule = np.full(len(settings.table), float(own))
    if not printer.obeys_program_limits:
        return rule
    sideways = _stated(settings.column("jerk_x_mm_s"), may_be_zero=True)
    sideways |= _stated(settings.column("jerk_y_mm_s"), may_be_zero=True)
    stated = {
        JERK: sideways,
        JUNCTION_DEVIATION: _stated(settings.column("junction_deviation_mm"), may_be_zero=False),
        RIGHT_ANGLE: _stated(settings.column("corner_mm_s"), may_be_zero=True),
    }
    for number in (JERK, JUNCTION_DEVIATION, RIGHT_ANGLE, own):  # the last one written wins
        rule[stated[number]] = number
    return rule
