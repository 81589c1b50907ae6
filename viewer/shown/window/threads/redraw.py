"""`Redrawer`: of many requests for a picture only the newest is drawn, and none makes the window wait.

::

    request, request, request --> next turn --> quick enough? --yes--> drawn here
                                                      |
                                                      no --> `NewestTask`; what comes meanwhile replaces
                                                             the request that waits
"""

from __future__ import annotations

import math
import time
from collections.abc import Callable
from typing import Generic, TypeVar, cast

from PySide6.QtCore import QObject, Qt, Signal

from viewer.shown.window.threads.newest_task import NewestTask

_Request = TypeVar("_Request")
_Picture = TypeVar("_Picture")
QUICK_MS = 16.0
"""What is expected to take longer is drawn in the thread, where it takes longer still while the window paints."""


class _Bell(QObject):
    """Rings in the window's thread.

    Its signals are queued by Qt, not events that Python makes and Qt deletes: those would be one object with two owners.
    """

    turn = Signal()
    """The turn has come."""
    _rung = Signal()

    def __init__(self, parent: QObject) -> None:
        super().__init__(parent)
        self._rung.connect(self.turn, Qt.ConnectionType.QueuedConnection)

    def wait_for_turn(self) -> None:
        """Have `turn` before the window is painted, which Qt does last: so that it need not be painted twice."""
        self._rung.emit()


class Redrawer(Generic[_Request, _Picture]):
    """Draws the newest request.

    Parameters
    ----------
    draw
        Makes the picture; runs in the window's thread or in another, never in both at once.
    show
        Is handed the picture, in the window's thread.
    weight
        How much work a request is, in any unit: time is taken to grow with it. Infinite: far more than usual, drawn in
        the thread, and of its time nothing is learnt.
    quick_ms
        What is expected to take no longer is drawn in the window's thread.
    """

    def __init__(
        self,
        draw: Callable[[_Request], _Picture],
        show: Callable[[_Picture], None],
        weight: Callable[[_Request], float],
        parent: QObject,
        quick_ms: float = QUICK_MS,
    ) -> None:
        self._draw, self._show, self._weight, self._quick_ms = draw, show, weight, quick_ms
        self._wanted: _Request | None = None
        self._drawing: _Request | None = None
        """What the thread draws now."""
        self._task = NewestTask("layer plot", parent)
        self._task.done.connect(self._collect)
        self._task.failed.connect(self._fail)
        self._ms_a_weight: float | None = None
        """None: nothing was drawn yet; the first time the kernels may still have to be compiled."""
        self._bell = _Bell(parent)
        self._bell.turn.connect(self._next)
        self._over = False

    @property
    def busy(self) -> bool:
        """Whether something is being drawn or waits to be."""
        return self._task.busy or self._wanted is not None

    def request(self, request: _Request) -> None:
        """Draw this soon, and nothing that was asked for before and has not begun.

        What takes long begins at once; several wishes of one turn of the event loop are mostly the same one.
        """
        if self._over:
            return
        if request == self._drawing:
            self._wanted = None
            return
        self._wanted = request
        if not self._task.busy and not self.is_quick(request):
            self._next()
        else:
            self._bell.wait_for_turn()

    def is_quick(self, request: _Request) -> bool:
        """Whether it is drawn in the window's thread, as it takes less than a frame."""
        each = self._ms_a_weight
        return each is not None and each * max(self._weight(request), 1.0) <= self._quick_ms

    def draw_now(self, request: _Request) -> _Picture:
        """Draw this at once and return it; waits for the thread."""
        self._task.wait()
        return self._draw(request)

    def stop(self) -> None:
        """Draw nothing any more; wait for the thread."""
        self._over = True
        self._wanted = None
        self._task.end()

    def _next(self) -> None:
        if self._wanted is None or self._task.busy:
            return
        request, self._wanted = self._wanted, None
        weight = max(self._weight(request), 1.0)
        if self.is_quick(request):
            self._show(self._timed(request, weight))
            return
        self._drawing = request
        self._task.start(lambda _run: self._timed(request, weight))

    def _timed(self, request: _Request, weight: float) -> _Picture:
        """Draw and note how long that takes a thread that need not wait for others.

        Beside a window that paints, the clock on the wall tells several times as much; what is quick would then be
        drawn in the thread, where it lags. A coarse clock may give 0 for the thread's own time.
        """
        begun, own = time.perf_counter(), time.thread_time()
        drawn = self._draw(request)
        taken, own = time.perf_counter() - begun, time.thread_time() - own
        if math.isfinite(weight):
            self._ms_a_weight = (min(taken, own) or taken) * 1e3 / weight
        return drawn

    def _collect(self, drawn: object) -> None:
        """Show what the thread has drawn, and go on with what was asked for meanwhile."""
        self._drawing = None
        self._show(cast(_Picture, drawn))
        self._go_on()

    def _fail(self, problem: BaseException) -> None:
        """Raise what went wrong in the thread, here in the window's thread."""
        self._drawing = None
        self._go_on()
        raise problem

    def _go_on(self) -> None:
        if self._wanted is not None:
            self._bell.wait_for_turn()
