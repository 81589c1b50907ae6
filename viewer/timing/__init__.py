"""Stage 4, moves to seconds: ``limits -> plan -> clock -> ledger -> moments``."""

from __future__ import annotations

from dataclasses import dataclass

from viewer.arrays import F32, F64, U8
from viewer.cards.printer import PrinterCard
from viewer.layers.layers import Layers
from viewer.read.events import Events
from viewer.read.machine_state import MachineState
from viewer.read.moves import Moves
from viewer.read.settings import Settings
from viewer.time_of_day import clock_time, day_text, minute_up
from viewer.timing.clock import HeaterTemperature, Waits, nozzle_before, plate_before, stops_of, waits_for
from viewer.timing.ledger import CAUSES, WAITING_ROLE, Ledger, book, nominal_s
from viewer.timing.limits import limits_for
from viewer.timing.moments import ElapsedTime, Moments, moments_of
from viewer.timing.plan import Plan, plan

__all__ = [
    "CAUSES",
    "WAITING_ROLE",
    "ElapsedTime",
    "HeaterTemperature",
    "Ledger",
    "Moments",
    "Motion",
    "Plan",
    "Timing",
    "Waits",
    "clock_time",
    "day_text",
    "minute_up",
    "nozzle_before",
    "plan_motion",
    "plan_time",
    "plate_before",
]


@dataclass(frozen=True, slots=True, eq=False)
class Timing:
    """How long everything takes; columns have one row a move."""

    time_s: F32  # (n,)
    entry_mm_s: F32  # (n,) speed at the start; of the filament where it moves alone
    peak_mm_s: F32  # (n,) highest speed reached
    moving_s: float  # time of all moves
    nominal_s: float  # path over commanded speed, no acceleration, no limits, no waits, M220 not applied
    waits: Waits
    ledger: Ledger
    moments: Moments
    progress: ElapsedTime

    @property
    def total_s(self) -> float:
        """Moves and waits together."""
        return self.moments.end_s


@dataclass(frozen=True, slots=True, eq=False)
class Motion:
    """The planned moves alone: what needs neither layers nor roles."""

    limits: F64  # (settings rows, limits)
    plan: Plan


def plan_motion(
    moves: Moves, events: Events, state: MachineState, settings: Settings, printer: PrinterCard
) -> Motion:
    """Plan all moves on one printer; the arguments are those of `plan_time`.

    Raises
    ------
    CardError
        The card names a corner rule without its value.
    """
    limits = limits_for(settings, printer)
    stops = stops_of(events, state)
    return Motion(limits, plan(moves, settings, limits, stops, printer.planner_buffer_moves))


def plan_time(
    moves: Moves,
    events: Events,
    state: MachineState,
    settings: Settings,
    layers: Layers,
    roles: U8 | None,
    printer: PrinterCard,
    motion: Motion | None = None,
) -> Timing:
    """Compute the time of every move and every wait of a program on one printer.

    Parameters
    ----------
    moves, events, state, settings, layers : Moves, Events, MachineState, Settings, Layers
        Of one program, n moves.
    roles : ndarray of uint8, (n,), or None
        Role of each move, for the ledger.
    printer : PrinterCard
        The machine.
    motion : Motion, optional
        From `plan_motion`, where that was done already.

    Returns
    -------
    Timing
        Read-only columns and tables.

    Raises
    ------
    CardError
        The card names a corner rule without its value.
    """
    motion = motion or plan_motion(moves, events, state, settings, printer)
    planned = motion.plan
    waits = waits_for(events, state, planned.moving_before, printer)
    ledger = book(moves, settings, motion.limits, layers, roles, planned, waits)
    progress = ElapsedTime(planned.time_s, planned.block_s, waits)
    return Timing(
        time_s=planned.time_s,
        entry_mm_s=planned.entry_mm_s,
        peak_mm_s=planned.peak_mm_s,
        moving_s=planned.moving_s,
        nominal_s=nominal_s(moves),
        waits=waits,
        ledger=ledger,
        moments=moments_of(progress, layers),
        progress=progress,
    )
