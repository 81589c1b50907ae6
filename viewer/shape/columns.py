"""`ShapeColumns`: what the shape of a printed part is measured from."""

from __future__ import annotations

from dataclasses import dataclass

from viewer.arrays import U8
from viewer.layers.layers import Layers
from viewer.layers.naming import RolesFrom
from viewer.read.moves import Moves
from viewer.read.settings import Settings


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
