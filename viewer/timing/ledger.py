"""The time ledger: every second of the print is booked to exactly one cause."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np

from viewer.arrays import F64, I64, U8, columns_of, read_only
from viewer.layers.layers import ROLE_NAMES, Layers
from viewer.read.moves import Moves
from viewer.read.settings import Settings
from viewer.timing.clock import Waits
from viewer.timing.kernels import ledger as k
from viewer.timing.kernels.columns import Moves as MoveColumns
from viewer.timing.limits import LIMIT_FIELDS
from viewer.timing.plan import Plan

CAUSES: Final = (
    "laying",  # laying filament at the commanded speed
    "held back",  # slower because the machine's limit is lower
    "speeding up and braking",
    "travel",  # wipes too: they lay nothing
    "retract and prime",
    "height changes",  # up or down without X or Y, with filament or without
    "dwell",
    "heating",
    "homing and levelling",
    "tool changes",
    "pauses",
)
"""Columns of the ledger. The first three are those of beads, the last five those of waits."""

WAITS_FROM: Final = CAUSES.index("dwell")
"""Column of the first cause that is a wait."""
STANDING_FROM: Final = CAUSES.index("heating")
"""Column of the first wait that the program does not order by its length: for heat, homing, tools and people."""

WAITING_ROLE: Final = len(ROLE_NAMES)
"""Row of `Ledger.by_role` for waits: no role made them."""
BOOKED_ROLES: Final = (*ROLE_NAMES, "waiting")
"""Names of the rows of `Ledger.by_role`."""


@dataclass(frozen=True, slots=True, eq=False)
class Ledger:
    """Seconds by cause; both tables add up to the whole print."""

    by_layer: F64  # (layers + 2, causes) row 0: the prelude; k: layer k; the last: the coda
    by_role: F64  # (roles + 1, causes) rows as ROLE_NAMES, and WAITING_ROLE

    @property
    def by_cause(self) -> F64:
        """Seconds of each cause: (causes,)."""
        return np.asarray(self.by_layer.sum(axis=0))

    @property
    def total_s(self) -> float:
        """All seconds, from the first line to the last."""
        return float(self.by_layer.sum())


def book(
    moves: Moves, settings: Settings, limits: F64, layers: Layers, roles: U8 | None, plan: Plan, waits: Waits
) -> Ledger:
    """Book every move and every wait.

    A bead takes path / (commanded speed x M220) for laying; path / speed limit less that is held back; the
    rest is speeding up and braking. Where no speed is commanded, nothing is held back. Waits belong to the
    layer that is about to begin or runs on, but those just before layer 1 to the prelude.

    Parameters
    ----------
    moves, settings, layers : Moves, Settings, Layers
        Of one program, n moves.
    limits : ndarray of float64, (rows, len(LIMIT_FIELDS))
        From `limits_for`.
    roles : ndarray of uint8, (n,), or None
        Role of each move; None books all to the first role (unlabelled).
    plan, waits : Plan, Waits
        What takes the time.

    Returns
    -------
    Ledger
        Read-only tables.
    """
    tables = k.Tables(
        by_layer=np.zeros((len(layers) + 2, len(CAUSES))),
        by_role=np.zeros((len(ROLE_NAMES) + 1, len(CAUSES))),
    )
    rows = k.Rows(
        setting=read_only(settings.of_move),
        speed_factor=read_only(limits[:, LIMIT_FIELDS.index("speed_factor")]),
        role=read_only(np.zeros(0, np.uint8) if roles is None else roles),
        first_move=read_only(layers.first_move),
    )
    k.book_moves(columns_of(MoveColumns, moves), rows, plan.limit_mm_s, plan.time_s, tables)
    np.add.at(tables.by_layer, (layer_of_waits(waits, layers), waits.cause), waits.seconds)
    np.add.at(tables.by_role[WAITING_ROLE], waits.cause, waits.seconds)
    return Ledger(read_only(tables.by_layer), read_only(tables.by_role))


def layer_of_waits(waits: Waits, layers: Layers) -> I64:
    """Return the row of `Ledger.by_layer` to which each wait belongs: (waits,)."""
    rows = layers.of_moves(waits.move).astype(np.int64)
    rows[waits.move == layers.first_move[0]] = 0
    return rows


def nominal_s(moves: Moves) -> float:
    """Return path over commanded speed, or filament over speed where there is no path, summed, in seconds.

    No acceleration, no limits, no waits, M220 not applied; moves before any F count 0.
    """
    return float(k.nominal_time(columns_of(MoveColumns, moves)))
