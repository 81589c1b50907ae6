"""Python's search for cycles of objects, done in the window's thread and, where it takes long, while a person rests.

Left to itself it begins in whichever thread makes the next object. Once many are new, that stops a frame of a drag for
some 30 ms; and in a worker it may end an object of Qt that only the window's thread may end.
"""

from __future__ import annotations

import gc
import time

from PySide6.QtCore import QObject, QTimer
from PySide6.QtGui import QGuiApplication

from viewer.shown.window.model.view_state import TOPICS, ViewState

LOOK_MS = 100
REST_S = 0.5
"""A person rests when nothing on show has changed for this time and no button is held."""
NEW = 2_000
"""Number of new objects that are looked through at a time, about 1 ms."""
MOST = 20_000
"""More objects, about 30 ms, are not looked through at all but put aside for good: 200,000 come of compiling kernels.
What of them is in no circle still ends with its last user."""
ROUNDS = 10
"""Number of searches of one generation before one of the next older."""


class Collector(QObject):
    """Searches instead of Python until it is stopped, from `begin` on; one in a process."""

    def __init__(self, state: ViewState, parent: QObject | None = None) -> None:
        super().__init__(parent)
        gc.disable()
        self._changed_at = 0.0
        self._ends = [state.listen(topic, self._note) for topic in TOPICS]
        self._timer = QTimer(self, interval=LOOK_MS)
        self._timer.timeout.connect(self.look)

    def begin(self) -> None:
        """Search from now on; what there is already stays and is not looked through any more, which took 40 ms."""
        gc.freeze()
        self._timer.start()

    def look(self) -> None:
        """Search what is due; of a person at work only the newest objects, which takes no time to speak of."""
        generation = due(gc.get_count())
        if generation is None:
            return
        if not self._rests():
            generation = 0
        if objects(generation) > MOST:
            gc.freeze()
        else:
            gc.collect(generation)

    def stop(self) -> None:
        """Leave the search to Python again."""
        self._timer.stop()
        for end in self._ends:
            end()
        gc.enable()

    def _note(self) -> None:
        self._changed_at = time.monotonic()

    def _rests(self) -> bool:
        rested = time.monotonic() - self._changed_at >= REST_S
        return rested and not QGuiApplication.mouseButtons()


def due(counts: tuple[int, int, int]) -> int | None:
    """Return the oldest generation that is to be searched, None where nothing is (`gc.get_count`)."""
    new, young, old = counts
    if new < NEW:
        return None
    return 0 if young < ROUNDS else 1 if old < ROUNDS else 2


def objects(generation: int) -> int:
    """Return how many objects are in a generation and the younger ones."""
    return gc.get_count()[0] + sum(len(gc.get_objects(generation=k)) for k in range(1, generation + 1))
