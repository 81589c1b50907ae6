"""Looks in the background for the seconds of the cause that is looked at, and for what each limit holds back."""

from __future__ import annotations

from dataclasses import dataclass
from functools import partial

from PySide6.QtCore import QObject, Signal
from PySide6.QtWidgets import QWidget

from viewer.arrays import F64
from viewer.program import Program
from viewer.shown.window.model.view_state import AFTER_MS, ViewState
from viewer.shown.window.threads.newest_task import NewestTask, Run
from viewer.shown.window.widgets.delayed_update import DelayedUpdate
from viewer.shown.window.widgets.until_destroyed import end_with
from viewer.why.causes import Cause, CauseTimes, held_by_limit, times_of_cause


@dataclass(frozen=True, slots=True, eq=False)
class _Held:
    """What each limit holds back of one program."""

    program: Program
    table: F64  # (layers + 2, limits)


class CauseLookup(QObject):
    """Hands the times of the cause to the view state, and keeps what limits hold back; it shows nothing itself.

    The times of the cause, which the colours show, are computed at once; limits, which are a few lines of the ledger,
    when the hand on a trial's slider rests.
    """

    held_known = Signal()
    failed = Signal(object)

    def __init__(self, state: ViewState, pane: QWidget) -> None:
        super().__init__(pane)
        self._state, self._pane = state, pane
        self._held: _Held | None = None
        self._times, self._limits = NewestTask("cause", self), NewestTask("limits", self)
        self._later = DelayedUpdate(self._tell_limits_apart, AFTER_MS, self)
        self._times.done.connect(self._take_times)
        self._limits.done.connect(self._take_held)
        for task in (self._times, self._limits):
            task.failed.connect(self.failed)
        end_with(self, self._times.cancel, self._limits.cancel)

    @property
    def busy(self) -> bool:
        """Whether anything is being computed, or is to be."""
        return self._times.busy or self._limits.busy or self._later.isActive()

    @property
    def held(self) -> F64 | None:
        """What limits hold back, (layers + 2, limits); in a trial that of before until it is computed again."""
        program, known = self._state.timed, self._held
        if known is None or program is None or known.program.path != program.path:
            return None
        return known.table if len(known.table) == len(program.layers) + 2 else None

    def compute(self) -> None:
        """Compute what is not known of the times on show."""
        program, cause, times = self._state.timed, self._state.cause, self._state.times
        if program is None or self._state.partial:
            for work in (self._times.cancel, self._limits.cancel, self._later.stop):
                work()
            return
        if cause is not None and (times is None or times.program is not program or times.cause != cause):
            self._times.start(partial(_times_of, program, cause))
        if (self._held is None or self._held.program is not program) and self._pane.isVisible():
            self._limits.cancel()
            self._later.start()

    def _tell_limits_apart(self) -> None:
        program = self._state.timed
        if program is not None and not self._state.partial:
            self._limits.start(partial(_held_of, program))

    def _take_times(self, found: object) -> None:
        assert isinstance(found, CauseTimes)
        if found.program is self._state.timed:
            self._state.show_times(found)

    def _take_held(self, found: object) -> None:
        assert isinstance(found, _Held)
        if found.program is self._state.timed:
            self._held = found
            self.held_known.emit()


def _times_of(program: Program, cause: Cause, _run: Run) -> CauseTimes:
    return times_of_cause(program, cause)


def _held_of(program: Program, _run: Run) -> _Held:
    return _Held(program, held_by_limit(program))
