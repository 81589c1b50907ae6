"""`Facts`: what a lesson is made from, asked of the program's figures; nothing is measured here."""

from __future__ import annotations

import zlib
from functools import cached_property
from typing import Final

import numpy as np

from viewer.figures.figures import Figures
from viewer.layers.layers import ROLE_NAMES
from viewer.program import Program
from viewer.shape import ShapeFigures
from viewer.shape.walk import shape_of
from viewer.timing import CAUSES

BESIDE_MM: Final = 4.0
"""Room about what a step shows."""

Box = tuple[float, float, float, float]


class Facts:
    """The figures of one program as its lesson needs them."""

    def __init__(self, program: Program, shape: ShapeFigures | None = None) -> None:
        self.program = program
        self._shape = shape

    @property
    def figures(self) -> Figures:
        """All figures of the program."""
        return self.program.figures

    @cached_property
    def shape(self) -> ShapeFigures:
        """What was measured of the shape; measured when it is first asked for."""
        return shape_of(self.program.shape_columns) if self._shape is None else self._shape

    @property
    def layers(self) -> int:
        """How many layers there are."""
        return self.figures.layers.count

    def grams(self, role: int) -> float:
        """Return the filament drawn under a role, in g."""
        return self.figures.filament.by_role.get(ROLE_NAMES[role], {}).get("g", 0.0)

    def seconds(self, role: int) -> float:
        """Return the time of all moves under a role, travel among them."""
        return self.figures.time.by_role_s.get(ROLE_NAMES[role], 0.0)

    def booked(self, cause: str) -> float:
        """Return the seconds that the time ledger has for a cause, as in `CAUSES`."""
        return self.figures.time.ledger_s[cause]

    def path_mm(self, number: int, role: int) -> float:
        """Return the path of the beads of a role in layer ``number`` (from 1)."""
        return float(self.program.totals.layers.role_mm[number, role])

    def layer_s(self, number: int) -> float:
        """Return the time of layer ``number`` (from 1) without waits for heat, people and tools."""
        return float(self.program.timing.ledger.by_layer[number, : CAUSES.index("heating")].sum())

    def busiest_layer(self, role: int) -> int | None:
        """Return the layer (from 1) with the longest path of a role; None where no layer has any.

        Of several it is the one nearest to the middle, where the picture looks most like the others.
        """
        paths = self.program.totals.layers.role_mm[1:-1, role]
        if not len(paths) or paths.max() <= 0.0:
            return None
        alike = np.flatnonzero(paths >= 0.98 * paths.max())
        return int(alike[np.argmin(np.abs(alike - len(paths) // 2))]) + 1

    def turn(self, what: str, choices: int) -> int:
        """Return where among some choices the right one stands: the same in every run, another in each program.

        Parameters
        ----------
        what
            The step that asks.
        choices
            How many there are.
        """
        program = self.program
        seed = f"{program.tally.lines} {program.source.size_bytes} {len(program.moves)} {what}"
        return zlib.crc32(seed.encode()) % choices


def around(box: Box, room_mm: float = BESIDE_MM) -> Box:
    """Return a box with some room on all sides, mm."""
    return box[0] - room_mm, box[1] - room_mm, box[2] + room_mm, box[3] + room_mm
