"""`ShapeColumns`: what the shape of a printed part is measured from."""

from __future__ import annotations

from dataclasses import dataclass

from viewer.arrays import U8
from viewer.layers.layers import Layers
from viewer.layers.naming import RolesFrom
from viewer.read.moves import Moves
from viewer.read.settings import Settings
from viewer.shape.widths import BeadWidths


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class ShapeColumns:
    """The columns of one program that the shape depends on, n moves; `viewer.program.Program` hands them out."""

    moves: Moves
    settings: Settings
    layers: Layers
    roles: U8
    """(n,) numbers as in `viewer.layers.layers.ROLE_NAMES`."""
    roles_from: RolesFrom
    nozzle_mm: float
    filament_diameter_mm: float
    widths: BeadWidths
    """Whether the beads' widths are as computed, as spacing tells, or not known."""

    @property
    def drawn_diameter_mm(self) -> float:
        """Diameter of filament that makes the beads as wide as they are drawn in masks."""
        return self.widths.drawn_diameter_mm(self.filament_diameter_mm)
