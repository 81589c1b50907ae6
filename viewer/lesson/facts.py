"""`Facts`: what a lesson is made from, asked of the program's figures; nothing is measured here."""

from __future__ import annotations

import zlib
from collections.abc import Callable
from functools import cached_property
from typing import Final, TypeVar, cast

import numpy as np

from viewer.arrays import F64
from viewer.figures.figures import Figures
from viewer.figures.filled import LayerFill, layer_fill
from viewer.figures.heat import set_on_layers
from viewer.layers.layers import INFILL, ROLE_NAMES
from viewer.lesson.step import StepView
from viewer.numerals import number_text
from viewer.program import Program
from viewer.shape import ShapeFigures
from viewer.shape.walk import shape_of
from viewer.timing.ledger import STANDING_FROM

BESIDE_MM: Final = 4.0
"""Room about what a step shows."""
FULL: Final = 0.85
"""Infill that covers more of its room is closed: its lines do not lie apart."""
MIN_ROOM_MM2: Final = 20.0
"""A smaller room shows nothing of the pattern."""
TRIED: Final = 5
"""Layers that are looked at for an example."""

Box = tuple[float, float, float, float]
T = TypeVar("T")


class Facts:
    """The figures of one program as its lesson needs them."""

    def __init__(self, program: Program, shape: ShapeFigures | None = None) -> None:
        self.program = program
        self._shape = shape
        self._found: dict[Callable[[Facts], object], object] = {}

    def once(self, find: Callable[[Facts], T]) -> T:
        """Return what a function finds in these facts; it is called once only."""
        if find not in self._found:
            self._found[find] = find(self)
        return cast(T, self._found[find])

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
        return float(self.program.timing.ledger.by_layer[number, :STANDING_FROM].sum())

    def busiest_layer(self, role: int) -> int | None:
        """Return the layer (from 1) with the longest path of a role; None where no layer has any.

        Of several it is the one nearest to the middle, where the picture looks most like the others.
        """
        paths = self.program.totals.layers.role_mm[1:-1, role]
        if not len(paths) or paths.max() <= 0.0:
            return None
        alike = np.flatnonzero(paths >= 0.98 * paths.max())
        return int(alike[np.argmin(np.abs(alike - len(paths) // 2))]) + 1

    @cached_property
    def fill(self) -> tuple[int, LayerFill] | None:
        """A layer (from 1) that shows the infill, and how full it is; None where none shows lines lying apart."""
        program = self.program
        if not program.widths.is_known:
            return None
        diameter = program.widths.drawn_diameter_mm(program.filament_diameter_mm)
        for number in self.layers_with(INFILL):
            found = layer_fill(program.moves, program.layers, program.roles, number, diameter)
            if found is not None and found.room_mm2 >= MIN_ROOM_MM2 and found.share <= FULL:
                return number, found
        return None

    def layers_with(self, role: int) -> list[int]:
        """Return some layers (from 1) with much of a role: those nearest to the middle of its layers first."""
        paths = self.program.totals.layers.role_mm[1:-1, role]
        rows = np.flatnonzero(paths >= 0.5 * paths.max(initial=0.0))
        if not len(rows) or paths[rows].max() <= 0.0:
            return []
        middle = len(rows) // 2
        order = np.argsort(np.abs(np.arange(len(rows)) - middle), kind="stable")
        step = max(1, len(rows) // TRIED)
        return [int(rows[k]) + 1 for k in order[::step][:TRIED]]

    @cached_property
    def targets(self) -> dict[str, tuple[F64, F64]]:
        """The values set while beads are laid, on layer 1 and later, of ``nozzle_c``, ``plate_c`` and ``fan``."""
        program = self.program
        return {
            field: set_on_layers(program.layers, program.moves, program.settings, field)
            for field in ("nozzle_c", "plate_c", "fan")
        }

    def kept(self, field: str) -> str | None:
        """Return the temperatures that are set while beads are laid, as in ``205 to 210 °C``; None where none is."""
        values = np.concatenate(self.targets[field])
        values = values[values > 0.0]
        if not len(values):
            return None
        low, high = number_text(float(values.min())), number_text(float(values.max()))
        return f"{low} °C" if low == high else f"{low} to {high} °C"

    @property
    def strongest_fan(self) -> float:
        """The most that the fan is set to while beads are laid, 0 .. 1; 0 where it is off or never set."""
        return float(np.concatenate(self.targets["fan"]).max(initial=0.0))

    def view_of(self, role: int, *others: int) -> StepView:
        """Return the view of the layer with most of a role, this and other roles lit."""
        number = self.busiest_layer(role)
        return StepView(layer=None if number is None else number - 1, lit_roles=(role, *others))

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


def middle_x_mm(program: Program) -> float:
    """Return where a cut across X shows the inside: at the middle of the largest piece on the plate."""
    first, extent = program.figures.first_layer, program.figures.extent
    if first is not None and first.island_list:
        largest = max(first.island_list, key=lambda island: float(island["part_mm2"]))
        return float(largest["centre_mm"][0])
    return 0.0 if extent is None else 0.5 * (extent.x[0] + extent.x[1])
