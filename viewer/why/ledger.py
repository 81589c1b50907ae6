"""The ledger by limiter: every second of a program, booked to what it waits for."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from viewer.program import Program
from viewer.timing import CAUSES, plan_motion
from viewer.timing.clock import stops_of
from viewer.timing.ledger import WAITS_FROM
from viewer.timing.limiters import ACCELERATIONS, CORNERS, GROUPS, LIMITERS, Limiters, limiters_of

Loss = Literal["commanded", "held back", "ramps", "wait"]


@dataclass(frozen=True, slots=True)
class Booking:
    """Seconds that wait for one thing."""

    group: str
    """Of moves, as in `GROUPS`; "waits" for waits."""
    loss: Loss
    """At the commanded speed; held back by a limit; lost on ramps (speeding up and braking); or a wait."""
    by: str
    """The limit, the acceleration, or the cause of the wait; "" for the commanded speed."""
    at: str
    """Of ramps: where speed is lost, as in `CORNERS`; else ""."""
    seconds: float


def limiters_of_program(program: Program) -> Limiters:
    """Return the seconds of all moves of a program by what they wait for; its motion is planned again."""
    motion = plan_motion(program.moves, program.events, program.state, program.settings, program.printer)
    stops = stops_of(program.events, program.state)
    return limiters_of(program.moves, program.settings, motion.limits, stops, motion.plan)


def bookings_of(program: Program, limiters: Limiters | None = None) -> tuple[Booking, ...]:
    """Return the ledger by limiter: its seconds add up to the time in all; those of 0 s are left out.

    Parameters
    ----------
    limiters
        From `limiters_of_program`, where that was done already.
    """
    limiters = limiters or limiters_of_program(program)
    found = []
    for g, group in enumerate(GROUPS):
        found.append(Booking(group, "commanded", "", "", float(limiters.commanded[g])))
        found += [
            Booking(group, "held back", by, "", float(limiters.held[g, k])) for k, by in enumerate(LIMITERS)
        ]
        found += [
            Booking(group, "ramps", by, at, float(limiters.ramps[g, k, c]))
            for k, by in enumerate(ACCELERATIONS)
            for c, at in enumerate(CORNERS)
        ]
    waits = program.timing.ledger.by_cause
    found += [
        Booking("waits", "wait", cause, "", float(waits[k]))
        for k, cause in enumerate(CAUSES)
        if k >= WAITS_FROM
    ]
    return tuple(one for one in found if one.seconds != 0.0)
