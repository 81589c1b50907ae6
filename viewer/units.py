"""Named units and constants; every other module works in mm, s, mm/s, mm/s2, mm3, g, degC."""

from __future__ import annotations

MM_PER_INCH = 25.4
"""Exact by definition (international inch, 1959)."""
S_PER_MIN = 60.0
MM3_PER_CM3 = 1000.0
G_PER_KG = 1000.0
J_PER_KWH = 3.6e6
