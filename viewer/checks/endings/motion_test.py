"""Whether a program without beads is a test of motion, and whole."""

from __future__ import annotations

import numpy as np

from viewer.checks.endings.ending import breaks_off
from viewer.checks.endings.stated_lines import StatedLines, stated_lines
from viewer.checks.evidence import heaters_on_at_end
from viewer.program import Program
from viewer.read.moves import PLACE, TRAVEL


def motion_test(program: Program) -> StatedLines | None:
    """Return the number of lines that proves a test of motion whole; None where the program is no such test.

    It only travels, feeds no filament at all, leaves no heater on, and has all lines that it states. A print whose
    filament words were lost states no such number, or moves filament alone all the same.
    """
    kinds = program.moves.kind
    if not np.any(kinds == TRAVEL) or not np.all((kinds == TRAVEL) | (kinds == PLACE)):
        return None
    lines = stated_lines(program)
    if lines is None or not lines.agrees or breaks_off(program) or heaters_on_at_end(program):
        return None
    return lines
