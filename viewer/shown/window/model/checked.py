"""The checks, run for the window: what they found, with what they measured of every layer on the way."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime

from viewer.arrays import F64
from viewer.checks.finding import Watch
from viewer.checks.policy import policy_of
from viewer.checks.run import CHECKS, Report, run_checks
from viewer.checks.shape import SHAPE_CHECKS
from viewer.checks.walk import USUAL_ANGLE_DEG, walk_layers
from viewer.program import Program


@dataclass(frozen=True, slots=True)
class MeasuredReport(Report):
    """What the checks found, with what they measured of every layer."""

    overhang_mm2: F64 | None
    """(layers,) area that overhangs; None where the workshop card switches all checks of the shape off."""
    start: datetime | None
    """The start of the print that the checks were told of."""


def check(
    program: Program, tell: Callable[[float], None], stop: Callable[[], bool], start: datetime | None = None
) -> MeasuredReport:
    """Run the checks, and take over the areas that overhang from the walk they made over the layers.

    Raises
    ------
    CardError
        The workshop card names a check that does not exist.
    Stopped
        `stop` said so.
    """
    found = run_checks(program, lambda _, share: tell(share), stop, start)
    return MeasuredReport(found.findings, found.not_checked, _overhang(program, stop), start)


def _overhang(program: Program, stop: Callable[[], bool]) -> F64 | None:
    rules = policy_of(CHECKS, program.workshop).rules
    if not any(one.slug in rules for one in SHAPE_CHECKS if one.sweep is not None):
        return None
    rule = rules.get("steep-overhang")
    angle = USUAL_ANGLE_DEG if rule is None or rule.limit is None else rule.limit
    return walk_layers(program, angle, Watch(stop=stop)).overhang_mm2
