"""Speed along the path, for the layer on show or around the chosen moment."""

from __future__ import annotations

from dataclasses import dataclass
from functools import partial
from typing import Final

import numpy as np
from PySide6.QtCore import Qt
from PySide6.QtGui import QShowEvent
from PySide6.QtWidgets import QVBoxLayout, QWidget

from viewer.program import Program
from viewer.shown.window.along.speed_canvas import SpeedCanvas
from viewer.shown.window.along.speed_curve import SpeedCurve, span_of, speed_curve, words_at
from viewer.shown.window.model.notices import NOT_WHOLE
from viewer.shown.window.model.view_state import AFTER_MS, ViewState
from viewer.shown.window.threads.newest_task import NewestTask, Run, sentence_of
from viewer.shown.window.widgets.caption import Caption
from viewer.shown.window.widgets.delayed_update import DelayedUpdate
from viewer.shown.window.widgets.until_destroyed import end_with, listen_until_destroyed
from viewer.timing.limiters import Limiters
from viewer.why.ledger import limiters_of_program

_HINT: Final = (
    "Speed as planned; dashed: as commanded; shaded: a limit holds it back. Press to choose the moment."
)
_BRIEF: Final = "As planned; dashed: as commanded; shaded: held back"
_NO_PROGRAM: Final = "No program is open. Open one to see how fast it goes."
_NO_LAYERS: Final = "This program lays no beads, so it has no layers."


@dataclass(frozen=True, slots=True, eq=False)
class _Found:
    """A curve, and what the next one of the same program needs."""

    program: Program
    limiters: Limiters
    curve: SpeedCurve


class AlongPane(QWidget):
    """The picture of the speed and a line that says what is under the pointer."""

    def __init__(self, state: ViewState, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._state = state
        self._limiters: tuple[Program, Limiters] | None = None
        """Of the program that they are known of."""
        self.caption, self.canvas = Caption(self), SpeedCanvas(self)
        self.caption.setMargin(4)
        self.caption.setAlignment(Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter)
        self.canvas.setAccessibleName("speed along the path")
        self._task = NewestTask("speed along", self)
        self.setFocusProxy(self.canvas)
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(0)
        column.addWidget(self.caption)
        column.addWidget(self.canvas, 1)
        self._later = DelayedUpdate(self._compute, AFTER_MS, self)
        self._connect()
        self._compute()

    def _connect(self) -> None:
        listen_until_destroyed(self, self._state, self._later.start, "program", "layer", "moment", "trial")
        self.canvas.resized.connect(self._later.start)
        self.canvas.pointed.connect(self._tell)
        self.canvas.pressed.connect(self._choose)
        self.canvas.stepped.connect(self._step)
        self._task.done.connect(self._take)
        self._task.failed.connect(lambda problem: self.caption.show_texts((sentence_of(problem),)))
        end_with(self, self._task.cancel)

    @property
    def busy(self) -> bool:
        """Whether a curve is computed, or is to be."""
        return self._later.isActive() or self._task.busy

    def showEvent(self, event: QShowEvent) -> None:
        """Compute what changed while the pane was hidden."""
        super().showEvent(event)
        self._later.start()

    def _compute(self) -> None:
        program, layer = self._state.timed, self._state.layer
        if program is None or self._state.partial or not layer:
            self._task.cancel()
            self.canvas.show_curve(None, None)
            waits = NOT_WHOLE if self._state.partial else _NO_LAYERS
            self.caption.show_texts((_NO_PROGRAM if program is None else waits,))
            return
        if self.isVisible():
            span = span_of(program, layer, self._state.moment_s)
            known = self._limiters[1] if self._limiters is not None and self._limiters[0] is program else None
            self._task.start(partial(_computed, program, span, self.canvas.columns, known))

    def _take(self, found: object) -> None:
        assert isinstance(found, _Found)
        self._limiters = (found.program, found.limiters)
        tried = "" if self._state.trial is None else "Under the trial. "
        self.caption.show_texts((f"{tried}{_HINT}", f"{tried}{_BRIEF}"))
        self.canvas.show_curve(found.curve, self._elapsed)

    @property
    def _elapsed(self) -> float | None:
        """The chosen moment since the start of the program, s."""
        program, moment = self._state.timed, self._state.moment_s
        if program is None or moment is None or not self._state.layer:
            return None
        return float(program.timing.moments.layer_start_s[self._state.layer - 1]) + moment

    def _tell(self, elapsed_s: float) -> None:
        if self._limiters is not None and self.canvas.curve is not None:
            self.caption.show_texts((words_at(self._limiters[0], self.canvas.curve, elapsed_s),))

    def _step(self, by: int) -> None:
        """Choose the middle of the next move, or of the one before, and say what it does."""
        curve = self.canvas.curve
        if curve is None or not len(curve.along.move):
            return
        starts, ends = curve.along.start_s, curve.along.end_s
        at = self._elapsed if self._elapsed is not None else float(starts[0])
        row = min(max(int(np.searchsorted(starts, at, side="right")) - 1 + by, 0), len(starts) - 1)
        middle = 0.5 * float(starts[row] + ends[row])
        self._choose(middle)
        self._tell(middle)

    def _choose(self, elapsed_s: float) -> None:
        """Choose a moment, and the move that runs then."""
        program, curve = self._state.timed, self.canvas.curve
        if program is None or curve is None:
            return
        with self._state.together():
            row = curve.row_at(elapsed_s)
            if row is not None:
                self._state.select(int(curve.along.move[row]))
            begin = float(program.timing.moments.layer_start_s[self._state.layer - 1])
            self._state.show_moment(elapsed_s - begin)


def _computed(
    program: Program, span: tuple[float, float], columns: int, known: Limiters | None, _run: Run
) -> _Found:
    limiters = known or limiters_of_program(program)
    return _Found(program, limiters, speed_curve(program, span, columns, limiters))
