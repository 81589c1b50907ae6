"""What a plan is made from, and how it is changed: the machine's limits, the program's speeds, ways and waits."""

from __future__ import annotations

from dataclasses import dataclass, fields, replace
from typing import Final

import msgspec
import numpy as np

from viewer.arrays import F32, F64, U8, Bool, freeze, read_only
from viewer.cards.printer import Axes, PrinterCard
from viewer.layers.layers import Layers
from viewer.program import Program
from viewer.read.events import Events
from viewer.read.machine_state import MachineState
from viewer.read.moves import Moves
from viewer.read.settings import FIELDS, Settings
from viewer.timing.limits import LIMIT_FIELDS, limits_for

UNLIMITED: Final = 1e9
"""What stands for "without limit", in mm/s, mm/s2, mm or degC/s: finite, so that sums keep their digits."""


@dataclass(frozen=True, slots=True, eq=False)
class Inputs:
    """The columns of a program and the printer card that a plan is made from; a lever changes a copy."""

    moves: Moves
    events: Events
    state: MachineState
    settings: Settings
    layers: Layers
    roles: U8
    printer: PrinterCard

    @classmethod
    def of(cls, program: Program) -> Inputs:
        """Take them from a program as it is."""
        return cls(
            program.moves, program.events, program.state, program.settings, program.layers, program.roles,
            program.printer,
        )  # fmt: skip

    def limit(self, field: str) -> F64:
        """Return a limit (a name of `LIMIT_FIELDS`) in each row of settings that a move uses: (rows used,)."""
        used = np.unique(self.settings.of_move)
        limits = limits_for(self.settings, self.printer)
        return np.asarray(limits[used, LIMIT_FIELDS.index(field)])

    def with_card(self, **changes: object) -> Inputs:
        """Return them with keys of the printer card changed."""
        return replace(self, printer=msgspec.structs.replace(self.printer, **changes))

    def with_heat(self, **changes: float) -> Inputs:
        """Return them with keys of the card's heat clock changed."""
        return self.with_card(heat=msgspec.structs.replace(self.printer.heat, **changes))

    def with_stated(self, fields: tuple[str, ...], factor: float) -> Inputs:
        """Return them with limits that the program itself states multiplied; what it does not state stays unstated."""
        table = self.settings.table.copy()
        for field in fields:
            column = FIELDS.index(field)
            table[:, column] = _scaled(table[:, column], factor)
        return replace(self, settings=replace(self.settings, table=read_only(table)))

    def with_speeds(self, which: Bool, factor: float) -> Inputs:
        """Return them with the commanded speed of some moves, (n,), multiplied."""
        speeds = self.moves.speed_mm_s.copy()
        speeds[which] = _scaled(speeds[which], factor)
        return self.with_moves(replace(self.moves, speed_mm_s=speeds))

    def with_moves(self, moves: Moves) -> Inputs:
        """Return them with other columns of the moves, which become read-only."""
        freeze(*(getattr(moves, column.name) for column in fields(moves)))
        return replace(self, moves=moves)


def _scaled(values: F32 | F64, factor: float) -> F64:
    """Return values times a factor, `UNLIMITED` at most, (n,); 0 times anything is 0, and NaN stays NaN."""
    scaled = values.astype(np.float64)
    scaled[values != 0.0] *= factor
    return np.minimum(scaled, UNLIMITED)


def times(value: float, factor: float) -> float:
    """Return a value times a factor, `UNLIMITED` at most; 0 times anything is 0."""
    return min(value * factor, UNLIMITED) if value else 0.0


def axes_times(axes: Axes, names: str, factor: float) -> Axes:
    """Return the values of axes (a string of x, y, z, e) times a factor; the others stay as they are."""
    return msgspec.structs.replace(axes, **{name: times(getattr(axes, name), factor) for name in names})
