"""Why a print takes so long, in one object: overrun, ledger by limiter, dearest places, levers."""

from __future__ import annotations

from dataclasses import dataclass

from viewer.program import Program
from viewer.progress import OnProgress, Stop
from viewer.why.ledger import Booking, bookings_of, limiters_of_program
from viewer.why.overrun import Overrun, overrun
from viewer.why.places import Place, dearest_places
from viewer.why.trials import Outcome, levers


@dataclass(frozen=True, slots=True)
class Why:
    """What `beadline why` says."""

    overrun: Overrun
    bookings: tuple[Booking, ...]
    places: tuple[Place, ...]
    outcomes: tuple[Outcome, ...]


def why(
    program: Program,
    expected_s: float | None = None,
    took_s: float | None = None,
    on_progress: OnProgress | None = None,
    stop: Stop | None = None,
) -> Why:
    """Compute why a program takes so long and what would help.

    Parameters
    ----------
    program
        As it was opened.
    expected_s, took_s
        As in `overrun`.
    on_progress, stop
        As in `levers`.

    Raises
    ------
    Stopped
        `stop` said so.
    """
    limiters = limiters_of_program(program)
    return Why(
        overrun(program, expected_s, took_s, limiters),
        bookings_of(program, limiters),
        dearest_places(program),
        levers(program, on_progress, stop),
    )
