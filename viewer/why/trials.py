"""Trials: a program planned again with levers moved, together; and every lever tried alone."""

from __future__ import annotations

import os
from collections.abc import Mapping
from concurrent.futures import ThreadPoolExecutor, as_completed
from dataclasses import dataclass, replace
from typing import Final

from viewer.cards.kinds import Cards
from viewer.errors import BeadlineError, Stopped
from viewer.nearest import nearest_name
from viewer.program import Program, sum_up
from viewer.progress import OnProgress, Stop
from viewer.timing import ElapsedTime, Timing, plan_motion, plan_time
from viewer.timing.clock import waits_for
from viewer.why.inputs import Inputs
from viewer.why.lever import Lever, Span
from viewer.why.machine_levers import MACHINE_LEVERS
from viewer.why.program_levers import PROGRAM_LEVERS

LEVERS: Final[tuple[Lever, ...]] = (*MACHINE_LEVERS, *PROGRAM_LEVERS)
"""All levers there are, in the order in which a trial applies them."""

Trial = Mapping[str, float]
"""Name of a lever to the factor of its value now; inf: without limit."""

NOTHING_S: Final = 0.5
"""A lever that saves less than this at its largest change gives nothing, s."""


@dataclass(frozen=True, slots=True)
class Try:
    """One lever moved alone by one factor, all replanned."""

    factor: float
    value: Span
    """The value that was tried; inf: without limit."""
    total_s: float
    saved_s: float
    """Below 0: it takes longer."""
    share: float
    """Of the time in all."""


@dataclass(frozen=True, slots=True)
class Outcome:
    """What one lever gives alone."""

    lever: Lever
    title: str
    unit: str
    now: Span
    tries: tuple[Try, ...]
    """One a factor of the lever, in its order."""

    @property
    def usual(self) -> Try:
        """The try by which levers are ranked: double or half, or all where there is no half."""
        return self.tries[min(1, len(self.tries) - 1)]

    @property
    def helps(self) -> bool:
        """Whether any of its changes saves time worth the name."""
        return max(one.saved_s for one in self.tries) >= NOTHING_S


def lever_named(name: str) -> Lever:
    """Return a lever by its name.

    Raises
    ------
    BeadlineError
        There is none of this name.
    """
    by_name = {lever.name: lever for lever in LEVERS}
    if name in by_name:
        return by_name[name]
    near = nearest_name(name, by_name)
    raise BeadlineError(f"There is no lever {name}" + (f"; the nearest is {near}." if near else "."))


def inputs_of(program: Program, trial: Trial) -> Inputs:
    """Return what the plan of a trial is made from.

    Raises
    ------
    BeadlineError
        A lever is not known, or a factor is negative or no number.
    """
    for name, factor in trial.items():
        lever_named(name)
        if not factor >= 0.0:
            raise BeadlineError(f"The factor of {name} is {factor}; give 0 or more.")
    inputs = Inputs.of(program)
    for lever in LEVERS:
        if trial.get(lever.name, 1.0) != 1.0:
            inputs = lever.change(inputs, trial[lever.name])
    return inputs


def total_s_of(program: Program, trial: Trial) -> float:
    """Return the time in all of a trial, s: the same as that of `replan`, without its ledger.

    Raises
    ------
    BeadlineError
        As in `inputs_of`.
    """
    inputs = inputs_of(program, trial)
    progress = program.timing.progress
    if not all(lever_named(name).waits_only for name in trial):
        plan = plan_motion(inputs.moves, inputs.events, inputs.state, inputs.settings, inputs.printer).plan
        progress = ElapsedTime(plan.time_s, plan.block_s, progress.waits)
    waits = waits_for(inputs.events, inputs.state, progress.moving_before, inputs.printer)
    return float(replace(progress, waits=waits).time_at_move(len(inputs.moves))[0])


def replan(program: Program, trial: Trial) -> Timing:
    """Return the timing of a program with levers moved, all planned together.

    Parameters
    ----------
    program
        As it was opened; its own timing stays as it is.
    trial
        Levers and factors; see `LEVERS`.

    Raises
    ------
    BeadlineError
        A lever is not known, or a factor is negative or no number.
    """
    return _timed(inputs_of(program, trial))


def _timed(inputs: Inputs) -> Timing:
    return plan_time(
        inputs.moves,
        inputs.events,
        inputs.state,
        inputs.settings,
        inputs.layers,
        inputs.roles,
        inputs.printer,
    )


def under_trial(program: Program, trial: Trial) -> Program:
    """Return the program as it would be under a trial: its columns, card, timing and sums.

    Raises
    ------
    BeadlineError
        As in `replan`.
    """
    inputs = inputs_of(program, trial)
    timing = _timed(inputs)
    cards = Cards(inputs.printer, program.filament, program.workshop)
    totals = sum_up(inputs.moves, inputs.settings, inputs.layers, inputs.roles, timing, cards)
    return replace(
        program, cards=cards, moves=inputs.moves, events=inputs.events, state=inputs.state,
        settings=inputs.settings, timing=timing, totals=totals,
    )  # fmt: skip


def levers(
    program: Program, on_progress: OnProgress | None = None, stop: Stop | None = None
) -> tuple[Outcome, ...]:
    """Try every lever alone, each by all its factors, and rank them by the time that they save.

    Parameters
    ----------
    program
        As it was opened.
    on_progress
        Called with "levers" and the share that is done.
    stop
        Asked after each try.

    Returns
    -------
    tuple of Outcome
        Those that save most at their usual change first; levers that the program has no use for are left out.

    Raises
    ------
    Stopped
        `stop` said so.
    """
    inputs = Inputs.of(program)
    used = [lever for lever in LEVERS if lever.value(inputs) is not None]
    wanted = [(lever.name, factor) for lever in used for factor in lever.factors]
    totals = _totals(program, wanted, on_progress, stop)
    outcomes = [_outcome(program, inputs, lever, totals) for lever in used]
    return tuple(sorted(outcomes, key=lambda one: (-one.usual.saved_s, -one.tries[-1].saved_s)))


def _totals(
    program: Program, wanted: list[tuple[str, float]], on_progress: OnProgress | None, stop: Stop | None
) -> dict[tuple[str, float], float]:
    """Return the time in all under each lever and factor; kernels run without the interpreter lock, on all cores."""
    totals = {}
    with ThreadPoolExecutor(os.cpu_count() or 1) as pool:
        work = {pool.submit(total_s_of, program, {name: factor}): (name, factor) for name, factor in wanted}
        for done, future in enumerate(as_completed(work), 1):
            if stop is not None and stop():
                pool.shutdown(wait=False, cancel_futures=True)
                raise Stopped
            totals[work[future]] = future.result()
            if on_progress is not None:
                on_progress("levers", done / len(work))
    return totals


def _outcome(
    program: Program, inputs: Inputs, lever: Lever, totals: Mapping[tuple[str, float], float]
) -> Outcome:
    now = lever.value(inputs) or (0.0, 0.0)
    before = program.timing.total_s
    tries = []
    for factor in lever.factors:
        total_s = totals[lever.name, factor]
        value = (lever.tried(now[0], factor), lever.tried(now[1], factor))
        saved = before - total_s
        tries.append(Try(factor, value, total_s, saved, saved / before if before > 0.0 else 0.0))
    return Outcome(lever, *lever.title_and_unit(inputs), now, tuple(tries))
