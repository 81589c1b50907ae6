"""A program of random beads and travels, for kernels that go over all moves."""

from __future__ import annotations

from pathlib import Path

import numpy as np

from tests.checks.on_paper import START, opened
from viewer.program import Program
from viewer.read.moves import BEAD


def random_program(folder: Path) -> Program:
    """Open seven layers of random beads and travels, fast and slow, wide and narrow."""
    dice = np.random.default_rng(7)
    lines, e = [START], 0.0
    for n in range(1, 8):
        lines.append(f"G1 Z{0.2 * n:.2f} F{dice.integers(900, 9000)}")
        for _ in range(60):
            x, y = dice.uniform(-20, 240, 2)
            e += float(dice.uniform(0.0, 9.0)) * (dice.random() < 0.7)
            lines.append(f"G1 X{x:.3f} Y{y:.3f} E{e:.4f} F{dice.integers(900, 30000)}")
            if dice.random() < 0.05:
                lines.append(f"M104 S{dice.integers(150, 260)}\nM203 X{dice.integers(20, 300)}")
    return opened(folder, "\n".join(lines) + "\nM104 S0\nM84\n")


def beads(program: Program) -> list[tuple[int, tuple[float, ...], tuple[float, ...]]]:
    """Return (move, start, end) of every bead, in double precision."""
    moves = program.moves
    ends = [tuple(map(float, row)) for row in zip(moves.x_mm, moves.y_mm, moves.z_mm, strict=True)]
    return [
        (i, ends[i - 1] if i else (0.0, 0.0, 0.0), end) for i, end in enumerate(ends) if moves.kind[i] == BEAD
    ]
