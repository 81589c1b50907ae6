"""What each second of motion waits for: which limit holds a speed back, which acceleration and which corner cost time."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
import numpy.typing as npt

from viewer.arrays import F32, F64, U8, columns_of, read_only
from viewer.read.moves import Moves
from viewer.read.settings import Settings
from viewer.timing.kernels import columns as k
from viewer.timing.kernels.limiters import Booked, Motion, book_limiters
from viewer.timing.plan import Plan, machine_table, run_starts

LIMITERS: Final = (
    "top speed of X",
    "top speed of Y",
    "top speed of Z",
    "top speed of the filament drive",
    "path limit",
    "shortest move",
)
"""What may hold a commanded speed back; of several that do, the lowest is the one."""

ACCELERATIONS: Final = (
    "print acceleration",
    "travel acceleration",
    "retract acceleration",
    "acceleration of X",
    "acceleration of Y",
    "acceleration of Z",
    "acceleration of the filament drive",
)
"""Which acceleration a move has: that of its kind, or that of the axis that cuts it."""

CORNERS: Final = (
    "full stops",
    "jerk of X",
    "jerk of Y",
    "jerk of Z",
    "jerk of the filament drive",
    "rounding of corners",
    "stops between filament and path",
    "slower move beside it",
    "moves too short",
)
"""Where the speed is lost: at an end of a move, by the rule that keeps the speed low there; or, `moves too short`,
because the way was too short to reach the speed, or to brake for what comes next."""

GROUPS: Final = ("beads", "travel", "retract and prime", "height changes")
"""Groups of moves, as the ledger's causes have them; beads are its first three."""


@dataclass(frozen=True, slots=True, eq=False)
class Limiters:
    """Seconds of all moves; the three tables together add up to the time of all moves."""

    commanded: F64  # (groups,) distance over commanded speed
    held: F64  # (groups, limiters)
    ramps: F64  # (groups, accelerations, corners)
    limiter: U8  # (n,) what sets the speed limit of each move: 0 as commanded, k: LIMITERS[k - 1]
    leaving_mm_s: F32  # (n,) speed at the end of each move

    @property
    def total_s(self) -> float:
        """All seconds in motion."""
        return float(self.commanded.sum() + self.held.sum() + self.ramps.sum())


def limiters_of(moves: Moves, settings: Settings, limits: F64, stops: npt.ArrayLike, plan: Plan) -> Limiters:
    """Book the time of all moves to what they wait for.

    Parameters
    ----------
    moves, settings, limits, stops
        As `viewer.timing.plan.plan` got them.
    plan
        What it returned.

    Returns
    -------
    Limiters
        Read-only.
    """
    booked = Booked(
        np.zeros(len(GROUPS)),
        np.zeros((len(GROUPS), len(LIMITERS))),
        np.zeros((len(GROUPS), len(ACCELERATIONS), len(CORNERS))),
        np.zeros(len(moves), np.uint8),
        np.zeros(len(moves), np.float32),
    )
    machine = k.Machine(machine_table(limits), read_only(settings.of_move))
    motion = Motion(plan.limit_mm_s, plan.time_s, plan.entry_mm_s, plan.peak_mm_s)
    book_limiters(columns_of(k.Moves, moves), machine, run_starts(moves, stops), motion, booked)
    return Limiters(
        read_only(booked.commanded),
        read_only(booked.held),
        read_only(booked.ramps),
        read_only(booked.limiter),
        read_only(booked.leaving),
    )
