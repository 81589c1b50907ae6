"""Small programs written by hand or by rule, for tests."""

from __future__ import annotations

import math
from collections.abc import Iterable

START = "G90\nM82\nG28\nG92 E0\nG1 F3000\n"


def loop(
    points: Iterable[tuple[float, float]], z: float, e: float, per_mm: float = 0.03
) -> tuple[str, float]:
    """A travel to the first point, then beads along the others: (text, E at the end), absolute."""
    points = list(points)
    lines = [f"G1 X{points[0][0]:.4f} Y{points[0][1]:.4f} Z{z:.4f}"]
    at = points[0]
    for x, y in points[1:]:
        e += per_mm * math.hypot(x - at[0], y - at[1])
        lines.append(f"G1 X{x:.4f} Y{y:.4f} E{e:.6f}")
        at = (x, y)
    return "\n".join(lines) + "\n", e


def square(size: float, x: float = 50.0, y: float = 50.0) -> list[tuple[float, float]]:
    return [(x, y), (x + size, y), (x + size, y + size), (x, y + size), (x, y)]


def box(
    layers: int, size: float = 20.0, thickness: float = 0.2, x: float = 50.0, e: float = 0.0
) -> tuple[str, float]:
    """A box of one wall."""
    text = ""
    for k in range(1, layers + 1):
        piece, e = loop(square(size, x), k * thickness, e)
        text += piece
    return text, e


def spiral(turns: int, radius: float = 15.0, thickness: float = 0.2, facets: int = 60, e: float = 0.0) -> str:
    """One continuous bead that rises by `thickness` a turn, three decimals."""
    lines = [f"G1 X{50 + radius:.3f} Y50 Z{thickness:.3f}"]
    step = 2 * math.pi * radius / facets
    for k in range(1, turns * facets + 1):
        angle = 2 * math.pi * k / facets
        e += 0.03 * step
        lines.append(
            f"G1 X{50 + radius * math.cos(angle):.3f} Y{50 + radius * math.sin(angle):.3f} "
            f"Z{thickness * (1 + k / facets):.3f} E{e:.5f}"
        )
    return "\n".join(lines) + "\n"
