"""`RULES`: every step that a lesson can have, in the order of teaching."""

from __future__ import annotations

from typing import Final

from viewer.lesson.air_steps import AIR_STEPS
from viewer.lesson.bead_steps import BEAD_STEPS
from viewer.lesson.machine_steps import MACHINE_STEPS
from viewer.lesson.motion_steps import MOTION_STEPS
from viewer.lesson.plate_steps import PLATE_STEPS

RULES: Final = (*PLATE_STEPS, *BEAD_STEPS, *AIR_STEPS, *MOTION_STEPS, *MACHINE_STEPS)
"""Rows in the order of a lesson; those that do not apply to a program are left out of it."""
