"""Constants that several kernels of the family share: bits of a layer's mask, and when two beads follow one another."""

from __future__ import annotations

SHELL, INFILL, SUPPORT, HOLD, OUTLINE = 1, 2, 4, 8, 16
"""Bits of a mask: outline, inner loop and solid; infill; support; hold-down. Outline has a bit more of its own."""
DIVIDED, INNER = 1, 2
"""Kinds of hollows: those that infill divides, and those that inner loops enclose."""
JOIN_MM = 0.02
"""Beads whose ends are nearer than this follow one another: programs write two or three decimals."""
