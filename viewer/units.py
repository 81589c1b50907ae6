"""Named units and constants; every other module works in mm, s, mm/s, mm/s2, mm3, g, degC."""

from __future__ import annotations

import math
from typing import Final

MM_PER_INCH = 25.4
"""Exact by definition (international inch, 1959)."""
S_PER_MIN = 60.0
MM3_PER_CM3 = 1000.0
G_PER_KG = 1000.0
J_PER_KWH = 3.6e6

MAX_TOOLS: Final = 64
"""Tool numbers from here on, and negative ones, are signals to a machine and take no tool (T255, T1000, T-1)."""


def filament_area_mm2(diameter_mm: float) -> float:
    """Return the cross-section of filament of a diameter, pi d^2/4, mm2."""
    return 0.25 * math.pi * diameter_mm**2
