"""What timed beads demand of the machine: flow of the hot end, speed of the axes; and their seconds in given periods."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from viewer.arrays import F64, I64, read_only
from viewer.cards.printer import PrinterCard
from viewer.read.moves import Moves
from viewer.read.settings import Settings
from viewer.timing import Timing
from viewer.timing.kernels import demand as k
from viewer.timing.limits import LIMIT_FIELDS, limits_for


@dataclass(frozen=True, slots=True)
class FlowBeyond:
    """Beads that need more flow than a limit; flows are of filament, mm3/s."""

    first_move: int | None
    worst_move: int | None
    seconds: float
    beads: int
    highest_mm3_s: float
    commanded_mm3_s: float  # the highest that any would need at its commanded speed


def flow_beyond(
    moves: Moves,
    timing: Timing,
    filament_area_mm2: float,
    limit_mm3_s: float,
    min_bead_s: float,
    begin: int = 0,
) -> FlowBeyond:
    """Return the beads from move `begin` on that need more flow than a limit at the speed that they reach.

    First, worst and highest are those of beads that take at least ``min_bead_s``: a bead of 0.1 mm with a prime in it
    has no flow worth the name. ``seconds`` and ``beads`` count all.
    """
    places, sums = np.full(2, -1, np.int64), np.zeros(4)
    kind, fed, length, speed, peak, time = (
        read_only(column[begin:])
        for column in (
            moves.kind, moves.fed_mm, moves.length_mm, moves.speed_mm_s, timing.peak_mm_s, timing.time_s,
        )
    )  # fmt: skip
    k.find_flow(
        kind, fed, length, speed, peak, time, filament_area_mm2, limit_mm3_s, min_bead_s, places, sums
    )
    first, worst = (None if place < 0 else place + begin for place in places.tolist())
    seconds, highest, count, commanded = sums.tolist()
    return FlowBeyond(first, worst, seconds, int(count), highest, commanded)


@dataclass(frozen=True, slots=True)
class HeldBack:
    """Beads whose commanded speed the axes cannot reach."""

    first_move: int | None
    worst_move: int | None
    share: float  # of the time of all beads, 0 .. 1
    commanded_mm_s: float  # of the worst
    possible_mm_s: float


def held_back(moves: Moves, timing: Timing, settings: Settings, printer: PrinterCard) -> HeldBack:
    """Return the beads that are commanded faster than the top speeds of axes, filament and path allow."""
    limits = limits_for(settings, printer)
    fields = ("max_x_mm_s", "max_y_mm_s", "max_z_mm_s", "max_e_mm_s", "max_path_mm_s", "speed_factor")
    tops = np.ascontiguousarray(limits[:, [LIMIT_FIELDS.index(field) for field in fields]])
    places, sums = np.full(2, -1, np.int64), np.zeros(4)
    k.find_held_back(
        read_only(moves.kind), read_only(moves.x_mm), read_only(moves.y_mm), read_only(moves.z_mm),
        read_only(moves.length_mm), read_only(moves.fed_mm), read_only(moves.speed_mm_s),
        read_only(timing.time_s), read_only(settings.of_move), tops, places, sums,
    )  # fmt: skip
    first, worst = (None if place < 0 else place for place in places.tolist())
    held_s, all_s, commanded, possible = sums.tolist()
    return HeldBack(first, worst, held_s / all_s if all_s > 0.0 else 0.0, commanded, possible)


def seconds_by_period(moves: Moves, timing: Timing, bounds: I64) -> tuple[F64, I64]:
    """Return the seconds of the beads in each period, (periods,), and its first bead, (periods,), -1: none.

    Parameters
    ----------
    bounds
        (periods, 2) first move of each period and the one after its last.
    """
    seconds, first = np.zeros(len(bounds)), np.full(len(bounds), -1, np.int64)
    k.sum_by_period(read_only(moves.kind), read_only(timing.time_s), bounds, seconds, first)
    return seconds, first
