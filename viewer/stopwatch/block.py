"""One block of the test."""

from __future__ import annotations

from dataclasses import dataclass

from viewer.arrays import F64
from viewer.stopwatch.values import Name


@dataclass(frozen=True, slots=True, eq=False)
class Block:
    """Moves without a pause between them, to be timed as one."""

    words: str
    """What is seen: ``long strokes along X``."""
    value: Name
    """The value that rules its time."""
    points_mm: F64
    """(n, 3), where the moves lead, in the machine's coordinates; the first is the middle, where it starts."""
    speed_mm_s: float
    """Commanded."""
    expected_s: float = 0.0
    """On a machine that is as its card says."""
