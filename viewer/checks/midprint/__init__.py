"""The machine in the course of a print: heaters, motors and fan, waits, homing, slow lines, settings that stay."""

from __future__ import annotations

from typing import Final

from viewer.checks.finding import Check
from viewer.checks.midprint.fan import FAN_CHECK
from viewer.checks.midprint.homed import HOMED_CHECK
from viewer.checks.midprint.lasting import LASTING_CHECK
from viewer.checks.midprint.plate_wait import PLATE_CHECK
from viewer.checks.midprint.slow import SLOW_CHECK
from viewer.checks.midprint.span import part_span
from viewer.checks.midprint.standstill import STANDSTILL_CHECK
from viewer.checks.midprint.switched_off import COLD_C, OFF_CHECK

__all__ = ["COLD_C", "MIDPRINT_CHECKS", "part_span"]

MIDPRINT_CHECKS: Final[tuple[Check, ...]] = (
    OFF_CHECK,
    STANDSTILL_CHECK,
    HOMED_CHECK,
    SLOW_CHECK,
    LASTING_CHECK,
    PLATE_CHECK,
    FAN_CHECK,
)
"""The checks of this folder."""
